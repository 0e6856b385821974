package water

import "fmt"

// CautionCode names a caution, for the templates that say it.
type CautionCode string

// The cautions.
const (
	VolumeUnknown      CautionCode = "volume_unknown"         // no dose without it
	NotMeasured        CautionCode = "not_measured"           // Quantity was not read
	RangeTooWide       CautionCode = "range_too_wide"         // Quantity: any dose could go past
	ReadingsContradict CautionCode = "readings_contradict"    // test again
	NothingOnHand      CautionCode = "nothing_on_hand"        // for Quantity
	TooSmallToMeasure  CautionCode = "too_small_to_measure"   // the dose for Quantity
	NoRoom             CautionCode = "no_room"                // a dose for Quantity would push another out
	HandleWithCare     CautionCode = "handle_with_care"       // gloves, water first, one at a time
	AcidAwayFromCl     CautionCode = "acid_away_from_cl"      // gas
	CalHypoNotDichlor  CautionCode = "cal_hypo_not_dichlor"   // fire
	NoCyanuricInTubs   CautionCode = "no_cyanuric_in_tubs"    // CDC's advice
	DichlorAddsCYA     CautionCode = "dichlor_adds_cya"       // Value: mg/L it brings
	LetItFall          CautionCode = "let_it_fall"            // Quantity is high; nothing to add
	PlanDrain          CautionCode = "plan_drain"             // because of Quantity
	DrainFirst         CautionCode = "drain_first"            // because of Quantity
	HotWater           CautionCode = "hot_water"              // over 100 F: children, pregnancy, heart, alcohol
	TooHot             CautionCode = "too_hot"                // over the limit: lower the set point
	AerateToRaise      CautionCode = "aerate_to_raise_ph"     // jets on, cover open
	PHMayEdgeUp        CautionCode = "ph_may_edge_up"         // the sanitizer shifts it, or the alkalinity, a little
	MayScale           CautionCode = "may_scale"              // Value: saturation index
	MayCorrode         CautionCode = "may_corrode"            // Value: saturation index
	BreakpointAt       CautionCode = "breakpoint_at"          // Value: free chlorine that it takes
	NeedsBromideBank   CautionCode = "needs_bromide_bank"     // bromine reads zero
	SanitizerNotRising CautionCode = "sanitizer_not_rising"   // two doses did nothing
	CombinedPersists   CautionCode = "combined_persists"      // after a treatment
	RetestThenMore     CautionCode = "one_step_then_retest"   // Quantity needs more than one step
	TestMoreFinely     CautionCode = "test_more_finely"       // Quantity: drops read finer than strips
	SoakBeforeAdding   CautionCode = "soak_now_or_wait_after" // fit now; after adding only a test can say
	ClarityUnjudged    CautionCode = "look_at_the_water"      // cloudy or foaming water is no soaking
)

// Caution is one thing to heed: its code, and what it is about where that applies.
type Caution struct {
	Code     CautionCode
	Quantity Quantity
	Value    float64
}

// Text is the caution in English.
func (c Caution) Text() string {
	text, ok := cautionTexts()[c.Code]
	if !ok {
		return string(c.Code)
	}
	switch {
	case c.Quantity != "":
		return fmt.Sprintf(text, c.Quantity)
	case c.Value != 0:
		return fmt.Sprintf(text, c.Value)
	}
	return text
}

// cautionTexts are the sentences; %s takes the quantity, %g the value.
func cautionTexts() map[CautionCode]string {
	return map[CautionCode]string{
		VolumeUnknown:      "The volume is not known, so no dose can be given.",
		NotMeasured:        "%s was not measured.",
		RangeTooWide:       "The reading of %s is too wide: any dose could go past the far limit. Test with drops.",
		ReadingsContradict: "These readings cannot all be true of one water. Test again.",
		NothingOnHand:      "Nothing on hand corrects %s.",
		TooSmallToMeasure:  "The dose for %s is too small to measure.",
		NoRoom:             "A dose for %s would push another reading out of its limits; correct that one first.",
		HandleWithCare:     "Gloves and eye protection. Add to the water with the jets on, one product at a time, never mixed; wash the scoop. Nobody in the water.",
		AcidAwayFromCl:     "Keep acid away from every chlorine product: mixed they give off chlorine gas.",
		CalHypoNotDichlor:  "Keep calcium hypochlorite away from dichlor, also by way of a scoop: mixed they can catch fire.",
		NoCyanuricInTubs:   "CDC advises against cyanuric acid, and chlorine that contains it, in hot tubs.",
		DichlorAddsCYA:     "This dose of dichlor brings %.1f mg/L of cyanuric acid, which stays until the water is replaced.",
		LetItFall:          "%s is high. Leave the cover open and let it fall; test again.",
		PlanDrain:          "%s only comes down by replacing water. Plan a drain.",
		DrainFirst:         "%s is past what can be treated. Replace water before anything else.",
		HotWater:           "Over 100 F: 10 to 15 minutes at most, no alcohol, no small children; not when pregnant or with heart trouble without a doctor's word.",
		TooHot:             "The water is over the limit of 104 F (40.0 C). No soaking; lower the set point and measure again.",
		AerateToRaise:      "Jets on with the cover open raise the pH without a chemical.",
		PHMayEdgeUp:        "This sanitizer can take the pH or the alkalinity slightly past its limit; the next test will tell.",
		MayScale:           "The water can scale (saturation index up to %.2f).",
		MayCorrode:         "The water can corrode (saturation index down to %.2f).",
		BreakpointAt:       "Burning off the combined chlorine takes %.1f mg/L of free chlorine.",
		NeedsBromideBank:   "No bromine was read: the water may hold no bromide for an oxidizer to work on.",
		SanitizerNotRising: "Two doses in a row did not raise the sanitizer. No more of it; a person looks at this.",
		CombinedPersists:   "The combined chlorine is still high after a treatment. Draining is usually the answer.",
		RetestThenMore:     "%s takes more than one step. Test again before the next.",
		TestMoreFinely:     "Read %s more finely, with drops or a meter.",
		SoakBeforeAdding:   "The water is fit now. After an addition only a new test can say so.",
		ClarityUnjudged:    "No soaking in cloudy water, whatever the readings.",
	}
}
