package email_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/tls"
	"encoding/base64"
	"errors"
	"log/slog"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-msgauth/dkim"
	"github.com/emersion/go-smtp"
	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/channel/email"
	"tubhand/internal/channel/email/ticket"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/dispatch"
	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
	"tubhand/templates"
)

const (
	anna = "anna@owner.example"
	ours = "hello@fernhollow.example"
	key  = "a key for these tests only"
)

var noon = time.Date(2026, 6, 13, 19, 0, 0, 0, time.UTC)

// fakeDNS answers from a table.
type fakeDNS struct {
	txt  map[string][]string
	down bool
}

func (d *fakeDNS) LookupTXT(_ context.Context, name string) ([]string, error) {
	name = strings.TrimSuffix(strings.ToLower(name), ".")
	if d.down {
		return nil, &net.DNSError{Err: "server failure", Name: name, IsTemporary: true}
	}
	if found, ok := d.txt[name]; ok {
		return found, nil
	}
	return nil, &net.DNSError{Err: "no such host", Name: name, IsNotFound: true}
}

func (d *fakeDNS) LookupMX(context.Context, string) ([]*net.MX, error) {
	return nil, errors.New("none")
}
func (d *fakeDNS) LookupIPAddr(context.Context, string) ([]net.IPAddr, error) {
	return nil, errors.New("none")
}
func (d *fakeDNS) LookupAddr(context.Context, string) ([]string, error) {
	return nil, errors.New("none")
}

// kit is a shop with a mailbox: the real turns over a store in memory.
type kit struct {
	t     *testing.T
	box   email.Box
	dns   *fakeDNS
	store *memory.Store
	clock *clock.Jumping
	turns *broken
	in    *email.Inbound
	seal  ed25519.PrivateKey // signs for owner.example
}

// loaded reads the flows and what is said once for all tests.
var loaded = sync.OnceValues(func() (*flow.Set, *wording.Set) {
	set, err := flow.Load(flows.FS)
	words, err2 := wording.Load(templates.FS)
	if err != nil || err2 != nil {
		return nil, nil
	}
	return set, words
})

func said(t *testing.T) (*flow.Set, *wording.Set) {
	t.Helper()
	set, words := loaded()
	require.NotNil(t, set)
	return set, words
}

// broken is a handler that can be made to fail.
type broken struct {
	email.Handler
	err error
}

func (b *broken) Handle(ctx context.Context, shop string, ev conversation.Event) error {
	if b.err != nil {
		return b.err
	}
	return b.Handler.Handle(ctx, shop, ev)
}

func demoBox() email.Box {
	s := shop.Demo().Shop
	s.Mail, s.Secret = ours, []byte(key)
	s.OnCall[1].Address = "luis@fernhollow.example"
	return email.Box{Shop: &s, Key: ticket.Key(key), Mail: &shop.Mail{Address: ours, Postal: "1 Mill Road, Fernhollow", Public: "https://tubs.fernhollow.example"}}
}

func newKit(t *testing.T, change ...func(*email.Box)) *kit {
	t.Helper()
	k := &kit{t: t, box: demoBox(), dns: &fakeDNS{txt: map[string][]string{}}, store: memory.New(), clock: clock.NewStill(noon)}
	for _, c := range change {
		c(&k.box)
	}
	set, words := said(t)
	world, err := conversation.NewWorld(*k.box.Shop, set, words)
	require.NoError(t, err)
	log := slog.New(slog.DiscardHandler)
	runner := turn.New(turn.Config{Store: k.store, Shops: map[string]turn.Decider{k.box.Shop.Key: world}, Clock: k.clock, Log: log})
	k.turns = &broken{Handler: turn.NewPagers(runner, k.store.View, []*conversation.Shop{k.box.Shop})}
	k.in, err = email.New(email.Config{
		Boxes: []email.Box{k.box}, Turns: k.turns, Reports: dispatch.Reports{Ledger: k.store, Turns: runner}, Records: k.store,
		DNS: k.dns, Clock: k.clock, Log: log, Pages: templates.Mail,
		Urgent: func(text string) bool {
			return understand.Understand(text, understand.Context{}).Severity == safety.Emergency
		},
	})
	require.NoError(t, err)
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	k.seal = private
	k.dns.txt["k._domainkey.owner.example"] = []string{"v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(public)}
	return k
}

// compose makes a message; header lines may be added, and take the place of the usual.
func compose(body string, header ...string) []byte {
	fields := []string{"From: Anna <" + anna + ">", "To: " + ours, "Subject: My tub", "Message-ID: <0@owner.example>"}
	for _, h := range header {
		name, _, _ := strings.Cut(h, ":")
		for i, f := range fields {
			if strings.HasPrefix(f, name+":") {
				fields[i] = ""
			}
		}
		fields = append(fields, h)
	}
	var b strings.Builder
	for _, f := range fields {
		if f != "" {
			b.WriteString(f + "\r\n")
		}
	}
	return []byte(b.String() + "\r\n" + body + "\r\n")
}

// sign signs for owner.example.
func (k *kit) sign(raw []byte) []byte {
	k.t.Helper()
	var b bytes.Buffer
	require.NoError(k.t, dkim.Sign(&b, bytes.NewReader(raw), &dkim.SignOptions{Domain: "owner.example", Selector: "k", Signer: k.seal}))
	return b.Bytes()
}

// serve runs the SMTP server on loopback and gives its address.
func (k *kit) serve() string { return k.serveWith(nil) }

func (k *kit) serveWith(encrypted *tls.Config) string {
	k.t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(k.t, err)
	s := k.in.SMTP("mx.fernhollow.example", encrypted)
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(l) }()
	k.t.Cleanup(func() {
		require.NoError(k.t, s.Shutdown(context.Background()))
		require.NoError(k.t, <-ended)
	})
	return l.Addr().String()
}

// bring hands a message over by SMTP.
func bring(t *testing.T, at string, raw []byte, to ...string) error {
	t.Helper()
	if len(to) == 0 {
		to = []string{ours}
	}
	c, err := smtp.Dial(at)
	require.NoError(t, err)
	defer c.Close()
	return c.SendMail(anna, to, bytes.NewReader(raw))
}

// heard is the transcript of an address.
func (k *kit) transcript(address string) []conversation.Line {
	k.t.Helper()
	c, err := k.store.Load(k.t.Context(), k.box.Shop.Key, address)
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	require.NoError(k.t, err)
	lines, err := k.store.View(k.t.Context(), k.box.Shop.Key).Transcript(c.ID, 100)
	require.NoError(k.t, err)
	return lines
}

// texts are the lines of a direction.
func texts(lines []conversation.Line, d conversation.Direction) []string {
	var out []string
	for _, l := range lines {
		if l.Direction == d {
			out = append(out, l.Text)
		}
	}
	return out
}

func (k *kit) router() *gin.Engine {
	gin.SetMode(gin.TestMode)
	r := gin.New()
	k.in.Mount(r)
	return r
}

func code(t *testing.T, err error) int {
	t.Helper()
	var e *smtp.SMTPError
	require.ErrorAs(t, err, &e)
	return e.Code
}
