package water

import "math"

// sanitize fills the chlorine and cyanurate forms. The working chlorine x = HOCl is
// the one root of a function that rises with x: free chlorine is x, its ion and what
// cyanurate holds.
func (m *medium) sanitize(t *totals, activity float64, s *species) {
	h1 := activity * m.g1
	ion := m.hocl / h1
	forms := m.cyanurateForms(activity)
	if t.cyanurate <= 0 {
		s.cy0, s.cy1, s.cy2, s.cy3, s.bound = 0, 0, 0, 0, 0
		s.hocl = t.chlorine / (1 + ion)
		s.ocl = t.chlorine - s.hocl
		return
	}
	x := 0.0
	if t.chlorine > 0 {
		x = forms.freeHOCl(t.chlorine, t.cyanurate, 1+ion, s.hocl)
	}
	y := t.cyanurate / (forms.none + x*(forms.one+x*(forms.two+x*forms.three)))
	s.hocl, s.ocl = x, x*ion
	s.bound = y * x * (forms.one + x*(2*forms.two+x*3*forms.three))
	x1, x2 := x*y, x*x*y
	s.cy1 = y + x1*forms.hclcy + x2*forms.cl2cy
	s.cy2 = y*forms.hcy + x1*forms.clcy
	s.cy3 = y * forms.cy
	s.cy0 = t.cyanurate - s.cy1 - s.cy2 - s.cy3
}

// cyanurateForms are amounts per mole of H2Cy-: none, one, two and three are the sums
// of the forms with that many chlorines, per power of HOCl; the others are the charged
// ones among them.
type cyanurateForms struct {
	none, one, two, three       float64
	hclcy, cl2cy, hcy, cy, clcy float64
}

func (m *medium) cyanurateForms(activity float64) cyanurateForms {
	c := &m.cy
	h1 := activity * m.g1
	down := m.g1 / (activity * m.g2) // one more negative charge on a monovalent ion
	f := cyanurateForms{
		hclcy: 1 / c.hclcy,
		cl2cy: 1 / (c.hclcy * c.cl2cy),
		hcy:   c.h2cy * down,
	}
	f.cy = f.hcy * c.hcy * m.g2 / (activity * m.g3)
	f.none = 1 + h1/c.h3cy + f.hcy + f.cy
	f.clcy = f.hclcy * c.hclcyAcid * down
	f.one, f.two = f.hclcy+f.clcy, f.cl2cy
	if c.h2clcy > 0 {
		f.one += f.hclcy * h1 / c.h2clcy
	}
	if c.hcl2cy > 0 {
		neutral := f.cl2cy * h1 / c.hcl2cy
		f.two += neutral
		f.three = neutral / c.cl3cy
	}
	return f
}

// freeHOCl solves chlorine = x*unbound + bound(x) for x by Newton's method kept inside
// a bracket, from a guess (0 for none). unbound is HOCl with its ion, per HOCl.
func (f *cyanurateForms) freeHOCl(chlorine, cyanurate, unbound, guess float64) float64 {
	lo, hi := 0.0, chlorine/unbound
	x := guess
	if !(x > lo && x < hi) {
		x = chlorine / (unbound + cyanurate*f.one/f.none)
	}
	for range 60 {
		n := f.none + x*(f.one+x*(f.two+x*f.three))
		dn := f.one + x*(2*f.two+x*3*f.three)
		b, db := x*dn, f.one+x*(4*f.two+x*9*f.three)
		miss := x*unbound + cyanurate*b/n - chlorine
		next := x - miss/(unbound+cyanurate*(db*n-b*dn)/(n*n))
		if math.Abs(next-x) <= 1e-13*hi+1e-11*x {
			return next
		}
		if miss > 0 {
			hi = x
		} else {
			lo = x
		}
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		x = next
	}
	return x
}
