package safety

// The quantities that have limits, named as readings are named everywhere.
const (
	FreeChlorine     = "free_chlorine_ppm"
	Bromine          = "bromine_ppm"
	PH               = "ph"
	CombinedChlorine = "combined_chlorine_ppm"
	CyanuricAcid     = "cyanuric_acid_ppm"
	TotalAlkalinity  = "total_alkalinity_ppm"
	CalciumHardness  = "calcium_hardness_ppm"
	WaterTemp        = "water_temp_f"
)

// The sanitizers that Judge knows.
const (
	ChlorineSanitizer = "chlorine"
	BromineSanitizer  = "bromine"
)

// Limit is what one quantity may be. Aim lies in Soak, Soak in Fix; outside Fix it is a
// case for a person. Between Aim and Soak soaking is allowed and Note says what to do.
type Limit struct {
	Quantity string
	Name     string // in plain words, for a reason
	Unit     string // "" for pH

	Aim, Soak, Fix Range

	// GiveUp is how many corrections in a row that did not help on GiveUpSide make it
	// a case for a person; 0: any number.
	GiveUp     int
	GiveUpSide Side

	Note         string // what a value between Aim and Soak means
	spanishName  string
	spanishNote  string
	SoakSource   string
	FixSource    string // why the bounds of Fix are where they are
	GiveUpSource string
}

const (
	ours      = "our decision"
	noEffect  = "our decision: what does not answer to treatment needs a person"
	montana   = "Montana ARM 37.115.1308 Table 6"
	cdcNow    = "CDC Healthy Swimming, Residential pools and hot tubs: Disinfection & Testing"
	mahc      = "CDC Model Aquatic Health Code, 2018 and 2023 editions, 5.7.3 and 5.7.4 (from memory)"
	cpsc      = "CPSC Safety Rules for Hot Tubs; CPSC advisory 79-071 (1979)"
	usCodes   = "New York 10 NYCRR 6-1.25; Montana ARM 37.115.1308; CDC Hot Tub/Spa User Information (c. 2013)"
	ukAndNY   = "UK HSE HSG282 (2017); New York 10 NYCRR 6-1.25"
	ukAndCDC  = "UK HSE HSG282 (2017); CDC Hot Tub/Spa User Information (c. 2013)"
	capAt10   = "Anchorage 16.15.260; Iowa 641-15.51 Table 12; " + mahc
	cdcNoCYA  = "soaking is allowed, but the CDC advises no cyanuric acid in hot tubs"
	adultHeat = "soaking is allowed; 100 F is the CPSC's figure for a healthy adult, so keep it short"
)

// table is the published bands, row by row. Never changed: Limits holds a copy.
var table = []Limit{
	{
		Quantity: FreeChlorine, Name: "free chlorine", spanishName: "cloro libre", Unit: "ppm",
		Aim: Range{3, 5}, Soak: Range{3, 5}, Fix: Range{anyLow, 10},
		GiveUp: 2, GiveUpSide: TooLow, GiveUpSource: noEffect,
		SoakSource: "at least 3: " + cdcNow + "; at most 5: " + ukAndNY,
		FixSource:  "at most 10: " + capAt10,
	},
	{
		Quantity: Bromine, Name: "bromine", spanishName: "bromo", Unit: "ppm",
		Aim: Range{4, 6}, Soak: Range{4, 6}, Fix: Range{anyLow, 10},
		GiveUp: 2, GiveUpSide: TooLow, GiveUpSource: noEffect,
		SoakSource: "at least 4: " + cdcNow + "; at most 6: " + ukAndCDC,
		FixSource:  "at most 10: " + montana,
	},
	{
		Quantity: PH, Name: "pH", spanishName: "pH",
		Aim: Range{7.2, 7.8}, Soak: Range{7.0, 7.8}, Fix: Range{6.6, 8.4},
		Note: "soaking is allowed; raise it a little", spanishNote: "se puede entrar; hay que subirlo un poco",
		SoakSource: "7.2 to 7.8: " + usCodes + "; 7.0 to 7.2: " + mahc + "; UK HSE HSG282 (2017)",
		FixSource:  ours,
	},
	{
		Quantity: CombinedChlorine, Name: "combined chlorine", spanishName: "cloro combinado", Unit: "ppm",
		Aim: Range{anyLow, 0.5}, Soak: Range{anyLow, 0.5}, Fix: Range{anyLow, 2},
		GiveUp: 1, GiveUpSide: TooHigh, GiveUpSource: noEffect + "; draining is usually the answer",
		SoakSource: "at most 0.5: " + montana,
		FixSource:  ours,
	},
	{
		Quantity: CyanuricAcid, Name: "cyanuric acid", spanishName: "estabilizador (CYA)", Unit: "ppm",
		Aim: Range{anyLow, 0}, Soak: Range{anyLow, 50}, Fix: Range{anyLow, 90},
		Note: cdcNoCYA, spanishNote: "se puede entrar, pero el CDC aconseja que en tinas no haya",
		SoakSource: "at most 50: Montana ARM 37.115.1308(3); none: " + cdcNow,
		FixSource:  "at most 90: " + mahc + "; above it the water is drained first",
	},
	{
		Quantity: TotalAlkalinity, Name: "total alkalinity", spanishName: "alcalinidad total", Unit: "ppm",
		Aim: Range{60, 180}, Soak: Range{60, 180}, Fix: Range{40, 240},
		SoakSource: "60 to 180: " + mahc,
		FixSource:  ours,
	},
	{
		// Hardness harms the tub, not the bather: it is no reason against soaking
		// (our decision) until it is past any published figure.
		Quantity: CalciumHardness, Name: "calcium hardness", spanishName: "dureza de calcio", Unit: "ppm",
		Aim: Range{100, 400}, Soak: Range{anyLow, 800}, Fix: Range{anyLow, 800},
		Note: "soaking is allowed; plan a correction or a refill", spanishNote: "se puede entrar; hay que corregirla o cambiar el agua",
		SoakSource: "100 to 400: common practice, no source; at most 800: " + montana,
		FixSource:  "at most 800: " + montana,
	},
	{
		Quantity: WaterTemp, Name: "water temperature", spanishName: "temperatura del agua", Unit: "F",
		Aim: Range{anyLow, 100}, Soak: Range{anyLow, 104}, Fix: Range{anyLow, 106},
		GiveUp: 1, GiveUpSide: TooHigh, GiveUpSource: "our decision: water that does not come down points to the thermostat",
		Note: adultHeat, spanishNote: "se puede entrar; 100 F es lo que la CPSC da para un adulto sano, por poco tiempo",
		SoakSource: "at most 104 F (40 C): " + cpsc + "; every US code read",
		FixSource:  ours,
	},
}
