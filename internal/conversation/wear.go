package conversation

import (
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/tub"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// Wear is what the doses since the last change of water have brought along and only fresh
// water takes away.
type Wear struct {
	From     time.Time `json:"from"`               // the change of water, or the first dose where that is not known
	Last     time.Time `json:"last"`               // the last dose
	Cyanuric float64   `json:"cyanuric,omitempty"` // risen by, mg/L
	Solids   float64   `json:"solids,omitempty"`   // dissolved solids, risen by, mg/L
}

const (
	// mostSolids is the rise of the dissolved solids at which a spa is drained, mg/L: Maine
	// 10-144 CMR ch. 202 Appendix B.
	mostSolids = 1500
	// leastWear is how long doses have to be known before they are carried on into the
	// future. Our decision.
	leastWear = 14 * 24 * time.Hour
)

// wears adds what a dose brings along, as the chemistry has it for a usual water.
func (t *turn) wears(d *Dose) {
	if d.Chemical == "" || d.Grams <= 0 || t.c.Tub.VolumeUSGal <= 0 {
		return
	}
	before := water.Water{
		VolumeL: tub.Litres(t.c.Tub.VolumeUSGal), TempC: water.DefaultTempC, PH: 7.5, TotalAlkalinity: 80, CalciumHardness: 150, TDS: water.DefaultTDS,
	}
	after, err := water.Predict(before, water.Addition{Chemical: water.Chemical(d.Chemical), Grams: d.Grams})
	if err != nil {
		return
	}
	w := &t.c.Tub.Wear
	if w.From.IsZero() {
		if w.From = laterOf(t.c.Tub.Changed, t.c.Tub.LastFlush); w.From.IsZero() {
			w.From = t.now
		}
	}
	w.Last = t.now
	w.Cyanuric += max(0, after.CyanuricAcid-before.CyanuricAcid)
	w.Solids += max(0, after.TDS-before.TDS)
}

// wornBy is when the water will hold too much of what only fresh water takes away, if doses
// go on as they did; false where too little is known. A cyanuric acid that was read counts
// where it is more than what the doses explain.
func wornBy(facts *Tub) (at time.Time, ok bool) {
	w := &facts.Wear
	known := w.Last.Sub(w.From)
	if known < leastWear {
		return time.Time{}, false
	}
	cyanuric := w.Cyanuric
	if m := facts.Readings[understand.CyanuricAcid]; m.At.After(facts.Changed) && !m.Value.Unknown {
		_, high := bounds(m.Value)
		cyanuric = max(cyanuric, high)
	}
	limit, _ := safety.Default().Of(safety.CyanuricAcid)
	for _, one := range [...]struct{ level, risen, most float64 }{{cyanuric, w.Cyanuric, limit.Soak.High}, {w.Solids, w.Solids, mostSolids}} {
		if one.risen <= 0 {
			continue
		}
		left := max(0, one.most-one.level) / one.risen * float64(known)
		if due := w.Last.Add(time.Duration(min(left, float64(3*365*24*time.Hour)))); !ok || due.Before(at) {
			at, ok = due, true
		}
	}
	return at, ok
}
