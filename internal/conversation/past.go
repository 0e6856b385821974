package conversation

import (
	"math"
	"slices"
	"strings"
	"time"

	"tubhand/internal/tub"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// How much of a tub's past the forecast looks at. Our decisions: bathers, rain and what
// owners add on their own make more of it worth nothing.
const (
	pastCounts = 72 * time.Hour
	pastMost   = 16
)

// Past is one thing that was read from the tub or put into it: what a forecast of
// today's readings starts from. Additions are kept only where it is known what they do.
type Past struct {
	At       time.Time `json:"at"`
	Read     Readings  `json:"read,omitempty"`
	Chemical string    `json:"chemical,omitempty"` // as in package water
	Grams    float64   `json:"grams,omitempty"`
}

// remember keeps something for the forecast.
func (t *turn) remember(p Past) {
	p.At = t.now
	past := append(t.c.Tub.Past, p)
	past = slices.DeleteFunc(past, func(p Past) bool { return t.now.Sub(p.At) > pastCounts })
	t.c.Tub.Past = past[max(0, len(past)-pastMost):]
}

// forget has the forecast start anew: something happened to the water that the log
// cannot follow.
func (t *turn) forget() { t.c.Tub.Past = nil }

// newWater marks that the water is being changed. What was read from the old one, and
// what did not help it, says nothing about the new.
func (t *turn) newWater() {
	t.forget()
	t.c.Tub.Aimed, t.c.Tub.Tried, t.c.Tub.Cloudy, t.c.Tub.Changed, t.c.Tub.Wear = nil, nil, time.Time{}, t.now, Wear{}
}

// unsettle forgets the past where owners tell that they did more than was advised.
func (t *turn) unsettle(m understand.Meaning) {
	switch m.Intent {
	case understand.Overdosed, understand.WrongProduct:
		t.forget()
	case understand.StartService:
		if m.Service == "new_water" || m.Service == "open_up" {
			t.newWater() // changed, and nobody watched
		}
		if m.Service == "shock" || m.Service == "drain" || m.Service == "refill" {
			t.forget()
		}
	}
}

// history is the past as the chemistry wants it.
func (t *turn) history() []water.Entry {
	var log []water.Entry
	for _, p := range t.c.Tub.Past {
		if t.now.Sub(p.At) > pastCounts {
			continue
		}
		e := water.Entry{At: p.At, Read: asRead(p.Read)}
		if p.Chemical != "" {
			e.Added = []water.Addition{{Chemical: water.Chemical(p.Chemical), Grams: p.Grams}}
		}
		log = append(log, e)
	}
	return log
}

// asRead gives values as they were read to the chemistry.
func asRead(values Readings) water.Readings {
	var r water.Readings
	for q, v := range values {
		low, high := bounds(v)
		switch name, ok := inWater[q]; {
		case v.Unknown:
		case ok:
			*r.At(name) = water.Between(low, high)
		case q == understand.WaterTemp:
			r.TempC = water.Between((low-32)/1.8, (high-32)/1.8)
		}
	}
	return r
}

// volumeDoubt is how far the true volume may be from what owners say. Our decision.
const volumeDoubt = 0.15

// forecastTub is what the forecast needs to know of the tub.
func (t *turn) forecastTub() water.Tub {
	litres := tub.Litres(t.c.Tub.VolumeUSGal)
	out := water.Tub{Sanitizer: water.Sanitizer(t.sanitizer()), Decay: t.decay()}
	if litres > 0 {
		out.VolumeL = water.Between(litres*(1-volumeDoubt), litres*(1+volumeDoubt))
	}
	return out
}

// padError is half of a sanitizer pad's step, mg/L: common practice, no source.
const padError = 0.5

// decay is how fast this tub uses its sanitizer up: the usual span, widened by what the
// last two readings with nothing put in between them show.
func (t *turn) decay() water.Decay {
	usual := water.UsualDecay()
	var before, last *Past
	for i := range t.c.Tub.Past {
		p := &t.c.Tub.Past[i]
		switch v, ok := p.Read[t.sanitizerQuantity()]; {
		case p.Chemical != "":
			last = nil
		case ok && !v.Unknown:
			before, last = last, p
		}
	}
	if before == nil || last == nil {
		return usual
	}
	own, ok := water.DecayBetween(t.level(before), t.level(last), last.At.Sub(before.At))
	if !ok || math.IsInf(own.High, 1) {
		return usual
	}
	return water.Decay{Low: math.Min(usual.Low, own.Low), High: math.Max(usual.High, own.High)}
}

// level is a sanitizer reading with a pad's error around it.
func (t *turn) level(p *Past) water.Reading {
	low, high := bounds(p.Read[t.sanitizerQuantity()])
	return water.Between(math.Max(0, low-padError), high+padError)
}

// forecastAfter is how old the last test is before a forecast says more than it.
const forecastAfter = time.Hour

// expected says for staff what the log leads to expect of the sanitizer and the pH now:
// what was read a while ago is no longer so. "" where the log says nothing, or is fresh.
func (t *turn) expected() string {
	past := t.c.Tub.Past
	if len(past) == 0 || t.now.Sub(past[len(past)-1].At) < forecastAfter {
		return ""
	}
	var parts []string
	for _, o := range t.outlook(t.now) {
		parts = append(parts, english.name(o.Quantity)+" "+tenth(o.Low)+english.to+tenth(o.High))
	}
	return strings.Join(parts, ", ")
}

// outlook is the forecast of the sanitizer and the pH.
func (t *turn) outlook(at time.Time) (out []Outlook) {
	if len(t.c.Tub.Past) == 0 {
		return nil
	}
	then, err := water.Forecast(t.history(), t.forecastTub(), at)
	if err != nil {
		return nil
	}
	for _, q := range []understand.Quantity{t.sanitizerQuantity(), understand.PH} {
		if r := then.At(inWater[q]); r.Known {
			out = append(out, Outlook{Quantity: q, Low: r.Low, High: r.High})
		}
	}
	return out
}

func tenth(x float64) string { return number(math.Round(x*10) / 10) }
