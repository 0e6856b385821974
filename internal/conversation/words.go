package conversation

import (
	"strconv"
	"strings"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/water"
	"tubhand/internal/wording"
)

// words gathers what texts may need to say now.
func (t *turn) words() *wording.Words {
	shop, s := &t.w.shop, t.tongue()
	w := &wording.Words{
		Shop: shop.Name, Phone: shop.Phone, Drain: shop.Drain,
		Volume: s.volume(t.c.Tub.VolumeUSGal, t.c.Owner.Metric), Flush: shop.Flush.Name,
		Emergency: safety.LinesFor(t.c.Owner.Region).EmergencyIn(t.language()), Sanitizer: t.sanitizerWords(),
		Like: t.like(), Person: s.someone, Hottest: t.hottest(), Time: strconv.Itoa(len(t.c.Asked.Choices)),
	}
	if !t.closedNow() { // else it is told at the end
		w.Hours = t.hoursText()
	}
	if dose, err := t.labelDose(); err == nil {
		w.FlushDose = s.amount(dose, water.LevelTeaspoon)
		w.Dose, w.JarLeft = w.FlushDose, w.FlushDose
	}
	t.serviceWords(w)
	return w
}

func (t *turn) serviceWords(w *wording.Words) {
	s := t.c.Service
	if s == nil {
		w.Waiting, _ = t.w.words.Say(t.language(), wording.Common, "nothing_running", w)
		return
	}
	if due := t.nextTimer(); !due.IsZero() {
		w.Until, w.Left = t.when(due), t.tongue().span(due.Sub(t.now))
	}
	w.Next = s.Facts["drain_by"]
	w.Missing = t.missing()
	if _, state, ok := t.flow(); ok && state.Dose != "" {
		d := s.Advised[state.Dose]
		w.Product, w.Measure, w.Why = t.doseWords(&d)
		if state.Dose == flushDose {
			w.Dose = w.Measure
		}
	}
	w.Summary = t.summary()
	w.Share, w.ShareVolume = t.shareWords()
	w.Waiting = t.waiting(w)
}

// waiting says which answer is waited for.
func (t *turn) waiting(w *wording.Words) string {
	key := "waiting.nothing"
	switch t.c.Asked.Kind {
	case understand.AskedDone, understand.AskedYesNo, understand.AskedVolume,
		understand.AskedReadings, understand.AskedChoice, understand.AskedConfirm:
		key = "waiting." + string(t.c.Asked.Kind)
	}
	text, _ := t.w.words.Say(t.language(), wording.Common, key, w)
	return text
}

// summary says what the fresh readings amount to.
func (t *turn) summary() string {
	verdict := t.judge()
	var off []string
	for _, f := range verdict.Findings {
		if f.Band == safety.Fix || f.Band == safety.Person {
			off = append(off, f.In(t.language()))
		}
	}
	if len(off) > 2 {
		off = off[:2]
	}
	switch {
	case len(off) > 0:
		return upperFirst(t.tongue().list(off)) + "."
	case verdict.Band == safety.Soak:
		return t.tongue().inRange
	}
	return ""
}

// tellNotes says what is to be said of a water that may be soaked in: a pH to be nudged,
// a hardness to be corrected, and once that cyanuric acid is advised against in tubs. The
// heat has its cautions with the word that clears the tub.
func (t *turn) tellNotes() {
	var notes []string
	for _, f := range t.judge().Findings {
		switch {
		case !f.Note || f.Quantity == safety.WaterTemp:
		case f.Quantity == safety.CyanuricAcid && t.c.Tub.ToldCyanuric:
		default:
			t.c.Tub.ToldCyanuric = t.c.Tub.ToldCyanuric || f.Quantity == safety.CyanuricAcid
			notes = append(notes, upperFirst(f.In(t.language()))+".")
		}
	}
	if len(notes) > 0 {
		words := t.words()
		words.Summary = strings.Join(notes[:min(len(notes), 2)], " ")
		t.sayWith("soak_notes", words)
	}
}

// hottest is the highest temperature to soak at, as owners read it off their tub.
func (t *turn) hottest() string {
	limit, _ := t.w.limits.Of(safety.WaterTemp)
	return number(limit.Soak.High) + " F"
}

// zone is where the owner's clock stands.
func (t *turn) zone() *time.Location { return t.w.zone(t.c.Owner.TimeZone) }

// clock gives a time of day on the owner's clock for staff, with the day where it is
// not today.
func (t *turn) clock(at time.Time) string { return t.clockIn(&english, at) }

// when gives the same to the owner.
func (t *turn) when(at time.Time) string { return t.clockIn(t.tongue(), at) }

func (t *turn) clockIn(s *tongue, at time.Time) string {
	local, today := at.In(t.zone()), t.now.In(t.zone())
	return s.clock(local, dayNumber(local)-dayNumber(today))
}

// doseWords says a dose to the owner.
func (t *turn) doseWords(d *Dose) (product, measure, why string) {
	s := t.tongue()
	return s.product(d), s.measure(d, t.c.Owner.Metric), s.why(d)
}

func dayNumber(at time.Time) int {
	y, m, d := at.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}
