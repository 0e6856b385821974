package water

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Forecast tells from a tub's log what its readings should be at a time: for each
// quantity that was ever read the range that its last reading, the additions and water
// changes since, the sanitizer's decay and the air leave open. What was never read
// stays unknown. Entries after the time are left out; the log need not be in order.
// Errors: *FieldError for a reading out of its domain, *ChemicalError, *GramsError, a
// tub without a volume (wrapping ErrUnknownVolume) where something was added.
func Forecast(log []Entry, tub Tub, at time.Time) (Readings, error) {
	f := newForecaster(tub)
	entries := slices.Clone(log)
	slices.SortStableFunc(entries, func(a, b Entry) int { return a.At.Compare(b.At) })
	entries = slices.DeleteFunc(entries, func(e Entry) bool { return e.At.After(at) })
	lastPH := 0
	for i := range entries {
		if entries[i].Read.PH.Known {
			lastPH = i
		}
	}
	for i := range entries {
		e := &entries[i]
		if err := e.Read.check(); err != nil {
			return Readings{}, fmt.Errorf("log of %s: %w", e.At.Format(time.RFC3339), err)
		}
		f.pass(e.At)
		if err := f.take(e); err != nil {
			return Readings{}, fmt.Errorf("log of %s: %w", e.At.Format(time.RFC3339), err)
		}
		if i < lastPH {
			f.now.PH = Reading{} // a later reading settles it; following it is dear
		}
	}
	f.pass(at)
	f.now.VolumeL = tub.VolumeL
	return f.now, nil
}

// forecaster carries the ranges through the log.
type forecaster struct {
	tub   Tub
	now   Readings
	clock time.Time
}

func newForecaster(tub Tub) *forecaster {
	if tub.Decay == (Decay{}) {
		tub.Decay = UsualDecay()
	}
	return &forecaster{tub: tub}
}

// take puts an entry into the ranges: water replaced, then what was added, then what
// was read, which settles a quantity anew.
func (f *forecaster) take(e *Entry) error {
	if e.Replaced > 0 {
		f.replace(math.Min(e.Replaced, 1))
	}
	for _, a := range e.Added {
		if err := f.add(a); err != nil {
			return err
		}
	}
	if e.JetsFor > 0 {
		f.breathe(e.JetsFor, JetsOn())
	}
	if e.Uncovered > 0 {
		f.breathe(e.Uncovered, Uncovered())
	}
	for _, q := range Quantities() {
		if v := e.Read.At(q); v.Known && q != Volume {
			*f.now.At(q) = around(q, *v)
		}
	}
	return nil
}

// around is a reading with the error of a pad where it was given as one number.
func around(q Quantity, v Reading) Reading {
	if v.Low == v.High {
		v.Low, v.High = v.Low-coarseness(q), v.High+coarseness(q)
	}
	return v.clipped(q)
}

// pass lets time go by: the sanitizer decays and takes alkalinity with it, carbon
// dioxide leaves, everything wanders a little.
func (f *forecaster) pass(to time.Time) {
	elapsed := to.Sub(f.clock)
	f.clock = to
	if f.now == (Readings{}) || elapsed <= 0 {
		return
	}
	f.breathe(elapsed, Covered())
	f.spend(elapsed)
	part := drift * elapsed.Hours() / 24
	for _, q := range [...]Quantity{TotalAlkalinity, CalciumHardness, CyanuricAcid, BorateB, TDS} {
		if v := f.now.At(q); v.Known {
			v.Low, v.High = v.Low*math.Max(0, 1-part), v.High*(1+part)
			*v = v.clipped(q)
		}
	}
}

// spend decays the sanitizers. A mole of chlorine or bromine that is used up leaves an
// acid: one equivalent of alkalinity.
func (f *forecaster) spend(elapsed time.Duration) {
	for _, q := range [...]Quantity{FreeChlorine, Bromine, CombinedChlorine} {
		v := f.now.At(q)
		left := f.tub.Decay.After(*v, elapsed)
		if q == CombinedChlorine {
			left.High = v.High // it can stay
		}
		mass := massCl2
		if q == Bromine {
			mass = massBr2
		}
		if ta := &f.now.TotalAlkalinity; ta.Known && v.Known {
			ta.Low = math.Max(0, ta.Low-(v.High-left.Low)/mass*massPerEq)
		}
		*v = left
	}
}

