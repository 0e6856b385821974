package understand

import (
	"strconv"
	"strings"

	"tubhand/internal/understand/words"
)

// span is a duration found in a text, in seconds: tokens [from,to).
type span struct {
	seconds  float64
	from, to int
}

// spans finds every duration: "50 s", "1 hr 15", "hora y media", "an hour and a half".
func (in *input) spans() []span {
	var out []span
	for i := 0; i < len(in.tokens); {
		s, ok := in.spanAt(i)
		if !ok {
			i++
			continue
		}
		out = append(out, s)
		i = s.to
	}
	return out
}

func (in *input) spanAt(i int) (span, bool) {
	s, ok := in.simpleSpan(i)
	if !ok {
		return span{}, false
	}
	scale := in.timeUnit(s.to - 1)
	if share, n := in.partSpoken(s.to); n > 0 {
		return span{s.seconds + share*scale, i, s.to + n}, true
	}
	next := s.to
	if in.word(next, "y", "and", "con") && scale > 1 {
		next++
	}
	if t, ok := in.simpleSpan(next); ok && in.timeUnit(t.to-1) < scale {
		return span{s.seconds + t.seconds, i, t.to}, true
	}
	if minutes := in.bareMinutes(s.to, scale); minutes > 0 {
		to := s.to + 1 + btoi(!in.number(s.to))
		return span{s.seconds + minutes*60, i, to}, true
	}
	return s, true
}

// partSpoken reads "y media", "and a quarter" and "y tres cuartos" at token i: the share
// of the unit before, and how many tokens it takes.
func (in *input) partSpoken(i int) (share float64, n int) {
	if !in.word(i, "y", "and") {
		return 0, 0
	}
	switch {
	case in.number(i+1) && in.tokens[i+1].Value == 3 && in.word(i+2, "cuartos", "quarters"):
		return 0.75, 3
	case in.word(i+1, "cuarto"):
		return 0.25, 2
	case in.word(i+1, "a") && in.word(i+2, "quarter"):
		return 0.25, 3
	case in.word(i+1, "media", "medio", "half"):
		return 0.5, 2
	case in.word(i+1, "a") && in.word(i+2, "half"):
		return 0.5, 3
	}
	return 0, 0
}

// bareMinutes reads "1 hr 15" and "una hora y 20": the unit of the rest is left out.
func (in *input) bareMinutes(i int, scale float64) float64 {
	joined := in.word(i, "y", "and")
	if joined {
		i++
	}
	if scale != 3600 || !in.number(i) || in.tokens[i].Value >= 60 || joined && in.tokens[i].Value < 2 || in.timeUnit(i+1) != 0 {
		return 0
	}
	if u, n := in.unitAt(i + 1); !joined && n > 0 && u != noUnit {
		return 0
	}
	return in.tokens[i].Value
}

// simpleSpan reads one number (or "an", "half an", "media", or nothing in Spanish) and one unit of time.
func (in *input) simpleSpan(i int) (span, bool) {
	switch {
	case in.number(i) && in.tokens[i].Value == 3 && in.word(i+1, "cuartos", "quarters") && in.word(i+2, "de", "of") && (in.timeUnit(i+3) > 0 || in.word(i+3, "an")):
		return span{0.75 * 3600, i, i + 4 + btoi(in.word(i+3, "an"))}, true
	case in.word(i, "cuarto", "quarter") && in.word(i+1, "de", "of") && in.word(i+2, "hora", "hour", "an"):
		return span{900, i, i + 3 + btoi(in.word(i+2, "an"))}, true
	case in.number(i) && in.timeUnit(i+1) > 0:
		return span{in.tokens[i].Value * in.timeUnit(i+1), i, i + 2}, true
	case in.word(i, "a", "an", "one", "un", "una", "uno") && in.timeUnit(i+1) > 0:
		return span{in.timeUnit(i + 1), i, i + 2}, true
	case in.word(i, "half", "media", "medio") && in.timeUnit(i+1) > 0:
		return span{in.timeUnit(i+1) / 2, i, i + 2}, true
	case in.word(i, "half") && in.word(i+1, "a", "an") && in.timeUnit(i+2) > 0:
		return span{in.timeUnit(i+2) / 2, i, i + 3}, true
	case in.word(i, "hora", "minuto") && in.word(i+1, "y"):
		return span{in.timeUnit(i), i, i + 1}, true
	}
	return span{}, false
}

// timeUnit returns the seconds in the unit of time at token i, or 0.
func (in *input) timeUnit(i int) float64 {
	switch {
	case in.isSecondOne(i):
		return 0
	case in.word(i, "s", "sec", "secs", "second", "seconds", "segundo", "segundos", "seg", "segs"):
		return 1
	case in.word(i, "m", "min", "mins", "minute", "minutes", "minuto", "minutos", "mn"):
		return 60
	case in.word(i, "h", "hr", "hrs", "hour", "hours", "hora", "horas"):
		return 3600
	}
	return 0
}

