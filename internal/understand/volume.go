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

// maybeSize reports whether a number stands in the text that may be the size.
func (in *input) maybeSize() bool {
	for _, a := range in.measuredVolumes(in.amounts(), in.findNotes()) {
		if a.unit == noUnit && inRange(a.value, 40, 9000) && !isYear(a) {
			return true
		}
	}
	return false
}

// anyUnclear reports whether a number stands in the text that may be either of two.
func (in *input) anyUnclear() bool {
	for _, a := range in.amounts() {
		if a.unclear {
			return true
		}
	}
	return false
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

// borrowUnit gives the size in "you've got me down for 300 gal, it's really 340" the unit
// of the one it puts right.
func (in *input) borrowUnit(kept, all []amount) {
	if len(kept) != 1 || kept[0].unit != noUnit || len(all) != 2 || !inRange(kept[0].value, leastBareGallons, mostBareGallons) {
		return
	}
	for _, a := range all {
		if a.from != kept[0].from && a.unit.isVolume() {
			kept[0].unit = a.unit
		}
	}
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

// spreadUnits gives bare numbers a unit that is said elsewhere: "Litres 1250", "1200
// litres no sorry gallons", "260 gallons british ones".
func (in *input) spreadUnits(all, told []amount) {
	imperial := in.hasWord("imperial", "british", "uk", "canadian", "imperiales", "ingleses")
	said := noUnit
	for _, a := range told {
		if a.unit.isVolume() && first(inGallons(a)) > leastGallons {
			said = a.unit
		}
	}
	for k := range all {
		a := &all[k]
		in.lendUnit(a, said)
		if a.unit == noUnit && in.asksVolume() && !in.number(a.from-2) {
			if u, n := in.volumeUnitAt(a.from - 1); n == 1 {
				a.unit = u
			}
		}
		if imperial && (a.unit == gallons || a.unit == noUnit && in.asksVolume()) {
			a.unit = imperialGallons
		}
	}
	if u := in.unitSaid(); len(all) == 1 && all[0].unit == noUnit && in.asksVolume() && u != noUnit {
		all[0].unit = u
	}
	in.correctUnit(all)
}

// lendUnit gives a size without a unit the one said elsewhere, where it can be meant.
func (in *input) lendUnit(a *amount, said unit) {
	if v := in.tokens[min(a.to, len(in.tokens))-1].Grouped; a.unit == noUnit && v > 0 && said != noUnit && !a.bounded {
		a.unit, a.value = said, Value{Low: v, High: v}
	}
	if a.unit == noUnit && said == litres && first(a.value) >= 300 {
		a.unit = litres
	}
}

// correctUnit applies "1200 litres no sorry gallons": a unit said later takes the place.
func (in *input) correctUnit(all []amount) {
	if len(all) == 1 && all[0].unit != noUnit {
		for i := all[0].to; i < len(in.tokens); i++ {
			u, n := in.volumeUnitAt(i)
			if n > 0 && u != all[0].unit && !in.number(i-1) && in.word(i-1, "sorry", "mean", "meant", "actually", "digo", "perdon", "son", "wait", "no") {
				all[0].unit = u
			}
		}
	}
}

// unitSaid finds the one unit of volume that is said apart from a number and not denied.
func (in *input) unitSaid() unit {
	said := noUnit
	for i := range in.tokens {
		u, n := in.volumeUnitAt(i)
		if n == 0 || u == otherUnit || in.word(i+n, "per", "a") || in.number(i-1) || in.word(i-1, "no", "not") || in.word(i-2, "no", "not") || n == 1 && in.word(i, "l", "g", "m") {
			continue
		}
		if said != noUnit && said != u {
			return noUnit
		}
		said = u
	}
	return said
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

// inGallons converts to US gallons, rounded to a tenth.
func inGallons(a amount) Value {
	v := a.value
	v.Low, v.High = tenth(v.Low*a.unit.inGallons()), tenth(v.High*a.unit.inGallons())
	return v
}

// inGallons returns how many US gallons one of the unit is.
func (u unit) inGallons() float64 {
	factor := 1.0
	switch u {
	case imperialGallons:
		factor = litresPerImperialGallon / litresPerUSGallon
	case litres:
		factor = 1 / litresPerUSGallon
	case poundsOfWater:
		factor = 1 / poundsPerUSGallon
	case hectolitres:
		factor = 100 / litresPerUSGallon
	case cubicMetres:
		factor = 1000 / litresPerUSGallon
	case cubicFeet:
		factor = litresPerCubicFoot / litresPerUSGallon
	}
	return factor
}

func tenth(x float64) float64 { return math.Round(x*10) / 10 }

// bareVolume takes a number without a unit as gallons if it is a usual size; a bigger
// one may be litres and is asked about.
func (in *input) bareVolume(bare []amount) (foundVolume, bool) {
	bare = in.sizes(bare)
	if len(bare) == 0 || in.word(bare[0].from-1, "is", "of") && in.hasWord("per") && in.hasWord("minute", "hour") {
		return foundVolume{}, false
	}
	f := foundVolume{attempt: true}
	bare = in.oneSize(bare)
	if len(bare) > 1 {
		if len(bare) == 2 && inRange(bare[0].value, leastBareGallons, mostBareGallons) && inRange(bare[1].value, leastBareGallons, mostBareGallons) {
			return twoVolumes(bare[0].value, bare[1].value)
		}
		f.why = "several numbers"
		return f, true
	}
	return in.checkBare(f, bare[0])
}

// oneSize drops of several sizes those that another takes the place of: "300, but ...
// 340", "so 340", and the one that only repeats what was proposed.
func (in *input) oneSize(bare []amount) []amount {
	if len(bare) == 2 && in.hasWord("but", "pero") {
		bare = bare[1:]
	}
	if bare[0].unclear && bare[0].value.Low >= 100 {
		bare[0].value.High = bare[0].value.Low + 100
	}
	if len(bare) == 2 && in.ctx.Asked == AskedConfirm {
		bare = in.unlikeProposed(bare)
	}
	if last := len(bare) - 1; last > 0 && (in.hasWord("final", "finally") || in.word(bare[last].from-1, "so", "entonces") || bare[last].value == bare[last-1].value) {
		bare = bare[last:]
	}
	return bare
}

// checkBare takes a size told without a unit if it is a usual one in gallons.
func (in *input) checkBare(f foundVolume, a amount) (foundVolume, bool) {
	v := a.value
	if in.word(a.to, "k") {
		f.why = "that is no size of a hot tub"
		return f, true
	}
	for _, x := range v.ends() {
		if x > mostBareGallons && x <= mostGallons && in.hasWord("swim", "swimspa", "nado") {
			continue
		}
		if x < leastBareGallons || x > mostBareGallons {
			f.why = "gallons or litres?"
			if x > mostBareGallons && x <= 9000 {
				f.proposal = math.Round(x / litresPerUSGallon)
			}
			return f, true
		}
	}
	return f.take(v)
}

func inRange(v Value, low, high float64) bool {
	for _, x := range v.ends() {
		if x < low || x > high {
			return false
		}
	}
	return true
}

// unlikeProposed drops the number that only repeats what was asked about.
func (in *input) unlikeProposed(bare []amount) []amount {
	var out []amount
	for _, a := range bare {
		if !near(first(a.value), in.ctx.Proposed["us_gal"]) {
			out = append(out, a)
		}
	}
	if len(out) == 1 {
		return out
	}
	return bare
}

// sizes drops small numbers where the owner does not know the volume or larger ones are
// there: "no idea, it seats four".
func (in *input) sizes(bare []amount) []amount {
	var out []amount
	for _, a := range bare {
		if first(a.value) >= 20 {
			out = append(out, a)
		}
	}
	if len(out) > 0 || in.saysVolumeUnknown() || len(in.tokens) > 5 && !in.hasWord("gallon", "gallons", "gal", "galones", "liters", "litros") {
		return out
	}
	return bare
}

// saysVolumeUnknown wants words of not knowing and none of going to look.
func (in *input) saysVolumeUnknown() bool {
	unknown := false
	for _, n := range in.findNotes() {
		unknown = unknown || n.sign == signUnknown || n.sign == signGuess && !in.hasWord("yet", "todavia", "aun", "have", "havent")
	}
	for i := range in.tokens {
		if in.goesToLook(i) {
			return false
		}
		unknown = unknown || in.knowsNoVolume(i) || in.plateGone(i) || in.nobodyKnows(i)
	}
	return unknown
}

// goesToLook knows "lemme check" and "deje checo".
func (in *input) goesToLook(i int) bool {
	return in.word(i, "lemme", "dejame", "deje", "dejeme", "checar", "check", "look", "ask", "preguntar", "reviso", "preguntarle", "measure", "checo", "pregunto") && !in.word(i-1, "to", "cant", "didnt", "where")
}

// plateGone knows that what would tell the size is lost or cannot be read.
func (in *input) plateGone(i int) bool {
	switch {
	case in.word(i, "sticker", "stickers", "manual", "manuals", "plate", "label", "papers", "paperwork", "papeles", "placa", "etiqueta"):
		return in.word(i+1, "gone", "missing", "lost", "is", "was", "se") && in.hasWord("gone", "missing", "lost", "faded", "borro", "perdio")
	case in.word(i, "llevo", "perdieron", "perdio"):
		return in.hasWord("papeles", "manual", "placa")
	}
	return in.word(i, "peeled", "faded", "worn", "gastada", "gastado", "desgastada", "despintada")
}

// nobodyKnows knows "who knows", "nadie sabe", "beats me" and "you tell me".
func (in *input) nobodyKnows(i int) bool {
	switch {
	case in.word(i, "nadie", "nobody", "noone"):
		return in.word(i+1, "sabe", "knows", "en", "here")
	case in.word(i, "who", "quien"):
		return in.word(i+1, "knows", "sabe")
	case in.word(i, "beats"):
		return in.word(i+1, "me")
	case in.word(i, "you"):
		return in.word(i+1, "tell") && in.word(i+2, "me")
	case in.word(i, "ustedes", "usted"):
		return in.word(i+1, "diganme", "digame")
	case in.word(i, "mas"):
		return in.word(i+1, "remota", "minima")
	}
	return in.word(i, "sepa", "sabra")
}

// knowsNoVolume knows "idk", "no clue", "don't remember", "no encuentro".
func (in *input) knowsNoVolume(i int) bool {
	switch {
	case in.word(i, "dont", "not", "didnt", "never"):
		return in.word(i+1, "know", "sure", "knew", "certain", "remember", "have")
	case in.word(i, "cant", "couldnt", "cannot", "cudnt"):
		return in.word(i+1, "find", "tell", "read", "remember", "say")
	case in.word(i, "no", "ni"):
		return in.word(i+1, "clue", "idea", "se", "sabria", "sabemos", "encuentro", "recuerdo", "tengo", "dice", "viene", "trae") || in.word(i+1, "me") && in.word(i+2, "acuerdo") ||
			in.word(i, "no") && in.word(i+2, "se", "idea", "acuerdo", "encuentro", "encontramos", "sabe", "clue")
	case in.word(i, "havent", "have"):
		return in.word(i+1, "a", "the", "no") && in.word(i+2, "clue", "idea", "foggiest", "faintest")
	}
	return in.word(i, "dunno", "idk", "unknown", "clueless", "ns", "nose", "desconozco")
}
