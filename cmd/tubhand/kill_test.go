package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
)

// TestKill kills the whole server at random moments under load, starts it again on the
// same data, and in the end looks for everything that was acknowledged.
func TestKill(t *testing.T) {
	rounds := 50
	if testing.Short() {
		rounds = 8
	}
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	began := time.Now()
	far := newReceiver(t, seed)
	data := t.TempDir()
	p := &prey{t: t, store: []string{"--data", data}, shop: shopFile(t, far.url)}
	owners := newCrowd(t, p, 8, seed)
	for round := range rounds {
		p.start(time.Duration(round) * 7 * time.Minute)
		if round%5 == 4 { // each fifth dies while it starts
			<-time.After(time.Duration(chance.IntN(250)) * time.Millisecond)
		} else {
			p.listening()
			owners.more(int64(chance.IntN(60)))
			<-time.After(time.Duration(chance.IntN(10_000)) * time.Microsecond)
		}
		p.kill()
	}
	p.start(time.Duration(rounds) * 7 * time.Minute)
	p.listening()
	owners.finish()
	p.settle()
	p.end()
	t.Logf("%d kills in %v: %d texts acknowledged, %d sent again; %d messages taken by the gateway",
		rounds, time.Since(began).Round(time.Second), owners.acknowledged.Load(), owners.repeated.Load(), len(far.got))

	s, err := sqlite.Open(filepath.Join(data, "tubhand.db"), sqlite.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	v := verdict{t: t, view: s.View(t.Context(), "fernhollow")}
	v.everyTextOnce(owners)
	v.everyMessageInOrder(far.got)
	v.everyReminderOnce()
}

// prey is the server that is killed.
type prey struct {
	t     *testing.T
	store []string // flags that name its store
	shop  string
	log   io.Writer // what it logs goes there; nil: to this test's
	cmd   *exec.Cmd
	heard chan string            // its address, once it listens
	url   atomic.Pointer[string] // where it listens, or listened last
}

// start starts a server whose clock is ahead by this much.
func (p *prey) start(ahead time.Duration) {
	p.cmd = exec.Command(os.Args[0], append([]string{"--shop", p.shop, "--listen", "127.0.0.1:0"}, p.store...)...)
	p.cmd.Env = append(os.Environ(), asVictim+"="+ahead.String())
	p.cmd.Stderr = os.Stderr
	if p.log != nil {
		p.cmd.Stderr = p.log
	}
	out, err := p.cmd.StdoutPipe()
	require.NoError(p.t, err)
	require.NoError(p.t, p.cmd.Start())
	heard := make(chan string, 1)
	p.heard = heard
	go func() {
		said, _ := bufio.NewReader(out).ReadString('\n')
		at, _ := strings.CutPrefix(strings.TrimSpace(said), "listening on ")
		if at != "" {
			p.url.Store(&at)
		}
		heard <- at
	}()
}

func (p *prey) listening() {
	p.t.Helper()
	select {
	case at := <-p.heard:
		require.NotEmpty(p.t, at, "the server did not start")
	case <-time.After(30 * time.Second):
		p.t.Fatal("the server did not listen")
	}
}

func (p *prey) kill() {
	p.t.Helper()
	require.NoError(p.t, p.cmd.Process.Kill())
	err := p.cmd.Wait()
	var exit *exec.ExitError
	require.True(p.t, errors.As(err, &exit), "it ended by itself: %v", err)
	require.Equal(p.t, syscall.SIGKILL, exit.Sys().(syscall.WaitStatus).Signal(), "it ended by itself: %v", err)
}

// end lets the server come to its end by itself.
func (p *prey) end() {
	p.t.Helper()
	require.NoError(p.t, p.cmd.Process.Signal(syscall.SIGTERM))
	require.NoError(p.t, p.cmd.Wait())
}

// settle waits until nothing is left to send.
func (p *prey) settle() {
	p.t.Helper()
	for deadline := time.Now().Add(60 * time.Second); ; {
		_, metrics := (&served{url: *p.url.Load()}).get(p.t, "/metrics")
		if strings.Contains(metrics, `tubhand_outbox_waiting{shop="fernhollow"} 0`) {
			return
		}
		require.True(p.t, time.Now().Before(deadline), "messages were left unsent")
		<-time.After(50 * time.Millisecond)
	}
}

// crowd is owners who text, each one text after the other, and a gateway that repeats
// each until it is acknowledged.
type crowd struct {
	prey                   *prey
	sent                   [][]string // by owner: acknowledged texts, in order
	acknowledged, repeated atomic.Int64
	through                atomic.Int64 // owners who are done with the script
	quit                   chan struct{}
	all                    sync.WaitGroup
}

// script is what an owner texts to get to the soak; then they chat.
var script = []string{"hi, need to flush my pipes", "375 gallons", "chlorine", "yes", "yes", "yes", "pump", "sewer", "no",
	"cl 3 ph 7.4 alk 100", "done", "done"}

func number(owner int) string { return fmt.Sprintf("+1541555%04d", 120+owner) }

func newCrowd(t *testing.T, p *prey, owners int, seed uint64) *crowd {
	c := &crowd{prey: p, sent: make([][]string, owners), quit: make(chan struct{})}
	client := &http.Client{Timeout: 5 * time.Second}
	for i := range owners {
		chance := rand.New(rand.NewPCG(seed, uint64(i)+100))
		c.all.Go(func() {
			for n := 0; ; n++ {
				text := fmt.Sprintf("note %d: how long is left?", n)
				if n < len(script) {
					text = script[n]
				}
				if !c.deliver(client, i, n, text) {
					return
				}
				c.sent[i] = append(c.sent[i], text)
				c.acknowledged.Add(1)
				if n == len(script) {
					c.through.Add(1)
				}
				<-time.After(time.Duration(chance.IntN(20)) * time.Millisecond)
			}
		})
	}
	t.Cleanup(c.stop)
	return c
}

// deliver posts a text until it is acknowledged; false when the crowd is told to stop
// before it was tried at all.
func (c *crowd) deliver(client *http.Client, owner, n int, text string) bool {
	form := url.Values{"from": {number(owner)}, "to": {"+15415550100"}, "body": {text}, "id": {fmt.Sprintf("%d-%d", owner, n)}}
	for try := 0; ; try++ {
		if try == 0 {
			select {
			case <-c.quit:
				return false
			default:
			}
		}
		if at := c.prey.url.Load(); at != nil {
			resp, err := client.PostForm(*at+"/in/sms/plain", form)
			if err == nil {
				resp.Body.Close()
				if resp.StatusCode == 204 {
					return true
				}
			}
			c.repeated.Add(1)
		}
		<-time.After(20 * time.Millisecond)
	}
}

// more waits until n more texts were acknowledged, or a second has gone by.
func (c *crowd) more(n int64) {
	tick := time.NewTicker(time.Millisecond)
	defer tick.Stop()
	end := time.Now().Add(time.Second)
	for n += c.acknowledged.Load(); c.acknowledged.Load() < n && time.Now().Before(end); {
		<-tick.C
	}
}

// finish lets every owner get through the questions and then stops.
func (c *crowd) finish() {
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(time.Minute); c.through.Load() < int64(len(c.sent)) && time.Now().Before(end); {
		<-tick.C
	}
	c.stop()
}

func (c *crowd) stop() {
	select {
	case <-c.quit:
	default:
		close(c.quit)
	}
	c.all.Wait()
}

// verdict looks at what is left.
type verdict struct {
	t    *testing.T
	view store.View
}

// conversations gives each conversation's transcript, by id.
func (v verdict) conversations() map[string][]conversation.Line {
	v.t.Helper()
	cards, err := v.view.Board(500)
	require.NoError(v.t, err)
	out := map[string][]conversation.Line{}
	for _, c := range cards {
		lines, err := v.view.Transcript(c.State.ID, 1<<20)
		require.NoError(v.t, err)
		out[c.State.ID] = lines
	}
	return out
}

// everyTextOnce: what was acknowledged is there, once, in order, and nothing else.
func (v verdict) everyTextOnce(c *crowd) {
	v.t.Helper()
	all := v.conversations()
	require.Len(v.t, all, len(c.sent))
	for i, sent := range c.sent {
		var kept []string
		for _, l := range all[number(i)] {
			if l.Direction == conversation.In {
				kept = append(kept, l.Text)
			}
		}
		require.Equal(v.t, sent, kept, "texts of owner %d", i)
		require.Greater(v.t, len(sent), len(script), "owner %d got through the questions", i)
	}
}

// everyMessageInOrder: each message that was decided was taken by the gateway, under
// one key, with the text that was decided, and none before an earlier one.
func (v verdict) everyMessageInOrder(got []outbound) {
	v.t.Helper()
	taken := map[string][]outbound{} // by conversation and recipient
	for _, m := range got {
		id, ok := strings.CutPrefix(m.Key, "fernhollow/")
		require.True(v.t, ok, m.Key)
		conv := id[:strings.LastIndexByte(id, '.')] + " to " + m.To
		if seen := taken[conv]; len(seen) > 0 && seen[len(seen)-1].Key == m.Key {
			require.Equal(v.t, seen[len(seen)-1], m, "a repeat is the same message")
			continue // only the last one may be repeated
		}
		taken[conv] = append(taken[conv], m)
	}
	for id, lines := range v.conversations() {
		decided := map[string][]outbound{}
		for _, l := range lines {
			if queue := id + " to " + l.To; l.Send {
				decided[queue] = append(decided[queue], outbound{l.From, l.To, l.Text, "fernhollow/" + l.ID})
				require.Equal(v.t, "sent", l.Delivery, l.ID)
			}
		}
		for queue, messages := range decided {
			require.Equal(v.t, messages, taken[queue], "messages of %s", queue)
		}
	}
}

// everyReminderOnce: each reminder that was set was fired once, or dropped, or is still
// to come.
func (v verdict) everyReminderOnce() {
	v.t.Helper()
	fired := 0
	for id, lines := range v.conversations() {
		fate := map[string]string{}
		for _, l := range lines {
			for word := range strings.SplitSeq(l.Text, "\n") {
				fired += v.follow(fate, word)
			}
		}
		pending, err := v.view.Reminders(id)
		require.NoError(v.t, err)
		for _, r := range pending {
			require.Equal(v.t, "set", fate[r.ID], "%s is still to come", r.ID)
			delete(fate, r.ID)
		}
		for r, f := range fate {
			require.NotEqual(v.t, "set", f, "reminder %s is gone and never fired", r)
		}
	}
	require.Greater(v.t, fired, 5, "reminders were fired at all")
	v.t.Logf("%d reminders fired", fired)
}

// follow notes one word of the witness and tells how many reminders it fired.
func (v verdict) follow(fate map[string]string, word string) int {
	v.t.Helper()
	if id, ok := strings.CutPrefix(word, sawSet); ok {
		require.Empty(v.t, fate[id], "%s is set once", id)
		fate[id] = "set"
	}
	if id, ok := strings.CutPrefix(word, sawDrop); ok {
		require.Equal(v.t, "set", fate[id], "%s is dropped once", id)
		fate[id] = "dropped"
	}
	if id, ok := strings.CutPrefix(word, sawLate); ok {
		require.Equal(v.t, "dropped", fate[id], "%s did nothing", id)
	} else if id, ok := strings.CutPrefix(word, sawFiring); ok {
		require.Equal(v.t, "set", fate[id], "%s is fired once", id)
		fate[id] = "fired"
		return 1
	}
	return 0
}
