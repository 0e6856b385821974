package smpp

import (
	"context"
	"errors"
	"time"

	"tubhand/internal/channel/smpp/pdu"
)

// grace is how long an ending link waits for texts in hand.
const grace = 5 * time.Second

// Run keeps the link up until ctx ends, then unbinds. It returns when all is still.
func (l *Link) Run(ctx context.Context) {
	sweeping := make(chan struct{})
	go func() {
		defer close(sweeping)
		l.sweepParts(ctx)
	}()
	defer func() { <-sweeping }()
	for failures := 0; ctx.Err() == nil; {
		began := l.config.Clock.Now()
		least, err := l.once(ctx)
		if ctx.Err() != nil {
			return
		}
		if l.config.Clock.Now().Sub(began) > longestRest {
			failures = 0
		}
		rest := max(least, l.rest(failures))
		failures++
		l.config.Log.Warn("the link to the message center is down", "gateway", l.config.Settings.Gateway, "error", err, "again_in", rest.String())
		again := time.NewTimer(rest)
		select {
		case <-ctx.Done():
			again.Stop()
		case <-again.C:
		}
	}
}

// rest is how long to wait after so many failures in a row: doubled each time up to a
// cap, spread over its upper half so that servers do not come back together.
func (l *Link) rest(failures int) time.Duration {
	d := longestRest
	if failures < 6 {
		d = min(firstRest<<failures, longestRest)
	}
	return d/2 + time.Duration(l.config.Random()*float64(d/2))
}

// once connects, binds and serves until the session or ctx ends. Least is how long to
// stay away.
func (l *Link) once(ctx context.Context) (least time.Duration, err error) {
	conn, err := l.config.Dial(ctx)
	if err != nil {
		return 0, err
	}
	s := newSession(l, conn)
	defer s.lanes.close(context.Background())
	defer s.end(errGone)
	// Not bound yet, there is nothing to take leave of.
	bound := context.AfterFunc(ctx, func() { s.end(context.Canceled) })
	defer bound()
	go s.listen()
	switch status, err := s.bind(); {
	case err != nil:
		return 0, errors.Join(err, s.why())
	case status == pdu.BindFailed || status == pdu.InvalidPassword || status == pdu.InvalidSystemID:
		l.config.Log.Error("the message center refuses system_id or password; see to the shop file", "gateway", l.config.Settings.Gateway, "status", status.String())
		return refusedRest, &refusedBind{status}
	case status != pdu.OK:
		return 0, &refusedBind{status}
	}
	bound()
	l.state.set(s, l.config.Clock.Now())
	l.config.Observe("bound")
	l.config.Log.Info("bound to the message center", "gateway", l.config.Settings.Gateway)
	defer l.state.set(nil, time.Time{})
	go s.keepAlive()
	select {
	case <-s.gone:
		l.config.Observe("lost")
		return 0, s.why()
	case <-ctx.Done():
	}
	l.state.set(nil, time.Time{}) // nothing more is begun on it
	leaving, done := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer done()
	s.leave(leaving)
	return 0, ctx.Err()
}

// refusedBind is a bind that was answered with a status.
type refusedBind struct{ status pdu.Status }

// Error implements error.
func (e *refusedBind) Error() string { return "the bind was refused: " + e.status.String() }
