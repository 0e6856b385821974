package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"reflect"
	"strings"
	"syscall"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/turn"
)

// asVictim is the environment variable that makes the test binary a server to be
// killed. It holds how far its clock is ahead: each one that is started stands for a
// server that comes back minutes later, so that reminders of earlier ones are due.
const asVictim = "TUBHAND_TEST_VICTIM"

// victim is the real server, with its clock ahead and a witness beside each decision.
func victim() int {
	ctx, release := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer release()
	signal.Ignore(syscall.Signal(25)) // SIGXFSZ, which a full disk does not send, but the limit on files that stands for one
	ahead, err := time.ParseDuration(os.Getenv(asVictim))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 2
	}
	s := streams{os.Stdin, os.Stdout, os.Stderr, func(string) string { return "warn" }}
	o, code := parseServe(os.Args[1:], s)
	if code >= 0 {
		return code
	}
	o.clock = clock.NewJumping(time.Now().Add(ahead))
	o.around = func(d turn.Decider) turn.Decider { return witness{d} }
	return serveShops(ctx, o, s)
}

// witness writes down, in the same turn, which reminders it set, dropped and fired. What
// is in the transcript then is what was committed.
type witness struct{ turn.Decider }

// The words of a witness, before the reminder's id.
const (
	sawSet    = "witness: set "
	sawDrop   = "witness: dropped "
	sawFiring = "witness: fired "
	sawLate   = "witness: fired in vain " // it was dropped while it was on its way, and did nothing
)

func (w witness) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	next, fx := w.Decider.Decide(c, ev, now)
	var words []string
	if ev.Kind == conversation.ReminderDue {
		word := sawFiring
		if reflect.DeepEqual(fx, conversation.Effects{}) {
			word = sawLate
		}
		words = append(words, word+ev.Reminder.ID)
	}
	for _, id := range fx.Cancel {
		words = append(words, sawDrop+id)
	}
	for _, r := range fx.Remind {
		words = append(words, sawSet+r.ID)
	}
	if len(words) > 0 {
		fx.Lines = append(fx.Lines, conversation.Line{ID: fmt.Sprintf("%s.w%d", c.ID, c.Version), Conversation: c.ID,
			At: now, Direction: conversation.Note, Text: strings.Join(words, "\n")})
	}
	return next, fx
}
