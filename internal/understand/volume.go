package understand

import "math"

// Litres in one US gallon and in one imperial gallon: NIST Handbook 44 Appendix C.
const (
	litresPerUSGallon       = 3.785411784
	litresPerImperialGallon = 4.54609
	litresPerCubicFoot      = 28.316846592
	poundsPerUSGallon       = 8.34 // of water at room temperature, from memory
)

// A tub's volume outside these bounds is a slip or another body of water (common
// practice, no source); a bare number must be one of the usual sizes to be gallons.
const (
	leastGallons, mostGallons         = 60, 2600
	leastBareGallons, mostBareGallons = 90, 900
)

// foundVolume is what a text says of the tub's size.
type foundVolume struct {
	volume   *Volume
	why      string
	proposal float64
	attempt  bool
}

func (in *input) findVolume() foundVolume {
	if v, ok := in.timedFill(); ok {
		return v
	}
	if v, ok := in.meter(); ok {
		return v
	}
	if v, ok := in.dimensions(); ok {
		if s, ok := in.statedVolume(); ok && s.volume != nil && in.saysUnit() {
			return s
		}
		return v
	}
	if v, ok := in.statedVolume(); ok {
		return v
	}
	if in.ctx.Asked != AskedVolume {
		return foundVolume{}
	}
	if in.saysVolumeUnknown() && len(in.spans()) == 0 && !in.maybeSize() && !in.anyUnclear() {
		return foundVolume{volume: &Volume{Unknown: true}, attempt: true}
	}
	return foundVolume{}
}

// saysUnit reports whether a unit of volume stands after a number.
func (in *input) saysUnit() bool {
	for _, a := range in.amounts() {
		if a.unit.isVolume() {
			return true
		}
	}
	return false
}

func (in *input) asksVolume() bool {
	if in.ctx.Asked == AskedConfirm {
		_, ok := in.ctx.Proposed["us_gal"]
		return ok
	}
	return in.ctx.Asked == AskedVolume
}

// statedVolume takes a number with a unit of volume, or a bare one where the volume
// was asked for.
func (in *input) statedVolume() (foundVolume, bool) {
	notes := in.findNotes()
	all := in.amounts()
	kept := in.measuredVolumes(all, notes)
	in.borrowUnit(kept, all)
	kept = in.applyCorrections(in.sinceNow(in.spokenSizes(kept)), nil, notes)
	for _, a := range kept {
		if in.asksVolume() && in.word(a.to, "what", "que") && in.mark(a.to+1, "?") {
			return foundVolume{attempt: true, why: "a number of what?"}, true
		}
	}
	in.spreadUnits(kept, all)
	stated := in.wholeVolumes(kept)
	if in.asksVolume() {
		stated = in.summedVolumes(stated, kept)
	}
	if len(stated) == 1 && !in.asksVolume() && in.inPassing(stated[0]) {
		return foundVolume{}, false
	}
	if len(stated) > 0 {
		return in.settleVolume(stated)
	}
	if !in.asksVolume() {
		return in.volumeOfQuestion(kept)
	}
	var bare []amount
	for _, a := range kept {
		if a.unit == noUnit && !isYear(a) && !in.namedBeside(a) {
			bare = append(bare, a)
		}
	}
	return in.bareVolume(in.summedVolumes(bare, bare))
}

// wholeVolumes keeps the amounts with a unit of volume that are no part of the tub's.
func (in *input) wholeVolumes(kept []amount) []amount {
	var stated []amount
	for _, a := range kept {
		if a.unit.isVolume() && !in.isPortion(a) {
			stated = append(stated, a)
		}
	}
	return stated
}

// isVolume reports whether the unit is one of volume.
func (u unit) isVolume() bool { return u >= gallons && u <= cubicFeet }

// inPassing knows "what's the dose at 375 gallons" and "not enough for 400 gallons":
// nobody says that the tub holds that much.
func (in *input) inPassing(a amount) bool {
	return (in.word(a.from-1, "at") || in.word(a.from-1, "for", "para") && in.word(a.from-2, "enough", "rated", "good", "alcanza", "suficiente", "works")) && !in.hasWord("my", "mine", "our", "i", "have", "tub", "spa", "its", "mi", "tengo", "tina", "es", "mia", "is", "got", "holds", "ours")
}

// namedBeside reports whether the number is a reading's: "ph is 7.4".
func (in *input) namedBeside(a amount) bool {
	n, ok := in.nameBefore(a.from)
	return ok && !n.loose || in.quantityAt(a.to) && !in.asksVolume()
}

// volumeOfQuestion reads the size in "how much goes in for 375" and "para una de 350".
func (in *input) volumeOfQuestion(all []amount) (foundVolume, bool) {
	if !in.hasWord("much", "many", "cuanto", "cuanta", "cuantas", "cuantos", "dose", "dosis") {
		return foundVolume{}, false
	}
	for _, a := range all {
		x := a.value.Low
		if a.unit == noUnit && !a.bounded && x >= 150 && x <= 800 && (in.word(a.from-1, "for", "para") || in.word(a.from-1, "de", "a", "mi", "my") && in.word(a.from-2, "una", "for", "un", "para")) {
			return foundVolume{attempt: true}.take(a.value)
		}
	}
	return foundVolume{}, false
}

