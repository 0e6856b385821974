package smpp_test

import (
	"bufio"
	"context"
	"encoding/hex"
	"io"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
)

// need skips a test where another's program is missing; in CI nothing is skipped.
func need(t *testing.T, hint string, missing error) {
	t.Helper()
	if missing != nil {
		if os.Getenv("TUBHAND_CI") != "" {
			t.Fatalf("%s: %v; CI must have it", hint, missing)
		}
		t.Skipf("lacks %s (%v)", hint, missing)
	}
}

// other is a message center that is not of our making.
type other struct {
	address string
	lines   chan string
}

func startOther(t *testing.T) *other {
	t.Helper()
	need(t, "the Perl module Net::SMPP: apt-get install libnet-smpp-perl", exec.Command("perl", "-MNet::SMPP", "-e", "1").Run())
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	t.Cleanup(cancel)
	command := exec.CommandContext(ctx, "perl", "../../../testdata/smpp/center.pl")
	out, err := command.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, command.Start())
	o := &other{lines: make(chan string, 100)}
	go func() {
		defer close(o.lines)
		for in := bufio.NewScanner(out); in.Scan(); {
			o.lines <- in.Text()
		}
	}()
	t.Cleanup(func() { _ = command.Wait() })
	port, ok := strings.CutPrefix(<-o.lines, "port ")
	require.True(t, ok)
	o.address = "127.0.0.1:" + port
	return o
}

// next is the next unit of a kind that it tells of, as fields.
func (o *other) next(t *testing.T, command string) map[string]string {
	t.Helper()
	for line := range o.lines {
		fields := map[string]string{}
		words := strings.Fields(line)
		for _, word := range words[1:] {
			name, value, _ := strings.Cut(word, "=")
			fields[name] = value
		}
		if words[0] == command {
			return fields
		}
		require.NotEqual(t, "generic_nack", words[0])
	}
	t.Fatalf("no %s came", command)
	return nil
}

// tapped is a connection that keeps what goes over it, by direction.
type tapped struct {
	net.Conn
	mu  sync.Mutex
	out []byte
	in  []byte
}

func (c *tapped) Write(p []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.out = append(c.out, p...)
	return c.Conn.Write(p)
}

func (c *tapped) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	c.mu.Lock()
	defer c.mu.Unlock()
	c.in = append(c.in, p[:n]...)
	return n, err
}

// TestAnotherMessageCenter speaks with an independent implementation over a socket: what we
// write it reads, what it writes we read.
func TestAnotherMessageCenter(t *testing.T) {
	o := startOther(t)
	conn, err := net.Dial("tcp", o.address)
	require.NoError(t, err)
	tap := &tapped{Conn: conn}
	r := &rig{t: t, store: memory.New(), events: map[string]int{}}
	changed := make(chan struct{}, 100)
	r.link = smpp.New(smpp.Config{
		Settings: smpp.Settings{Gateway: "link", SystemID: "tub", Password: "secret08", SystemType: "tubs", PerSecond: 1000},
		Shops:    []string{"fernhollow"}, Texts: noisy{r, changed}, Reports: noisy{r, changed}, Documents: r.store,
		Clock: clock.System(), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
		Random: func() float64 { return 0 }, Urgent: func(string) bool { return false },
		Dial: func(context.Context) (net.Conn, error) { return tap, nil },
	})
	end := run(r.link)
	bind := o.next(t, "bind_transceiver")
	require.Equal(t, "tub", bind["system_id"])
	require.Equal(t, "secret08", bind["password"])
	require.Equal(t, "tubs", bind["system_type"])
	o.next(t, "enquire_link_resp")

	ctx, done := context.WithTimeout(context.Background(), 30*time.Second)
	defer done()
	line := conversation.Line{ID: "a.1", From: "+" + shopLine, To: "+" + owner, Text: "3 1/2 cups [not more] é"}
	require.Equal(t, store.Sent, r.link.Send(ctx, "fernhollow", line).Kind)
	submit := o.next(t, "submit_sm")
	require.Equal(t, shopLine, submit["source_addr"])
	require.Equal(t, owner, submit["destination_addr"])
	require.Equal(t, hex.EncodeToString([]byte("3 1/2 cups \x1B\x3Cnot more\x1B\x3E \x05")), submit["short_message"])
	require.Equal(t, "1", submit["registered_delivery"])
	require.Len(t, submit["user_message_reference"], 4)

	line.ID, line.Text = "a.2", strings.Repeat("á", 100)
	require.Equal(t, store.Sent, r.link.Send(ctx, "fernhollow", line).Kind)
	first, second := o.next(t, "submit_sm"), o.next(t, "submit_sm")
	require.Equal(t, "64 8", first["esm_class"]+" "+first["data_coding"])
	require.Equal(t, "0201", first["short_message"][8:12])
	require.Equal(t, "0202"+strings.Repeat("00e1", 33), second["short_message"][8:])

	for len(r.said()) < 4 || len(r.reported()) < 3 {
		select {
		case <-changed:
		case <-ctx.Done():
			t.Fatal("not all came:", r.said(), r.reported())
		}
	}
	require.ElementsMatch(t, []string{"chlorine 3", "sí", "ph 7.2 and alkalinity 90", "a payload"}, r.said())
	require.Equal(t, "a.1 delivered", r.reported()[0])
	require.Equal(t, "a.2 delivered", r.reported()[2])
	end()
	o.next(t, "unbind")
	dissected(t, tap)
}

// noisy tells when something came.
type noisy struct {
	*rig
	changed chan struct{}
}

func (n noisy) Take(ctx context.Context, gateway string, t smpp.Text) error {
	defer func() { n.changed <- struct{}{} }()
	return n.rig.Take(ctx, gateway, t)
}

func (n noisy) Delivered(ctx context.Context, shop, line, state string) error {
	defer func() { n.changed <- struct{}{} }()
	return n.rig.Delivered(ctx, shop, line, state)
}

// dissected has an independent dissector read all that went over the line.
func dissected(t *testing.T, tap *tapped) {
	t.Helper()
	tap.mu.Lock()
	defer tap.mu.Unlock()
	rows := dissect(t, append(units(t, tap.out), units(t, tap.in)...), "smpp.command_id", "smpp.message_id")
	seen := map[string]int{}
	for _, row := range rows {
		seen[row[0]]++
	}
	require.Equal(t, 1, seen["0x00000009"], "bind_transceiver")
	require.Equal(t, 3, seen["0x00000004"], "submit_sm")
	require.Equal(t, 8, seen["0x80000005"], "deliver_sm_resp")
	require.Equal(t, 1, seen["0x00000006"], "unbind")
}

// units cuts a stream into units.
func units(t *testing.T, stream []byte) (all [][]byte) {
	t.Helper()
	for rest := stream; len(rest) > 0; {
		p, err := pdu.Read(strings.NewReader(string(rest)))
		require.NoError(t, err)
		raw, err := p.Bytes()
		require.NoError(t, err)
		size := int(rest[2])<<8 | int(rest[3])
		require.Equal(t, rest[:size], raw, "what the other side wrote is what we would write")
		all, rest = append(all, rest[:size]), rest[size:]
	}
	return all
}