// timedFill works a volume out from the flow of the hose: a vessel filled in so long
// and the tub in so long, or a rate and the tub's time.
func (in *input) timedFill() (foundVolume, bool) {
	if in.ctx.Asked != AskedVolume && !in.hasWord("bucket", "cubeta", "balde", "pail", "gpm", "barrels", "barrel", "jugs", "buckets") {
		return foundVolume{}, false
	}
	vessel, at := in.vessel()
	if vessel == 0 {
		return foundVolume{}, false
	}
	spans := in.spans()
	spans = append(spans, in.clockSpans()...)
	if _, rateAt := in.ratePer(at); len(spans) == 0 && (rateAt == 0 || in.bareTime(rateAt) == 0) {
		return in.counted(vessel)
	}
	if per, rateAt := in.ratePer(at); per > 0 {
		longest := longestSpan(spans, rateAt)
		if longest == 0 {
			longest = in.bareTime(rateAt) * per
		}
		if longest == 0 {
			return foundVolume{}, false
		}
		return foundVolume{attempt: true}.take(exactly(vessel / per * longest))
	}
	if len(spans) == 1 {
		if minutes := in.bareTime(spans[0].to); minutes > 0 && minutes*60 > spans[0].seconds {
			spans = append(spans, span{seconds: minutes * 60}) // "fills in a minute and the tub took 60"
		}
	}
	if len(spans) != 2 {
		return foundVolume{}, false
	}
	short, long := min(spans[0].seconds, spans[1].seconds), max(spans[0].seconds, spans[1].seconds)
	if short <= 0 || long <= short {
		return foundVolume{}, false
	}
	return foundVolume{attempt: true}.take(exactly(vessel * long / short))
}

// clockSpans reads "from 14:05 to 15:35" as the time between; of three times the first
// is the vessel's, in minutes and seconds: "takes 1:05 and it filled from 9:00 to 10:18".
func (in *input) clockSpans() []span {
	var at []span
	for i, t := range in.tokens {
		if h, m, ok := strings.Cut(t.Text, ":"); ok && t.Kind == words.Clock {
			hours, err := strconv.Atoi(h)
			minutes, err2 := strconv.Atoi(m)
			if err == nil && err2 == nil {
				at = append(at, span{float64(hours*3600 + minutes*60), i, i + 1})
			}
			continue
		}
		if in.number(i) && (in.word(i-1, "las", "from") || in.word(i-1, "from", "desde") && in.word(i+1, "to", "hasta", "till")) && t.Value <= 12 && in.timeUnit(i+1) == 0 {
			at = append(at, span{t.Value * 3600, i, i + 1})
		}
	}
	var out []span
	if len(at) == 3 {
		out = append(out, span{at[0].seconds / 60, at[0].from, at[0].to})
		at = at[1:]
	}
	if len(at) != 2 {
		return nil
	}
	seconds := at[1].seconds - at[0].seconds
	if seconds <= 0 {
		seconds += 12 * 3600
	}
	if seconds <= 0 {
		return nil
	}
	return append(out, span{seconds, at[1].from, at[1].to})
}

func exactly(x float64) Value { return Value{Low: tenth(x), High: tenth(x)} }

// vessel returns the gallons of the vessel or rate spoken of and where its number ends.
func (in *input) vessel() (float64, int) {
	for _, a := range in.amounts() {
		if a.unit >= gallons && a.unit <= cubicFeet && first(inGallons(a)) < leastGallons {
			return first(a.value) * a.unit.inGallons(), a.to
		}
	}
	for i := range in.tokens {
		if in.word(i, "a", "one", "un", "each", "per") && in.word(i+1, "gallon", "gal", "galon") && in.hasWord("jug", "bucket", "pail", "jarra", "garrafa", "cubeta", "balde", "milk") {
			return 1, i + 2
		}
		if in.number(i) && in.word(i+1, "gpm", "gph", "lpm") {
			switch {
			case in.word(i+1, "lpm"):
				return in.tokens[i].Value / litresPerUSGallon, i + 1
			default:
				return in.tokens[i].Value, i + 1
			}
		}
	}
	return 0, 0
}

