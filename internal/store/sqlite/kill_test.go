package sqlite_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

// childPath is the environment variable that makes this test program the one that is
// killed: it serves from the named file until then.
const childPath = "TUBHAND_STORE_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childPath); path != "" {
		if err := runChild(path); err != nil {
			fmt.Fprintln(os.Stderr, "child:", err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// TestKill kills a process in the middle of its work, many times over on one file, and
// looks each time whether all that it had acknowledged is there, once and in order.
func TestKill(t *testing.T) {
	const rounds = 50
	began := time.Now()
	path := filepath.Join(t.TempDir(), "tubhand.db")
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	told := newTold()
	for round := range rounds {
		acks := chance.IntN(250)
		killChild(t, path, told, acks)
		s, err := sqlite.Open(path, sqlite.Options{})
		require.NoError(t, err, "after kill %d", round+1)
		require.NoError(t, s.Check(t.Context()), "after kill %d", round+1)
		told.compare(t, s)
		require.NoError(t, s.Close())
	}
	t.Logf("%d kills in %v: %d turns acknowledged, %d more were found written; %d messages given out, %d more than once; %d reminders fired",
		rounds, time.Since(began).Round(time.Millisecond), told.acknowledged, told.unasked, len(told.sends), told.repeats, told.fired)
	require.Greater(t, told.acknowledged, rounds*10)
	require.Greater(t, told.fired, rounds)
	require.Greater(t, len(told.sends), rounds)
}

// killChild runs a child until it has told of so many things, and kills it.
func killChild(t *testing.T, path string, told *told, acks int) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childPath+"="+path)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	defer func() { _ = cmd.Wait() }() // it was killed: its exit code says only that
	lines := bufio.NewScanner(out)
	for n := 0; lines.Scan(); n++ {
		told.hear(lines.Text())
		if n == acks {
			require.NoError(t, cmd.Process.Kill())
		}
	}
	require.NoError(t, lines.Err())
}

// told is what children said they had done.
type told struct {
	version      map[string]int64 // acknowledged, by tub
	seen         map[string]*seen // found in the file so far, by tub
	sends        []string         // lines given to the gateway, in order
	settled      map[string]bool
	acknowledged int
	unasked      int
	repeats      int
	fired        int
}

// seen is what was found of a tub in the rounds before.
type seen struct {
	turns   int64
	pending map[string]bool
	fired   map[string]bool
}

func newTold() *told {
	return &told{version: make(map[string]int64), seen: make(map[string]*seen), settled: make(map[string]bool)}
}

func (d *told) hear(line string) {
	var what, a string
	var n int64
	if _, err := fmt.Sscan(line, &what, &a, &n); err != nil {
		return // the last line, cut short
	}
	switch what {
	case "turn":
		d.version[a] = max(d.version[a], n)
		d.acknowledged++
	case "send":
		d.sends = append(d.sends, a)
	case "settled":
		d.settled[a] = true
	}
}

// compare looks at what the children have written since the last time.
func (d *told) compare(t *testing.T, s store.Store) {
	t.Helper()
	d.fired = 0
	for _, tub := range slices.Sorted(maps.Keys(d.version)) {
		c, err := s.Load(t.Context(), killShop, tub)
		require.NoError(t, err)
		require.GreaterOrEqual(t, c.Version, d.version[tub], "an acknowledged turn is gone")
		require.LessOrEqual(t, c.Version, d.version[tub]+2, "two may have been on their way")
		require.Equal(t, c.Version, int64(c.Misses), "the state is of its version")
		d.unasked += int(c.Version - d.version[tub])
		d.version[tub] = c.Version
		if d.seen[tub] == nil {
			d.seen[tub] = &seen{pending: make(map[string]bool), fired: make(map[string]bool)}
		}
		d.seen[tub].compare(t, s, c)
		d.fired += len(d.seen[tub].fired)
	}
	d.compareSends(t, s)
}

// compare looks at one conversation.
func (d *seen) compare(t *testing.T, s store.Store, c conversation.Conversation) {
	t.Helper()
	v := s.View(t.Context(), killShop)
	lines, err := v.Transcript(c.ID, 2*int(c.Version-d.turns))
	require.NoError(t, err)
	require.Len(t, lines, 2*int(c.Version-d.turns), "each turn has two lines")
	for ; len(lines) > 0; lines = lines[2:] {
		d.turns++
		require.Equal(t, fmt.Sprint("answer ", d.turns), lines[1].Text, "in order, each once")
		var event, set string
		_, err := fmt.Sscan(lines[0].Text, &event, &set)
		require.NoError(t, err)
		require.False(t, d.fired[event], "fired twice")
		if d.pending[event] {
			delete(d.pending, event)
			d.fired[event] = true
		}
		d.pending[set] = true
		if len(lines) <= 4 {
			require.ErrorIs(t, s.Commit(t.Context(), killTurn(c, event)), store.ErrDuplicate, "the mark of %s", event)
		}
	}
	list, err := v.Reminders(c.ID)
	require.NoError(t, err)
	require.Len(t, list, len(d.pending), "reminders lost or left behind")
	for _, r := range list {
		require.True(t, d.pending[r.ID], "reminder %s was fired and is still pending", r.ID)
	}
}

