package console

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/clock"
	"tubhand/internal/staff"
	"tubhand/internal/store"
)

// slowest is how long one write to a live connection may take before it is given up.
const slowest = 10 * time.Second

// live tells a browser which conversations change, until either side ends it. The
// browser reads the page again by itself. Events: "change" with a conversation's id
// (empty: anything may have changed) and "beat" with the time, so that silence means
// that the connection is gone.
func (s *site) live(g *gin.Context) {
	select {
	case s.slots <- struct{}{}:
		defer func() { <-s.slots }()
	default:
		g.Header("Retry-After", "30")
		s.problem(g, http.StatusServiceUnavailable, "Too many pages are open at once. Close one and reload.")
		return
	}
	ctx, cancel := context.WithCancel(g.Request.Context())
	defer cancel()
	changes := s.Store.Watch(ctx, s.Shop.Key)
	h := g.Writer.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // a proxy in front must not collect events
	g.Status(http.StatusOK)
	at := s.sit(g)
	defer s.stand(at)
	s.stream(ctx, &eventWriter{g.Writer, http.NewResponseController(g.Writer)}, changes, at, func() bool { return s.stillIn(ctx, s.token(g)) })
}

// stillIn tells whether a session goes on: a live connection ends with it, at a beat.
func (s *site) stillIn(ctx context.Context, token string) bool {
	if s.Desk == nil {
		return true
	}
	_, err := s.Desk.Session(ctx, token)
	return !errors.Is(err, staff.ErrNobody)
}

// stream writes events until the browser, the console, the store or the end of the
// session ends it.
func (s *site) stream(ctx context.Context, out *eventWriter, changes <-chan store.Change, at *seat, in func() bool) {
	beat := time.NewTicker(s.Beat)
	defer beat.Stop()
	var moved <-chan struct{}
	if at != nil {
		moved = at.changed
	}
	err := out.write("retry: 2000\n\n")
	if err == nil {
		err = s.beat(ctx, out, at)
	}
	for err == nil {
		select {
		case <-ctx.Done():
			return
		case <-s.closed:
			return
		case change, ok := <-changes:
			if !ok {
				return
			}
			err = out.write(fmt.Sprintf("event: change\ndata: %q\n\n", change.Conversation))
		case <-moved:
			err = s.company(ctx, out, at)
		case <-beat.C:
			if !in() {
				return
			}
			err = s.beat(ctx, out, at)
		}
	}
}

// beat says that the connection lives, and who else has the conversation open.
func (s *site) beat(ctx context.Context, out *eventWriter, at *seat) error {
	if err := out.write("event: beat\ndata: " + s.Clock.Now().UTC().Format(time.RFC3339) + "\n\n"); err != nil {
		return err
	}
	if at == nil {
		return nil
	}
	s.keepSeat(ctx, at)
	return s.company(ctx, out, at)
}

// eventWriter writes server-sent events and flushes each.
type eventWriter struct {
	w       http.ResponseWriter
	control *http.ResponseController
}

func (e *eventWriter) write(text string) error {
	// The server's own write timeout would end every stream; each write has its own.
	// A writer that knows no deadlines, as in some tests, works without.
	_ = e.control.SetWriteDeadline(clock.System().Now().Add(slowest))
	if _, err := e.w.Write([]byte(text)); err != nil {
		return err
	}
	return e.control.Flush()
}
