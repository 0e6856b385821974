package conversation

import (
	"slices"
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
	t.says, t.urgent = append(t.says, text), true
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
	if cause == string(safety.InfectionSymptoms) {
		t.c.Tub.Ill = t.now
	}
	h := t.openCase(cause)
	if h == nil {
		t.c.Open = append(t.c.Open, Handover{
			ID: t.id(), Shop: t.w.shop.Key, Conversation: t.c.ID, Cause: cause, Opened: t.now,
		})
		h = &t.c.Open[len(t.c.Open)-1]
		h.Code = PageCode(h.ID)
		t.opened = t.opened || severity != safety.Emergency
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
	why := "the channel gave no reason"
	if t.ev.Remark != "" {
		why = shorten(t.ev.Remark, 160)
	}
	t.note("Could not deliver (" + why + "): " + shorten(t.ev.Failed.Text, 160))
	t.handOver("undelivered", severity, false)
}