// compareSends looks whether messages went out in order, and again only when nobody had
// learnt that they were sent.
func (d *told) compareSends(t *testing.T, s store.Store) {
	t.Helper()
	last := make(map[string]int64)
	d.repeats = 0
	for _, id := range d.sends {
		tub, number, _ := strings.Cut(id, ".")
		var n int64
		_, err := fmt.Sscan(number, &n)
		require.NoError(t, err)
		if n == last[tub] {
			d.repeats++
			continue
		}
		require.Equal(t, last[tub]+1, n, "%s was given out after %d", id, last[tub])
		last[tub] = n
	}
	for tub, n := range last {
		lines, err := s.View(t.Context(), killShop).Transcript(tub, 2*int(d.version[tub]-n)+4)
		require.NoError(t, err)
		for _, l := range lines {
			require.False(t, d.settled[l.ID] && l.Delivery != "sent", "%s was settled and is %s", l.ID, l.Delivery)
			var number int64
			if _, err := fmt.Sscanf(l.Text, "answer %d", &number); err == nil && number > n {
				require.Equal(t, "queued", l.Delivery, "nobody has sent it")
			}
		}
	}
}

const killShop = "fernhollow"

// runChild serves until it is killed: six tubs that text, one sender, one that fires
// reminders. It tells what it has done on standard output.
func runChild(path string) error {
	s, err := sqlite.Open(path, sqlite.Options{})
	if err != nil {
		return err
	}
	ctx := context.Background()
	fail := make(chan error)
	for i := range 6 {
		go func() { fail <- childTub(ctx, s, fmt.Sprintf("tub%d", i)) }()
	}
	go func() { fail <- childSender(ctx, s) }()
	go func() { fail <- childClock(ctx, s) }()
	return <-fail
}

var killNow = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

// killTurn is the next turn of a tub: it numbers the state and its answer, and tells in
// the transcript what the event was and which reminder it set.
func killTurn(c conversation.Conversation, event string) store.Turn {
	v := c.Version + 1
	c.Misses = int(v)
	set := fmt.Sprintf("%s.r%d", c.ID, v)
	return store.Turn{
		Shop: killShop, Event: event, Now: killNow, State: c,
		Effects: conversation.Effects{
			Lines: []conversation.Line{
				{ID: fmt.Sprintf("%s.in%d", c.ID, v), Direction: conversation.In, Text: event + " " + set},
				{ID: fmt.Sprintf("%s.%d", c.ID, v), Direction: conversation.Out, Send: true, Text: fmt.Sprint("answer ", v)},
			},
			Remind: []conversation.Reminder{{ID: set, Due: killNow}},
		},
	}
}

// childTurn reads, decides and commits until the turn is taken or known.
func childTurn(ctx context.Context, s store.Store, tub string, event func(c conversation.Conversation) string) error {
	for {
		c, err := s.Load(ctx, killShop, tub)
		if errors.Is(err, store.ErrNotFound) {
			c, err = storetest.State(killShop, tub), nil
		}
		if err != nil {
			return err
		}
		switch err := s.Commit(ctx, killTurn(c, event(c))); {
		case errors.Is(err, store.ErrConflict):
			continue
		case errors.Is(err, store.ErrDuplicate):
			return nil
		case err != nil:
			return err
		}
		fmt.Println("turn", tub, c.Version+1)
		return nil
	}
}

func childTub(ctx context.Context, s store.Store, tub string) error {
	for {
		err := childTurn(ctx, s, tub, func(c conversation.Conversation) string { return fmt.Sprintf("%s.text%d", tub, c.Version+1) })
		if err != nil {
			return err
		}
	}
}

func childSender(ctx context.Context, s store.Store) error {
	for {
		out, err := s.ClaimOutbox(ctx, killNow, time.Minute, 20)
		if err != nil {
			return err
		}
		var results []store.Result
		for _, o := range out {
			fmt.Println("send", o.Line.ID, o.Attempt)
			results = append(results, store.Result{Shop: o.Shop, Line: o.Line.ID, Kind: store.Sent})
		}
		if err := s.SettleOutbox(ctx, results); err != nil {
			return err
		}
		for _, r := range results {
			fmt.Println("settled", r.Line, 0)
		}
	}
}

func childClock(ctx context.Context, s store.Store) error {
	for {
		due, err := s.ClaimDue(ctx, killNow, time.Minute, 3)
		if err != nil {
			return err
		}
		for _, d := range due {
			err := childTurn(ctx, s, d.Reminder.Conversation, func(conversation.Conversation) string { return d.Reminder.ID })
			if err != nil {
				return err
			}
		}
	}
}