// measuredVolumes drops the pool's gallons and hypotheses; what was told earlier
// ("the man said 375") still counts for a volume.
func (in *input) measuredVolumes(all []amount, notes []note) []amount {
	var relevant []note
	for _, n := range notes {
		if n.sign == signHypothetical && (!in.asksVolume() || in.asksSomething()) || n.sign == signOtherWater && !in.hasWord("same", "igual", "identical") || n.sign == signTub || n.sign == signRejected || n.sign == signTarget && in.asksVolume() && in.word(n.from, "set") {
			relevant = append(relevant, n)
		}
	}
	kept, _, _ := in.measured(all, relevant, in.clauses())
	return kept
}

// isPortion knows a quantity of product or of a vessel: "a gallon of bleach", "5 gal bucket".
func (in *input) isPortion(a amount) bool {
	if in.word(a.from-1, "per", "por", "cada", "every") {
		return true
	}
	if in.word(a.to, "bucket", "buckets", "cubeta", "balde", "jug", "pail", "bottle", "container", "garrafon", "jar", "left", "more", "low", "short") || in.word(a.to, "per", "por", "a", "an") && (in.timeUnit(a.to+1) > 0 || in.word(a.to+1, "bucket", "load", "cubeta")) {
		return !in.word(a.to+1, "full")
	}
	if in.word(a.to, "of", "de") && !(in.word(a.to+1, "the", "this", "that", "it") && first(inGallons(a)) >= leastGallons) && in.word(a.to+1, "bleach", "chlorine", "vinegar", "acid", "muriatic", "shock", "product", "cleaner", "gas", "gasoline", "milk", "paint", "peroxide", "cloro", "vinagre", "acido", "producto", "liquid", "the", "blanqueador", "jabon", "this", "that", "it", "lejia", "limpiador") {
		return true
	}
	if in.word(a.to, "out") || in.word(a.to, "in", "so", "gone", "already") && in.word(a.to+1, "by", "so", "far", "already", "now", "yet") || in.word(a.from-1, "salieron", "entraron", "van", "como") && in.word(a.from-2, "salieron", "van", "entraron") {
		return true
	}
	for i := max(0, a.from-4); i < a.from; i++ {
		if in.word(i, "every", "cada", "each", "treats", "trata") || in.word(i, "added", "drained", "lost", "topped", "eche", "agregue", "poured", "vacie", "saque", "quite", "drene", "removed", "dumped", "used", "use", "bought",
			"compre", "usamos", "use", "gastamos", "sacamos", "vaciamos", "tiramos", "tire", "drain", "pumped", "replaced", "cambie", "siphoned", "changed", "swapped") && !in.hasWord("fill", "filled", "llenar", "llenarla", "full", "llene", "filling") {
			return true
		}
	}
	if in.word(a.from-1, "back", "another", "extra", "otros") {
		return true
	}
	return in.word(a.from-1, "le", "la") && in.word(a.to, "puse", "eche")
}

func isYear(a amount) bool {
	return !a.bounded && !a.spelled && a.value.Low >= 1985 && a.value.Low <= 2030 && len(a.figures) == 4
}

// settleVolume decides between several stated volumes: agreeing ones in two units are
// one; else the last correction has won already, and what is left must be asked.
func (in *input) settleVolume(stated []amount) (foundVolume, bool) {
	f := foundVolume{attempt: true}
	if stated[0].unclear && stated[0].value.Low >= 100 && !stated[0].bounded {
		stated[0].value.High = stated[0].value.Low + 100
		stated[0].value.OpenHigh = stated[0].value.Low >= 1000
	}
	v := inGallons(stated[0])
	for _, a := range stated[1:] {
		other := inGallons(a)
		if v.OpenHigh && !other.OpenHigh && first(other) == v.Low {
			continue
		}
		if math.Abs(first(other)-first(v)) > 0.1*first(v) {
			if len(stated) == 2 && in.fillsTo("max", "maximum", "maximo", "top", "full", "brim", "tope") {
				return f.take(larger(v, other))
			}
			return twoVolumes(v, other)
		}
		if a.unit == gallons {
			v = other
		}
	}
	return f.take(v)
}

func larger(a, b Value) Value {
	if first(b) > first(a) {
		return b
	}
	return a
}

// fillsTo knows "we fill to the max": which of two marks counts.
func (in *input) fillsTo(marks ...string) bool {
	for i := range in.tokens {
		if in.word(i, "to", "al") && (in.word(i+1, marks...) || in.word(i+1, "the") && in.word(i+2, marks...)) && (in.word(i-1, "fill", "filled", "lleno", "llenamos", "it") || in.word(i-2, "fill", "lo", "la")) {
			return true
		}
	}
	return false
}

// twoVolumes keeps both ends of what an owner is in doubt of, and asks.
func twoVolumes(a, b Value) (foundVolume, bool) {
	low, high := min(first(a), first(b)), max(first(a), first(b))
	if high > 1.3*low || a.OpenHigh || a.OpenLow || b.OpenHigh || b.OpenLow {
		return foundVolume{attempt: true, why: "two different volumes"}, true
	}
	f, _ := foundVolume{attempt: true}.take(Value{Low: low, High: high})
	f.why = "two different volumes"
	return f, true
}

// take checks the bounds and stores the volume.
func (f foundVolume) take(v Value) (foundVolume, bool) {
	for _, x := range v.ends() {
		if x < leastGallons || x > mostGallons {
			f.why = "that is no size of a hot tub"
			return f, true
		}
	}
	f.volume = &Volume{LowUSGal: v.Low, HighUSGal: v.High, OpenLow: v.OpenLow, OpenHigh: v.OpenHigh}
	if v.OpenHigh {
		f.volume.HighUSGal = v.Low
	}
	if v.OpenLow {
		f.volume.LowUSGal = 0
	}
	return f, true
}

func tenth(x float64) float64 { return math.Round(x*10) / 10 }
