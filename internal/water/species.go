package water

import "math"

// totals is what mixing conserves, mol/L. Alkalinity counts H3Cy, HOCl, HOBr, boric
// acid and H2CO3* as zero, which is what the titration to about pH 4.5 sees.
type totals struct {
	alkalinity, carbon, calcium, cyanurate, boron float64
	chlorine, bromine                             float64 // HOCl + OCl- + bound, HOBr + OBr-
	sulfate, cations, anions                      float64 // cations and anions: Na+ and K+, Cl- and Br-
	strength                                      float64 // ionic strength when last solved, 0 before
}

// species are the concentrations of one equilibrium, mol/L.
type species struct {
	h, oh                       float64
	co2, hco3, co3              float64
	ca, caHCO3, caCO3           float64
	borate                      float64
	hocl, ocl, obr              float64
	hso4                        float64
	cy0, cy1, cy2, cy3          float64 // cyanurate forms by charge, chlorinated or not
	bound                       float64 // chlorine held by cyanurate
	cations, anions, sulfateIon float64
}

// medium is a temperature and an ionic strength: the constants with the activity
// coefficients that turn them into ratios of concentrations.
type medium struct {
	*constants
	g1, g2, g3 float64 // activity coefficients of charge 1, 2, 3
}

// at adds the activities of an ionic strength in mol/L.
func (k *constants) at(strength float64) medium {
	m := medium{constants: k}
	m.strengthen(strength)
	return m
}

// strengthen sets the activity coefficients for an ionic strength.
func (m *medium) strengthen(strength float64) {
	m.g1 = pow10(-davies(m.debye, strength))
	m.g2 = m.g1 * m.g1 * m.g1 * m.g1
	m.g3 = m.g2 * m.g2 * m.g1
}

// speciate fills s with the equilibrium of t at a hydrogen activity. The carbonate
// part is closed form: with c the free carbonate, the carbon total is quadratic in c.
func (m *medium) speciate(t *totals, activity float64, s *species) {
	m.other(t, activity, s)
	forms, pairs := m.carbonate(activity)
	c := positiveRoot(forms.sum*pairs.sum, forms.sum+pairs.sum*(t.calcium-t.carbon), -t.carbon)
	m.setCarbonate(t, &forms, &pairs, c, s)
}

// ratios are amounts per mole of free carbonate.
type ratios struct {
	hco3, co2  float64 // or caHCO3, caCO3 where they describe the pairs
	sum        float64
	alkalinity float64
}

// carbonate gives the carbonate forms per free carbonate, and the calcium pairs per
// free carbonate and free calcium.
func (m *medium) carbonate(activity float64) (forms, pairs ratios) {
	forms.hco3 = activity * m.g2 / (m.k2 * m.g1)
	forms.co2 = activity * activity * m.g2 / (m.k1 * m.k2)
	forms.sum = 1 + forms.hco3 + forms.co2
	forms.alkalinity = 2 + forms.hco3
	pairs.hco3 = m.caHCO3 * m.g2 * forms.hco3
	pairs.co2 = m.caCO3 * m.g2 * m.g2
	pairs.sum = pairs.hco3 + pairs.co2
	pairs.alkalinity = pairs.hco3 + 2*pairs.co2
	return forms, pairs
}

// setCarbonate writes the carbonate forms for a free carbonate c.
func (m *medium) setCarbonate(t *totals, forms, pairs *ratios, c float64, s *species) {
	s.co3, s.hco3, s.co2 = c, forms.hco3*c, forms.co2*c
	s.ca = t.calcium / (1 + pairs.sum*c)
	s.caHCO3, s.caCO3 = pairs.hco3*c*s.ca, pairs.co2*c*s.ca
}

// other fills everything but the carbonate forms.
func (m *medium) other(t *totals, activity float64, s *species) {
	s.h, s.oh = activity/m.g1, m.kw/(activity*m.g1)
	s.borate = t.boron * share(m.boric, activity*m.g1)
	s.obr = t.bromine * share(m.hobr, activity*m.g1)
	s.hso4 = t.sulfate * (1 - share(m.hso4*m.g1, activity*m.g2))
	s.sulfateIon = t.sulfate - s.hso4
	s.cations, s.anions = t.cations, t.anions
	m.sanitize(t, activity, s)
}

// share is k/(k+h): the dissociated part of a weak acid.
func share(k, h float64) float64 { return k / (k + h) }

// positiveRoot solves a x^2 + b x + c = 0 with a >= 0 and c <= 0 for its root >= 0,
// in the form that does not cancel.
func positiveRoot(a, b, c float64) float64 {
	if c >= 0 {
		return 0
	}
	d := math.Sqrt(b*b - 4*a*c)
	if b >= 0 {
		return -2 * c / (b + d)
	}
	return (d - b) / (2 * a)
}

// alkalinityOther is the alkalinity, eq/L, that is not carbonate.
func (s *species) alkalinityOther() float64 {
	return s.oh - s.h - s.hso4 + s.borate + s.ocl + s.obr + s.cy1 + 2*s.cy2 + 3*s.cy3
}

// alkalinityCarbonate is the carbonate alkalinity with the pairs, eq/L.
func (s *species) alkalinityCarbonate() float64 {
	return s.hco3 + s.caHCO3 + 2*(s.co3+s.caCO3)
}

// strength is the ionic strength, mol/L.
func (s *species) strength() float64 {
	one := s.cations + s.anions + s.h + s.oh + s.hco3 + s.caHCO3 + s.borate + s.ocl + s.obr + s.hso4 + s.cy1
	two := s.ca + s.co3 + s.cy2 + s.sulfateIon
	return 0.5*one + 2*two + 4.5*s.cy3
}

// buffer is about how much alkalinity, eq/L, a unit of pH takes: the slope to start a
// search with. Calcium pairs are left out and cyanurate counted as one acid.
func (s *species) buffer() float64 {
	carbon := s.co2 + s.hco3 + s.co3
	b := s.h + s.oh
	if carbon > 0 {
		b += (s.co2*s.hco3 + s.hco3*s.co3 + 4*s.co2*s.co3) / carbon
	}
	if cy := s.cy0 + s.cy1; cy > 0 {
		b += s.cy0 * s.cy1 / cy
	}
	if free := s.hocl + s.ocl; free > 0 {
		b += s.hocl * s.ocl / free
	}
	return math.Ln10 * (b + 0.1*s.borate)
}