// ratePer reads "per minute", "a minute", "gpm", "por minuto" at token i: the seconds
// of the unit and where it ends.
func (in *input) ratePer(i int) (float64, int) {
	switch {
	case in.word(i, "gpm", "lpm"):
		return 60, i + 1
	case in.word(i, "gph"):
		return 3600, i + 1
	case (in.word(i, "per", "a", "por", "al", "an", "every", "cada", "each") || in.mark(i, "/")) && in.timeUnit(i+1) > 0:
		return in.timeUnit(i + 1), i + 2
	case in.word(i, "every", "cada", "each", "in", "en") && in.number(i+1) && in.timeUnit(i+2) > 0 && !in.hasWord("bucket", "cubeta", "balde", "pail", "jug"):
		return in.tokens[i+1].Value * in.timeUnit(i+2), i + 3
	}
	return 0, 0
}

// bareTime reads "8 gallons a minute and I left it on for 45": a number whose unit is
// the rate's.
func (in *input) bareTime(rateAt int) float64 {
	for i := rateAt; i < len(in.tokens); i++ {
		if _, n := in.unitAt(i + 1); in.number(i) && n == 0 && in.tokens[i].Value >= 2 && in.tokens[i].Value <= 300 {
			return in.tokens[i].Value
		}
	}
	return 0
}

func longestSpan(spans []span, rateAt int) float64 {
	longest := 0.0
	for _, s := range spans {
		if s.to != rateAt {
			longest = max(longest, s.seconds)
		}
	}
	return longest
}

func (in *input) hasWord(options ...string) bool {
	for i := range in.tokens {
		if in.word(i, options...) {
			return true
		}
	}
	return false
}

// meter reads a water meter before and after: the difference is the volume.
func (in *input) meter() (foundVolume, bool) {
	if in.ctx.Asked != AskedVolume && !(in.hasWord("meter", "medidor", "contador") && in.unitSaid() != noUnit && in.ctx.Asked != AskedReadings) || !in.readsMeter() {
		return foundVolume{}, false
	}
	reads, u := in.meterReads()
	if len(reads) != 2 || reads[0] == reads[1] || reads[0] < 1000 && u != cubicMetres && u != cubicFeet {
		return foundVolume{}, false
	}
	d := max(reads[0], reads[1]) - min(reads[0], reads[1])
	if u == noUnit {
		u = in.unitSaid()
	}
	if in.hasWord("cubic") && u == noUnit {
		u = cubicFeet
	}
	f := foundVolume{attempt: true}
	if u == noUnit {
		u, f.why = gallons, "which unit does the meter count?"
	}
	return f.take(inGallons(amount{value: Value{Low: d, High: d}, unit: u}))
}

// meterReads lists the numbers that a water meter can show, and their unit.
func (in *input) meterReads() (reads []float64, u unit) {
	for i := range in.tokens {
		if !in.number(i) {
			continue
		}
		v, n := in.unitAt(i + 1)
		if n == 0 {
			v = noUnit
		}
		if v == otherUnit || v == noUnit && in.tokens[i].Value < 100 {
			continue
		}
		reads = append(reads, in.tokens[i].Value)
		if v != noUnit {
			u = v
		}
	}
	for _, t := range in.tokens {
		if x, err := strconv.ParseFloat(t.Text, 64); t.Kind == words.Phone && err == nil {
			reads = append(reads, x)
		}
	}
	return reads, u
}

// readsMeter reports whether a water meter is spoken of, or two readings of one.
func (in *input) readsMeter() bool {
	return in.hasWord("meter", "medidor", "contador", "watermeter") ||
		in.hasWord("before", "start", "started", "previous", "noon", "antes", "inicio") && in.hasWord("after", "full", "current", "end", "now", "despues", "final", "lleno", "llena")
}

// counted multiplies a vessel by how often it was filled: "70 buckets of 5 gallons".
func (in *input) counted(vessel float64) (foundVolume, bool) {
	for i := range in.tokens {
		if in.number(i) && in.word(i+1, "of") && in.word(i+2, "my", "the", "our", "those", "these") && in.number(i+3) {
			return foundVolume{attempt: true}.take(exactly(in.tokens[i].Value * vessel))
		}
		if in.number(i) && in.tokens[i].Value >= 10 && in.number(i+1) && in.tokens[i+1].Value <= 20 && in.hasWord("buckets", "cubetas", "baldes", "pails", "jugs") {
			return foundVolume{attempt: true}.take(exactly(in.tokens[i].Value * vessel))
		}
		if in.number(i) && in.tokens[i].Value >= 3 && in.word(i+1, "buckets", "cubetas", "times", "veces", "baldes", "jugs", "garrafones", "tambos", "loads", "cubetadas", "pails", "botes", "trips", "viajes", "full", "five", "barrels") || in.number(i) && in.tokens[i].Value >= 10 && in.word(i+1, "of") && in.word(i+2, "them", "those", "these") {
			return foundVolume{attempt: true}.take(exactly(in.tokens[i].Value * vessel))
		}
	}
	return foundVolume{}, false
}
