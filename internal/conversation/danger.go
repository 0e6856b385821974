package conversation

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// dangerRepeats is how long the same hazard counts as the same event.
const dangerRepeats = 24 * time.Hour

// danger answers a hazard before anything else: the safety text, a handover, a hold.
// The same hazard heard again gets the safety line alone.
func (t *turn) danger() {
	m := t.heard
	text, again := safety.Response(m.Hazard, m.Severity, t.language(), safety.LinesFor(t.c.Owner.Region))
	if d := t.c.Danger; d != nil && d.Hazard == string(m.Hazard) && d.Severity == string(m.Severity) && t.now.Sub(d.At) < dangerRepeats {
		text = again
	}
	t.keepTold(m)
	t.c.Danger = &Danger{Hazard: string(m.Hazard), Severity: string(m.Severity), At: t.now}
	if m.Severity == safety.Emergency {
		t.class = ClassSafety
	}
	t.says = append(t.says, text)
	t.handOver(string(m.Hazard), m.Severity, true)
	if t.c.Hold != nil {
		t.c.Hold.Told = true
	}
}

// keepTold keeps the readings that came with a danger, for whoever takes the case.
func (t *turn) keepTold(m understand.Meaning) {
	if known := told(m.Readings); len(known) > 0 && !contradict(known) {
		t.record(known)
	}
}

// handOver opens a case for a person, or brings an open one of the same cause up to
// date. With hold the service waits until a person hands it back.
func (t *turn) handOver(cause string, severity safety.Severity, hold bool) {
	h := t.openCase(cause)
	if h == nil {
		t.c.Open = append(t.c.Open, Handover{
			ID: t.id(), Shop: t.w.shop.Key, Conversation: t.c.ID, Cause: cause, Opened: t.now,
		})
		h = &t.c.Open[len(t.c.Open)-1]
		h.Code = PageCode(h.ID)
	}
	worse := severity.Rank() > safety.Severity(h.Severity).Rank()
	if worse {
		h.Severity = string(severity)
	}
	h.Facts = t.facts()
	t.fx.Handovers = append(t.fx.Handovers, *h)
	t.page(h, worse)
	if hold && t.c.Hold == nil {
		t.c.Hold = &Hold{Handover: h.ID, Since: t.now}
	}
}

func (t *turn) openCase(cause string) *Handover {
	return t.openWhere(func(h Handover) bool { return h.Cause == cause })
}

// openWhere finds an open handover; nil where there is none.
func (t *turn) openWhere(is func(Handover) bool) *Handover {
	if i := slices.IndexFunc(t.c.Open, is); i >= 0 {
		return &t.c.Open[i]
	}
	return nil
}

// facts is what a person needs to know before they pick up the phone.
func (t *turn) facts() string {
	var parts []string
	tub := t.c.Tub
	if tub.VolumeUSGal > 0 {
		parts = append(parts, english.volume(tub.VolumeUSGal, false)+" tub")
	} else {
		parts = append(parts, "tub size not known")
	}
	if tub.Sanitizer != "" {
		parts = append(parts, tub.Sanitizer)
	}
	if s := t.c.Service; s != nil {
		parts = append(parts, fmt.Sprintf("%s at %s since %s", s.Flow, s.State, t.clock(s.Since)))
		p := t.physical()
		parts = append(parts, fmt.Sprintf("power %s, water %s, filters %s, flush product %s", p.Power, strings.ReplaceAll(p.Water, "_", " "), p.Filters, p.Product))
		for _, name := range sortedKeys(s.Added) {
			d := s.Added[name]
			parts = append(parts, fmt.Sprintf("added %s of %s at %s", d.Measure, d.Product, t.clock(d.At)))
		}
	}
	for _, q := range orderedMeasured(tub.Readings) {
		m := tub.Readings[q]
		parts = append(parts, english.reading(q, m.Value)+" at "+t.clock(m.At))
	}
	if t.ev.Kind == TextIn {
		parts = append(parts, fmt.Sprintf("they wrote %q", shorten(t.ev.Text, 120)))
	}
	return strings.Join(parts, "; ")
}

// shorten cuts a text at a rune, for display.
func shorten(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	return string(runes[:most]) + "..."
}

// undelivered opens a case for a message that could not be delivered.
func (t *turn) undelivered() {
	if t.ev.Failed.Class == ClassPage {
		t.pageFailed()
		return
	}
	severity := safety.PersonSoon
	if t.ev.Failed.Class == ClassSafety {
		severity = safety.Emergency
	}
	t.note("Could not deliver: " + shorten(t.ev.Failed.Text, 160))
	t.handOver("undelivered", severity, false)
}
