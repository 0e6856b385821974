package water

import "fmt"

// Band is how a reading stands.
type Band int

// The bands, mildest first. Unmeasured is a reading that was not taken.
const (
	Unmeasured Band = iota
	Soak            // fit to soak in
	Fix             // no soaking; dose or wait, and test again
	Person          // no soaking and no dosing: a person takes over
)

// Limits are the bands of one quantity: Soak from SoakLow to SoakHigh, Fix from FixLow
// to FixHigh around it, Person beyond; and where a dose aims, from AimLow to AimHigh.
type Limits struct {
	FixLow, SoakLow, SoakHigh, FixHigh float64
	AimLow, AimHigh                    float64
}

// Bands are the limits of every quantity that the plan judges.
type Bands struct {
	FreeChlorine, Bromine, PH, CombinedChlorine, CyanuricAcid Limits
	TotalAlkalinity, CalciumHardness, Temperature             Limits
}

// DefaultBands are the limits where a shop sets none, with their sources.
func DefaultBands() Bands {
	return Bands{
		// Floor: CDC Healthy Swimming. Cap to soak: UK HSG282 and New York 10 NYCRR 6-1.25.
		// Over 10: Iowa 641-15.51, Anchorage 16.15.260, Model Aquatic Health Code.
		FreeChlorine: Limits{0, 3, 5, 10, 3, 5},
		// CDC and WHO 4 to 6; over 10 Montana ARM 37.115.1308.
		Bromine: Limits{0, 4, 6, 10, 4, 6},
		// US codes 7.2 to 7.8; soaking from 7.0 by the newer Model Aquatic Health Code.
		// Under 6.6 and over 8.4: our decision.
		PH: Limits{6.6, 7.0, 7.8, 8.4, 7.2, 7.8},
		// Montana ARM 37.115.1308; over 2 our decision.
		CombinedChlorine: Limits{0, 0, 0.5, 2, 0, 0.2},
		// Montana 50; Model Aquatic Health Code 90. Aim with dichlor at most 30: common
		// practice, no source.
		CyanuricAcid: Limits{0, 0, 50, 90, 0, 30},
		// Model Aquatic Health Code 60 to 180; the outer bounds our decision; the aim
		// ANSI/APSP's 80 to 120.
		TotalAlkalinity: Limits{40, 60, 180, 240, 80, 120},
		// 100 to 400 common practice, no source; over 800 and the aim Montana.
		CalciumHardness: Limits{0, 100, 400, 800, 150, 250},
		// CPSC and all codes 104 F (40.0 C); over 106 F our decision.
		Temperature: Limits{0, 0, 40, (106 - 32) / 1.8, 0, 38},
	}
}

// of gives the limits of q; ok is false for a quantity that is not judged.
func (b *Bands) of(q Quantity) (l *Limits, ok bool) {
	switch q {
	case FreeChlorine:
		return &b.FreeChlorine, true
	case Bromine:
		return &b.Bromine, true
	case PH:
		return &b.PH, true
	case CombinedChlorine:
		return &b.CombinedChlorine, true
	case CyanuricAcid:
		return &b.CyanuricAcid, true
	case TotalAlkalinity:
		return &b.TotalAlkalinity, true
	case CalciumHardness:
		return &b.CalciumHardness, true
	case Temperature:
		return &b.Temperature, true
	}
	return nil, false
}

// check holds a shop's bands to the default ones: tighter is allowed, looser is not.
func (b *Bands) check() error {
	widest := DefaultBands()
	for _, q := range judged() {
		l, _ := b.of(q)
		w, _ := widest.of(q)
		ordered := l.FixLow <= l.SoakLow && l.SoakLow <= l.AimLow && l.AimLow <= l.AimHigh &&
			l.AimHigh <= l.SoakHigh && l.SoakHigh <= l.FixHigh
		within := l.FixLow >= w.FixLow && l.SoakLow >= w.SoakLow && l.SoakHigh <= w.SoakHigh && l.FixHigh <= w.FixHigh
		if !ordered || !within {
			return fmt.Errorf("limits of %s: %+v are not in order or wider than %+v", q, *l, *w)
		}
	}
	return nil
}

// judged lists the quantities that have bands, in the order they are told.
func judged() []Quantity {
	return []Quantity{
		Temperature, FreeChlorine, Bromine, PH, CombinedChlorine, CyanuricAcid, TotalAlkalinity, CalciumHardness,
	}
}

// Judge puts a reading in a band. A range takes the worst band that it touches: when
// in doubt, a person.
func (l *Limits) Judge(r Reading) Band {
	switch {
	case !r.Known:
		return Unmeasured
	case r.Low < l.FixLow || r.High > l.FixHigh:
		return Person
	case r.Low < l.SoakLow || r.High > l.SoakHigh:
		return Fix
	}
	return Soak
}
