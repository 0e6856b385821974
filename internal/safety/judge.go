package safety

// Clarity is what the owner says of the water: is the bottom drain sharp?
type Clarity string

// The clarities. Unknown does not stand against soaking; cloudy does.
const (
	ClarityUnknown Clarity = ""
	Clear          Clarity = "yes"
	Cloudy         Clarity = "no"
)

// Measured is what is known of the water now. Only what was measured after the last
// addition has mixed belongs in it; the caller leaves older readings, and pads that
// could not be read, out.
//
// A value is the range it may lie in. A number is a range of one point, taken as told:
// a pad named by its printed value counts as that value. Between two pads is the range
// from one to the other, and off the chart has an infinity for its open end.
type Measured struct {
	Values map[string]Range
	Clear  Clarity
	Ill    bool           // somebody fell ill after soaking
	Tried  map[string]int // corrections in a row that did not help, by quantity
}

// Verdict is what the water allows. Band is the worst of all findings. Missing lists
// what must be measured before anyone soaks, and "sanitizer" when that is not known.
type Verdict struct {
	Band     Band
	Findings []Finding // of what was measured or is required, in the order of Limits.All
	Missing  []string
}

// Finding is the verdict on one quantity, or on "clarity" or "illness". Low and High
// are the value as measured; both are 0 when Band is Unmeasured.
type Finding struct {
	Quantity  string
	Band      Band
	Low, High float64
	Side      Side   // where it is out of Soak, or of Aim when Note is set
	Note      bool   // soaking is allowed, but something is to be said: Reason
	Source    string // of the limit that decided
	Reason    string // one plain clause, in English
	spanish   string // the same in Spanish; see In
}

// Names of findings that are not readings.
const (
	ClarityFinding = "clarity"
	IllnessFinding = "illness"
)

// Judge says what the water allows. A value is in a band only with its whole range:
// any part of it in a worse band puts it there. Both ends of a band belong to it, so
// between the pads 7.2 and 7.8 is Soak, between 7.8 and 8.4 is Fix, and "over 5" free
// chlorine, which may be over 10, is Person.
//
// The water is Soak when the sanitizer's level, pH and temperature are all measured,
// everything measured is in Soak, and it is not cloudy. A level of the other sanitizer
// counts only when it is too high. Quantities without limits are passed over.
func (l Limits) Judge(m Measured, sanitizer string) Verdict {
	verdict := Verdict{Band: Soak}
	level, other := levels(sanitizer)
	if level == "" {
		verdict.miss("sanitizer")
	}
	for _, row := range l.rows {
		value, measured := m.Values[row.Quantity]
		if row.Quantity == other {
			row = row.onlyHigh()
		}
		switch {
		case measured && value.known():
			verdict.add(row.judge(value, m.Tried[row.Quantity]))
		case required(row.Quantity, level):
			verdict.add(row.unmeasured())
			verdict.miss(row.Quantity)
		}
	}
	if len(l.rows) == 0 {
		verdict.Band = Unmeasured
	}
	for _, finding := range sights(m) {
		verdict.add(finding)
	}
	return verdict
}

// Of gives the finding on a quantity; ok is false when there is none.
func (v Verdict) Of(quantity string) (finding Finding, ok bool) {
	for _, finding := range v.Findings {
		if finding.Quantity == quantity {
			return finding, true
		}
	}
	return Finding{}, false
}

func (v *Verdict) add(finding Finding) {
	v.Findings = append(v.Findings, finding)
	v.Band = worse(v.Band, finding.Band)
}

func (v *Verdict) miss(name string) {
	v.Missing = append(v.Missing, name)
	v.Band = worse(v.Band, Unmeasured)
}

// levels names the quantity of the sanitizer in use and that of the other one. With
// an unknown sanitizer there is neither.
func levels(sanitizer string) (level, other string) {
	switch sanitizer {
	case ChlorineSanitizer:
		return FreeChlorine, Bromine
	case BromineSanitizer:
		return Bromine, FreeChlorine
	}
	return "", ""
}

func required(quantity, level string) bool {
	return quantity == level || quantity == PH || quantity == WaterTemp
}

// onlyHigh opens the low end of a limit.
func (row Limit) onlyHigh() Limit {
	row.Aim.Low, row.Soak.Low, row.Fix.Low = anyLow, anyLow, anyLow
	return row
}

// judge finds the band of one value.
func (row Limit) judge(value Range, tried int) Finding {
	finding := Finding{Quantity: row.Quantity, Low: value.Low, High: value.High, Band: Soak, Source: row.SoakSource}
	if finding.Side = row.Fix.sideOf(value); finding.Side != "" {
		finding.Band, finding.Source = Person, row.FixSource
		finding.explain(row, value, row.Fix, "", "")
		return finding
	}
	if finding.Side = row.Soak.sideOf(value); finding.Side != "" {
		finding.Band = Fix
		if row.GiveUp > 0 && tried >= row.GiveUp && finding.Side.touches(row.GiveUpSide) {
			finding.Band, finding.Source = Person, row.GiveUpSource
			finding.explain(row, value, row.Soak, english().noHelp, spanish().noHelp)
			return finding
		}
		finding.explain(row, value, row.Soak, "", "")
		return finding
	}
	if finding.Side = row.Aim.sideOf(value); finding.Side != "" {
		finding.Note = true
		finding.explain(row, value, row.Aim, ": "+row.Note, ": "+row.spanishNote)
		return finding
	}
	finding.explain(row, value, row.Soak, "", "")
	return finding
}

// sights are the findings of the eye.
func sights(m Measured) []Finding {
	var found []Finding
	if m.Clear == Cloudy {
		found = append(found, Finding{
			Quantity: ClarityFinding, Band: Fix, Source: montana + ": main drain sharply visible",
			Reason: "the water is cloudy", spanish: "el agua se ve turbia",
		})
	}
	if m.Ill {
		found = append(found, Finding{
			Quantity: IllnessFinding, Band: Person,
			Source:  "CDC, Disinfection of Hot Tubs that Contain Legionella, CS282859 (2018)",
			Reason:  "somebody fell ill after soaking; do not drain yet",
			spanish: "alguien se siente mal tras entrar; espere antes de vaciar",
		})
	}
	return found
}
