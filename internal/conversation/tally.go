package conversation

import (
	"math"
	"time"

	"tubhand/internal/understand"
)

// Tally counts something for reports. It names nobody: what was counted stays when a
// conversation is erased. All of a turn are of one day.
type Tally struct {
	Day  string `json:"day"`  // of the shop's clock: 2026-06-13
	Kind string `json:"kind"` // one of those below
	Key  string `json:"key"`  // what the kind says
	N    int64  `json:"n"`    // how many
	Sum  int64  `json:"sum"`  // in all, in the unit that the kind says; 0 where it has none
}

// The kinds of tallies.
const (
	TallyStarted       = "service_started"  // key: the flow
	TallyFinished      = "service_finished" // key: flow/end state
	TallyLeft          = "service_left"     // ended before an end: key: flow/state it was in
	TallyHandover      = "handover_opened"  // key: the cause
	TallyFirstResponse = "first_response"   // a case taken by a person for the first time; key: severity; sum: seconds since it was opened
	TallyClosed        = "handover_closed"  // key: the cause; sum: seconds since it was opened
	TallyProduct       = "product_used"     // key: the product; sum: quarters of a level teaspoon, 0 where the amount is not known in spoons
	TallyReading       = "reading"          // key: the quantity
	TallyOutOfBand     = "reading_out"      // outside the shop's band for soaking; key: quantity/low or quantity/high
)

// count tells what of this turn belongs into reports, by comparing where it began with what
// it leaves. A turn that has nothing to tell costs a few comparisons.
func (t *turn) count(before *Conversation) {
	t.countService(before.Service)
	for i := range t.fx.Handovers {
		if h := &t.fx.Handovers[i]; t.lastOf(i) {
			t.countCase(h, before.Open)
		}
	}
	for i := range t.fx.Log {
		t.countLogged(&t.fx.Log[i])
	}
}

func (t *turn) tally(kind, key string, sum int64) {
	day := t.now.In(t.w.home).Format(time.DateOnly)
	for i := range t.fx.Tally {
		if same := &t.fx.Tally[i]; same.Kind == kind && same.Key == key {
			same.N, same.Sum = same.N+1, same.Sum+sum
			return
		}
	}
	t.fx.Tally = append(t.fx.Tally, Tally{Day: day, Kind: kind, Key: key, N: 1, Sum: sum})
}

// outer is a service's own flow and state, whatever trouble interrupts it.
func (s *Service) outer() (flow, state string) {
	if s.Caller != nil {
		return s.Caller.Flow, s.Caller.State
	}
	return s.Flow, s.State
}

// countService tells of a service that began and one that ended. A trouble that is told with
// nothing running is one, too.
func (t *turn) countService(was *Service) {
	is := t.c.Service
	if was == is || was != nil && is != nil && was.ID == is.ID {
		return
	}
	if was != nil {
		name, state := was.outer()
		if end := t.reachedEnd(name); end != "" {
			t.tally(TallyFinished, name+"/"+end, 0)
		} else {
			t.tally(TallyLeft, name+"/"+state, 0)
		}
	}
	if is != nil {
		name, _ := is.outer()
		t.tally(TallyStarted, name, 0)
	}
}

// reachedEnd is the end of a flow that this turn came to; "" where it did not.
func (t *turn) reachedEnd(name string) string {
	f, ok := t.w.flows.Flow(name)
	if !ok {
		return ""
	}
	for i := len(t.fx.Log) - 1; i >= 0; i-- {
		if e := &t.fx.Log[i]; e.Kind == "state" && e.Text == name {
			if s, ok := f.State(e.Name); ok && s.End {
				return s.Name
			}
		}
	}
	return ""
}

// lastOf tells whether no later effect of the turn has the same case.
func (t *turn) lastOf(i int) bool {
	for _, later := range t.fx.Handovers[i+1:] {
		if later.ID == t.fx.Handovers[i].ID {
			return false
		}
	}
	return true
}

func (t *turn) countCase(h *Handover, open []Handover) {
	claimed, known := false, false
	for i := range open {
		if open[i].ID == h.ID {
			claimed, known = !open[i].Claimed.IsZero(), true
		}
	}
	if !known {
		t.tally(TallyHandover, h.Cause, 0)
	}
	if !claimed && !h.Claimed.IsZero() {
		t.tally(TallyFirstResponse, h.Severity, seconds(h.Claimed.Sub(h.Opened)))
	}
	if !h.Closed.IsZero() {
		t.tally(TallyClosed, h.Cause, seconds(h.Closed.Sub(h.Opened)))
	}
}

func seconds(d time.Duration) int64 { return int64(max(d, 0) / time.Second) }

func (t *turn) countLogged(e *LogEntry) {
	switch {
	case e.Kind == "added" && e.Dose != nil:
		t.tally(TallyProduct, e.Dose.Product, int64(math.Round(4*t.spoonsOf(e.Dose))))
	case e.Kind == "reading":
		t.tally(TallyReading, e.Name, 0)
		limit, ok := t.w.limits.Of(e.Name)
		measured, there := t.c.Tub.Readings[understand.Quantity(e.Name)]
		if !ok || !there {
			return
		}
		switch low, high := bounds(measured.Value); {
		case high < limit.Soak.Low:
			t.tally(TallyOutOfBand, e.Name+"/low", 0)
		case low > limit.Soak.High:
			t.tally(TallyOutOfBand, e.Name+"/high", 0)
		}
	}
}
