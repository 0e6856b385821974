package water

import (
	"errors"
	"fmt"
	"math"
)

// Addition is a chemical and how many grams of it go in.
type Addition struct {
	Chemical Chemical
	Grams    float64
}

// ErrContradiction is wrapped where readings cannot all be true of one water.
var ErrContradiction = errors.New("the readings contradict each other")

// mixture is a water on the inside: totals, what the totals do not hold, and the pH.
type mixture struct {
	totals
	volume   float64 // L
	solids   float64 // dissolved, g/L, with alkalinity counted as bicarbonate
	combined float64 // combined chlorine, mol/L of Cl2
	ph       float64 // 0 when not known
}

// mixtureOf reads a water. A pH that was measured gives the carbon; without one, or
// with an alkalinity left out, the pH stays unknown.
func (k *constants) mixtureOf(w *Water) (mixture, error) {
	m := mixture{
		totals:   w.compose(),
		volume:   w.VolumeL,
		solids:   w.TDS / 1000,
		combined: w.CombinedChlorine / (1000 * massCl2),
	}
	if w.PH == 0 {
		return m, nil
	}
	var s species
	carbonate := k.carbonFromPH(&m.totals, w.PH, &s)
	switch {
	case carbonate >= 0:
		m.ph = w.PH
	case w.TotalAlkalinity == 0:
		// Left out: nothing can be said about the pH, the rest still can.
	default:
		other := (m.alkalinity - carbonate) * 1000 * massPerEq
		return m, fmt.Errorf("%w: %w", ErrContradiction, &FieldError{
			TotalAlkalinity, w.TotalAlkalinity,
			fmt.Sprintf("is less than the %.1f that the rest of this water has at pH %g", other, w.PH),
		})
	}
	return m, nil
}

// water reads a mixture back.
func (m *mixture) water(tempC float64) Water {
	return Water{
		VolumeL: m.volume, TempC: tempC, PH: m.ph,
		TotalAlkalinity:  m.alkalinity * 1000 * massPerEq,
		CalciumHardness:  m.calcium * 1000 * massCaCO3,
		CyanuricAcid:     m.cyanurate * 1000 * massCyH3,
		BorateB:          m.boron * 1000 * massBoron,
		TDS:              math.Max(0, m.solids*1000),
		FreeChlorine:     m.chlorine * 1000 * massCl2,
		CombinedChlorine: m.combined * 1000 * massCl2,
		Bromine:          m.bromine * 1000 * massBr2,
	}
}

// add mixes in an effect in mol/L.
func (m *mixture) add(e *effect) {
	m.alkalinity += e.alkalinity
	m.carbon += e.carbon
	m.calcium += e.calcium
	m.cyanurate += e.cyanurate
	m.boron += e.boron
	m.sulfate += e.sulfate
	m.cations += e.sodium + e.potassium
	m.anions += e.chloride + e.bromide
	m.solids += e.solids()
	m.halogens(e)
	m.neutralize(e.neutralizes)
}

// solids is the dissolved mass of an effect, g/L, by the rule of mixture.solids.
func (e *effect) solids() float64 {
	return e.sodium*massNa + e.potassium*massK + e.calcium*massCa + e.chloride*massCl +
		e.bromide*79.904 + e.sulfate*massSO4 + e.alkalinity*massHCO3
}

// halogens adds chlorine, bromide and other oxidizer. Chlorine and monopersulfate turn
// bromide into bromine within seconds, so in a bromine tub, whose water holds a bank of
// bromide, they become bromine; and added bromide takes up the chlorine there is.
func (m *mixture) halogens(e *effect) {
	if m.bromine > 0 {
		m.bromine += e.chlorine + e.oxidizer
	} else {
		m.chlorine += e.chlorine
		m.combined += e.oxidizer
	}
	taken := math.Min(m.chlorine, e.bromide)
	m.chlorine -= taken
	m.bromine += taken
}

// neutralize takes oxidizer away: free chlorine first, then combined, then bromine.
func (m *mixture) neutralize(amount float64) {
	for _, part := range [...]*float64{&m.chlorine, &m.combined, &m.bromine} {
		taken := math.Min(*part, amount)
		*part -= taken
		amount -= taken
	}
}

// settle finds the pH of a mixture whose pH was known before something was added.
func (k *constants) settle(m *mixture, s *species) error {
	if m.ph == 0 {
		return nil
	}
	ph, err := k.balance(&m.totals, m.ph, closedToAir, s)
	if err != nil {
		return err
	}
	m.ph = ph
	return nil
}

// closedToAir tells balance to hold the carbon.
const closedToAir = -1
