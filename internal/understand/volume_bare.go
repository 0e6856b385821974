package understand

import (
	"math"
)

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
