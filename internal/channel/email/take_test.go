package email_test

import (
	"fmt"
	"net/netip"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

type boxOf = email.Box

func trusted(network string) shop.Trust {
	return shop.Trust{ID: "mx.fernhollow.example", From: []netip.Prefix{netip.MustParsePrefix(network)}}
}

// RFC 3834, 2: none of these is answered, whoever vouches for it.
func TestMachinesAreNeverAnswered(t *testing.T) {
	for name, header := range map[string]string{
		"vacation": "Auto-Submitted: auto-replied", "list": "List-Id: <tubs.lists.example>", "bulk": "Precedence: bulk",
		"our own loop": "X-Loop-Token: x", "from ourselves": "From: " + ours, "a crowd": "To: friends@lists.example",
		"nobody": "From: no-reply@owner.example", "no sender": "Return-Path: <>",
	} {
		t.Run(name, func(t *testing.T) {
			k := newKit(t)
			at := k.serve()
			require.NoError(t, bring(t, at, k.sign(compose("flush my pipes", header, "Message-ID: <9@owner.example>"))))
			require.Empty(t, k.transcript(anna), "nobody is met by a machine's mail")

			require.NoError(t, bring(t, at, k.sign(compose("hello"))))
			before := len(k.transcript(anna))
			require.NoError(t, bring(t, at, k.sign(compose("I am away", header, "Message-ID: <10@owner.example>"))))
			lines := k.transcript(anna)
			require.Empty(t, texts(lines[before:], conversation.Out))
			require.Empty(t, texts(lines[before:], conversation.In))
		})
	}
}

func TestTwoMachinesComeToRest(t *testing.T) {
	k := newKit(t)
	at := k.serve()
	taken := 0
	for i := range 40 {
		err := bring(t, at, k.sign(compose("what?", fmt.Sprintf("Message-ID: <%d@owner.example>", i))))
		if err == nil {
			taken++
		}
	}
	require.Equal(t, 20, taken)
	urgent := k.sign(compose("my son swallowed the chlorine tablets and can't breathe", "Message-ID: <u@owner.example>"))
	require.NoError(t, bring(t, at, urgent), "an emergency is never turned away")
	require.Contains(t, strings.Join(texts(k.transcript(anna), conversation.Out), "\n"), "911")
}

func TestTheSubjectCountsWhereItMust(t *testing.T) {
	k := newKit(t)
	at := k.serve()
	require.NoError(t, bring(t, at, k.sign(compose("", "Subject: flush my pipes", "Message-ID: <1@owner.example>"))))
	require.NoError(t, bring(t, at, k.sign(compose("Please help!!", "Subject: my son swallowed chlorine and cannot breathe", "Message-ID: <2@owner.example>"))))
	require.NoError(t, bring(t, at, k.sign(compose("done", "Subject: a new subject", "Message-ID: <3@owner.example>"))))
	said := texts(k.transcript(anna), conversation.In)
	require.Equal(t, []string{"flush my pipes", "my son swallowed chlorine and cannot breathe\nPlease help!!", "done"}, said)
}

func TestAttachmentsAreToldOf(t *testing.T) {
	k := newKit(t)
	body := "--b\r\nContent-Type: text/plain\r\n\r\nhelp\r\n--b\r\nContent-Type: image/jpeg\r\nContent-Disposition: attachment; filename=\"strip.jpg\"\r\n\r\nxxxx\r\n--b--"
	require.NoError(t, bring(t, k.serve(), k.sign(compose(body, "Content-Type: multipart/mixed; boundary=b"))))
	require.Contains(t, texts(k.transcript(anna), conversation.Note)[0], "Attached and not kept: strip.jpg (image/jpeg, 1 kB).")
}

func TestReportsReachTheirMessage(t *testing.T) {
	for name, how := range map[string]func(k *kit, line string) (to, envelope, id string){
		"by its address": func(k *kit, l string) (string, string, string) {
			return "hello+" + k.box.Key.Bounce(k.box.Shop.Key, l) + "@fernhollow.example", "", ""
		},
		"by its envelope id": func(k *kit, l string) (string, string, string) {
			return ours, k.box.Key.Envelope(k.box.Shop.Key, l), ""
		},
		"by its Message-ID": func(k *kit, l string) (string, string, string) {
			return ours, "", k.box.Key.MessageID(k.box.Shop.Key, l, "fernhollow.example")
		},
		"not at all": func(*kit, string) (string, string, string) { return ours, "guess", "<guess@fernhollow.example>" },
	} {
		t.Run(name, func(t *testing.T) {
			k := newKit(t)
			at := k.serve()
			require.NoError(t, bring(t, at, k.sign(compose("hello"))))
			k.sendAll()
			lines := k.transcript(anna)
			last := lines[len(lines)-1]
			require.Equal(t, store.Sent, last.Delivery)
			to, envelope, id := how(k, last.ID)
			require.NoError(t, bring(t, at, bounce(envelope, id), to))
			lines = k.transcript(anna)
			found := name != "not at all"
			require.Equal(t, found, lines[2].Delivery == store.Failed)
			c, err := k.store.Load(t.Context(), k.box.Shop.Key, anna)
			require.NoError(t, err)
			require.Equal(t, found, len(c.Open) == 1 && c.Open[0].Cause == "undelivered", "what did not arrive is a person's")
		})
	}
}

// sendAll empties the outbox as a relay that takes everything.
func (k *kit) sendAll() []store.Outgoing {
	k.t.Helper()
	out, err := k.store.ClaimOutbox(k.t.Context(), k.clock.Now(), 1e9, 100)
	require.NoError(k.t, err)
	var results []store.Result
	for _, o := range out {
		results = append(results, store.Result{Shop: o.Shop, Line: o.Line.ID, Kind: store.Sent})
	}
	require.NoError(k.t, k.store.SettleOutbox(k.t.Context(), results))
	return out
}

func bounce(envelope, id string) []byte {
	s := "From: mailer-daemon@mx.owner.example\r\nTo: " + ours + "\r\nAuto-Submitted: auto-replied\r\n" +
		"Content-Type: multipart/report; report-type=delivery-status; boundary=b\r\n\r\n--b\r\nContent-Type: message/delivery-status\r\n\r\n" +
		"Reporting-MTA: dns; mx.owner.example\r\n"
	if envelope != "" {
		s += "Original-Envelope-Id: " + envelope + "\r\n"
	}
	s += "\r\nFinal-Recipient: rfc822;" + anna + "\r\nAction: failed\r\nStatus: 5.1.1\r\n--b\r\nContent-Type: text/rfc822-headers\r\n\r\nTo: " + anna + "\r\n"
	if id != "" {
		s += "Message-ID: " + id + "\r\n"
	}
	return []byte(s + "\r\n--b--\r\n")
}

func TestStaffTakeACaseByMail(t *testing.T) {
	const luis = "luis@fernhollow.example"
	k := newKit(t)
	at := k.serve()
	require.NoError(t, bring(t, at, k.sign(compose("my son swallowed the chlorine tablets and can't breathe"))))
	var page conversation.Line
	for _, o := range k.sendAll() {
		if o.Line.To == luis {
			page = o.Line
		}
	}
	require.Equal(t, conversation.MailGateway, page.Gateway, "pages go by mail where that is the person's address")
	require.Equal(t, ours, page.From)
	c, err := k.store.Load(t.Context(), k.box.Shop.Key, anna)
	require.NoError(t, err)
	require.Contains(t, page.Text, c.Open[0].Code)
	answer := "From: " + luis + "\r\nTo: " + ours + "\r\nMessage-ID: <l@fernhollow.example>\r\n\r\n" + c.Open[0].Code + "\r\n"
	require.NoError(t, bring(t, at, []byte(answer)))
	c, err = k.store.Load(t.Context(), k.box.Shop.Key, anna)
	require.NoError(t, err)
	require.Empty(t, c.Open[0].By, "anyone can write Luis's address")
	to := "hello+" + k.box.Key.Reply(k.box.Shop.Key, luis, noon) + "@fernhollow.example"
	require.NoError(t, bring(t, at, []byte(strings.Replace(answer, "<l@", "<m@", 1)), to))
	c, err = k.store.Load(t.Context(), k.box.Shop.Key, anna)
	require.NoError(t, err)
	require.Equal(t, "luis", c.Open[0].By)
}

func TestAddressesAreTheShopsOwn(t *testing.T) {
	k := newKit(t)
	_, err := email.New(email.Config{Boxes: []email.Box{k.box, k.box}, Pages: pagesOf(t)})
	require.ErrorContains(t, err, "both have the address")
	weak := k.box
	weak.Key = []byte("short")
	_, err = email.New(email.Config{Boxes: []email.Box{weak}, Pages: pagesOf(t)})
	require.ErrorContains(t, err, "at least 16 bytes")
}