// replace mixes in fill water.
func (f *forecaster) replace(part float64) {
	for _, q := range Quantities() {
		now, fill := f.now.At(q), f.fill(q)
		switch {
		case q == Volume || q == PH || q == Temperature:
		case now.Known:
			now.Low = now.Low*(1-part) + fill.Low*part
			now.High = now.High*(1-part) + fill.High*part
		case part == 1 && f.tub.Fill.At(q).Known:
			*now = fill
		}
	}
	// The pH of a mixture follows from carbon that was not measured: it is anywhere
	// between the two, and a fill without a reading leaves it open.
	fill := f.tub.Fill.PH
	switch {
	case !fill.Known:
		f.now.PH = Reading{}
	case f.now.PH.Known:
		widen(&f.now.PH, fill.Low)
		widen(&f.now.PH, fill.High)
	}
}

// fill is a reading of the fill water, or the range of town water where it is unknown:
// from memory.
func (f *forecaster) fill(q Quantity) Reading {
	if v := f.tub.Fill.At(q); v.Known {
		return *v
	}
	switch q {
	case TotalAlkalinity:
		return Between(10, 300)
	case CalciumHardness:
		return Between(0, 400)
	case TDS:
		return Between(50, 1000)
	case FreeChlorine:
		return Between(0, 2)
	case CombinedChlorine:
		return Between(0, 3)
	}
	return Exactly(0)
}

// add pours a product in: linear quantities by their slope, the pH over the extreme
// waters.
func (f *forecaster) add(a Addition) error {
	volume := f.tub.VolumeL
	if !volume.Known || !(volume.Low > 0) {
		return fmt.Errorf("%s: %w", a.Chemical, ErrUnknownVolume)
	}
	probe := mixture{volume: volume.Low}
	if f.tub.Sanitizer == ByBromine {
		probe.bromine = traceBromine
	}
	before := probe.water(0)
	if err := probe.pour(a); err != nil {
		return err
	}
	if err := f.lead(a); err != nil {
		return err
	}
	after := probe.water(0)
	neutralizes := a.Chemical == Thiosulfate
	for _, q := range Quantities() {
		v := f.now.At(q)
		if !v.Known || q == Volume || q == PH || q == Temperature {
			continue
		}
		most := *after.At(q) - *before.At(q)
		least := most * volume.Low / volume.High
		v.Low, v.High = v.Low+math.Min(most, least), v.High+math.Max(most, least)
		if neutralizes && (q == FreeChlorine || q == CombinedChlorine || q == Bromine) {
			v.Low = 0 // how much it takes away depends on its reactions
		}
	}
	return nil
}

// lead moves the pH by an addition. Where too little is known for that, it is forgotten
// unless the addition leaves it alone.
func (f *forecaster) lead(a Addition) error {
	e, err := perGram(a.Chemical)
	if err != nil || !f.now.PH.Known {
		return err
	}
	var span Reading
	var s species
	for _, c := range f.extremes() {
		dose := e.scaled(a.Grams / c.now.volume)
		c.now.add(&dose)
		if c.k.settle(&c.now, &s) != nil {
			span = Reading{}
			break
		}
		widen(&span, c.now.ph)
	}
	f.now.PH = span
	return nil
}

// breathe moves the pH toward the air's.
func (f *forecaster) breathe(elapsed time.Duration, rate Exchange) {
	if !f.now.PH.Known {
		return
	}
	var span Reading
	for _, c := range f.extremes() {
		slow, fast := c.now, c.now
		if c.k.breathe(&slow, rate.Low*elapsed.Hours(), AirCO2) != nil || c.k.breathe(&fast, rate.High*elapsed.Hours(), AirCO2) != nil {
			return
		}
		widen(&span, slow.ph)
		widen(&span, fast.ph)
	}
	if span.Known {
		f.now.PH = span
	}
}

// extremes are the extreme waters of the ranges now, with what was not read assumed.
func (f *forecaster) extremes() []corner {
	r := f.now
	bands := DefaultBands()
	for _, q := range chemical() {
		if v := r.At(q); !v.Known {
			*v = assumed(q, &bands)
		}
	}
	r.VolumeL = f.tub.VolumeL
	if !r.VolumeL.Known {
		r.VolumeL = Exactly(1000) // only breathing comes here, which needs none
	}
	return corners(&r)
}
