package email_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-message"
	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email"
	"tubhand/internal/channel/email/authenticate"
	"tubhand/internal/channel/email/letter"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

// parts gives the header of a message and its parts by media type.
func parts(t *testing.T, raw []byte) (message.Header, map[string]string) {
	t.Helper()
	e, err := message.Read(bytes.NewReader(raw))
	require.NoError(t, err)
	found := map[string]string{}
	var walk func(e *message.Entity)
	walk = func(e *message.Entity) {
		kind, _, err := e.Header.ContentType()
		require.NoError(t, err)
		if r := e.MultipartReader(); r != nil {
			for {
				p, err := r.NextPart()
				if err == io.EOF {
					return
				}
				require.NoError(t, err)
				walk(p)
			}
		}
		body, err := io.ReadAll(e.Body)
		require.NoError(t, err)
		found[kind] += string(body)
	}
	walk(e)
	return e.Header, found
}

func TestAnAnswerStaysInItsThread(t *testing.T) {
	k, r := newKit(t), newRelay(t, shop.TLSNone)
	s := k.sender(r, shop.TLSNone)
	at := k.serve()
	require.NoError(t, bring(t, at, k.sign(compose("help", "Message-ID: <2@owner.example>", "References: <1@owner.example> <k@fernhollow.example>", "Subject: =?utf-8?q?Mi_ba=C3=B1era?="))))
	got := k.post(s, r)
	require.Len(t, got, 1)
	require.Equal(t, anna, got[0].to)
	line := k.transcript(anna)[2].ID
	require.Equal(t, "hello+"+k.box.Key.Bounce("fernhollow", line)+"@fernhollow.example", got[0].from)
	require.Equal(t, k.box.Key.Envelope("fernhollow", line), got[0].envelope)

	l, err := letter.Read(got[0].raw)
	require.NoError(t, err)
	require.Equal(t, "Re: Mi bañera", l.Subject)
	require.Equal(t, "<2@owner.example>", l.InReplyTo)
	require.Equal(t, []string{"<1@owner.example>", "<k@fernhollow.example>", "<2@owner.example>"}, l.References)
	require.Equal(t, k.box.Key.MessageID("fernhollow", line, "fernhollow.example"), l.MessageID)
	require.NotEmpty(t, l.Machine, "our own mail is known as such when it comes back")

	h, found := parts(t, got[0].raw)
	require.Equal(t, "auto-replied", h.Get("Auto-Submitted"))
	require.Contains(t, h.Get("List-Unsubscribe"), "<https://tubs.fernhollow.example/out/mail/fernhollow/"+k.box.Key.Leave("fernhollow", anna)+">")
	require.Equal(t, "List-Unsubscribe=One-Click", h.Get("List-Unsubscribe-Post"))
	require.Contains(t, found["text/plain"], "-- reply above this line --")
	require.Contains(t, found["text/plain"], "I walk you through tub care")
	require.Contains(t, found["text/html"], "I walk you through tub care")
	require.Contains(t, found["text/html"], "1 Mill Road")
	require.NotContains(t, found["text/html"], `src="http`, "nothing is fetched from anywhere")
	require.NotContains(t, found, "image/png")

	// The answer to it proves itself, without any DKIM, and is stripped of what it quotes.
	to := strings.Trim(h.Get("Reply-To")[strings.Index(h.Get("Reply-To"), "<"):], "<>")
	reply := "thanks\r\n\r\n" + found["text/plain"]
	require.NoError(t, bring(t, at, compose(reply, "To: "+to, "Message-ID: <3@owner.example>"), to))
	said := texts(k.transcript(anna), conversation.In)
	require.Equal(t, "thanks", said[len(said)-1])
}

func TestTheSameLineIsTheSameMessage(t *testing.T) {
	k, r := newKit(t), newRelay(t, shop.TLSNone)
	s := k.sender(r, shop.TLSNone)
	require.NoError(t, bring(t, k.serve(), k.sign(compose("hello"))))
	line := k.transcript(anna)[2]
	one, err := s.Write(t.Context(), line)
	require.NoError(t, err)
	two, err := s.Write(t.Context(), line)
	require.NoError(t, err)
	require.Equal(t, string(one), string(two))
}

func TestOurSignaturesHold(t *testing.T) {
	rsaKey, err := rsa.GenerateKey(rand.Reader, 2048)
	require.NoError(t, err)
	public, edKey, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	k, r := newKit(t), newRelay(t, shop.TLSNone)
	s := k.sender(r, shop.TLSNone, func(o *email.Outbound) {
		o.Signers = []email.Signer{{Selector: "a", Domain: "fernhollow.example", Key: rsaKey}, {Selector: "b", Domain: "fernhollow.example", Key: edKey}}
	})
	require.NoError(t, bring(t, k.serve(), k.sign(compose("hello"))))
	raw := k.post(s, r)[0].raw
	der, err := x509.MarshalPKIXPublicKey(&rsaKey.PublicKey)
	require.NoError(t, err)
	dns := &fakeDNS{txt: map[string][]string{
		"a._domainkey.fernhollow.example": {"v=DKIM1; k=rsa; p=" + base64.StdEncoding.EncodeToString(der)},
		"b._domainkey.fernhollow.example": {"v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(public)},
		"_dmarc.fernhollow.example":       {"v=DMARC1; p=reject"},
	}}
	check := func(raw []byte) authenticate.Outcome {
		return authenticate.Check(t.Context(), dns, raw, ours, authenticate.Envelope{})
	}
	require.Equal(t, []string{"fernhollow.example", "fernhollow.example"}, check(raw).DKIM)
	for _, field := range []string{"Subject", "List-Unsubscribe", "List-Unsubscribe-Post", "Auto-Submitted"} { // RFC 8058, 4: both signed
		changed := bytes.Replace(raw, []byte("\r\n"+field+": "), []byte("\r\n"+field+": x"), 1)
		require.NotEqual(t, string(raw), string(changed), field)
		require.Equal(t, authenticate.Forged, check(changed).Verdict, field)
	}
}

func TestDosesReadingsAndWaits(t *testing.T) {
	k, r := newKit(t), newRelay(t, shop.TLSNone)
	s := k.sender(r, shop.TLSNone)
	at := k.serve()
	n := 0
	write := func(text string) map[string]string {
		n++
		require.NoError(t, bring(t, at, k.sign(compose(text, "Message-ID: <t"+string(rune('a'+n))+"@owner.example>"))))
		got := k.post(s, r)
		require.NotEmpty(t, got, text)
		_, found := parts(t, got[len(got)-1].raw)
		return found
	}
	write("test the water")
	write("375 gallons")
	write("chlorine")
	var all []map[string]string
	for range 4 {
		k.clock.JumpTo(k.clock.Now().Add(20 * time.Minute))
		all = append(all, write("chlorine 3, pH 6.9, alkalinity 100, 101 F"), write("done"))
	}
	joined := map[string]string{}
	for _, found := range all {
		for kind, body := range found {
			joined[kind] += body
		}
	}
	require.Contains(t, joined["text/html"], "<table")
	require.Contains(t, joined["text/html"], "How much")
	require.Regexp(t, `(?m)^- .+: .+ \(\d`, strings.ReplaceAll(joined["text/plain"], "\r", ""), "the table is in the text as well")
	require.Contains(t, joined["text/calendar"], "BEGIN:VEVENT")
	require.Contains(t, joined["text/calendar"], "METHOD:PUBLISH")
	require.Contains(t, joined["image/png"], "PNG")
	require.Regexp(t, `alt="[^"]*pH: 6\.9, 6\.9`, joined["text/html"])
}

func TestWhatTheRelayAnswers(t *testing.T) {
	for name, c := range map[string]struct {
		refuse, final *smtp.SMTPError
		kind          string
	}{
		"taken":            {nil, nil, store.Sent},
		"no such user":     {&smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no anna here"}, nil, store.Failed},
		"greylisted":       {&smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 7, 1}, Message: "later"}, nil, store.Retry},
		"log in first":     {&smtp.SMTPError{Code: 530, EnhancedCode: smtp.EnhancedCode{5, 7, 0}, Message: "auth"}, nil, store.Retry},
		"content refused":  {nil, &smtp.SMTPError{Code: 554, EnhancedCode: smtp.EnhancedCode{5, 6, 0}, Message: "no"}, store.Failed},
		"store full there": {nil, &smtp.SMTPError{Code: 452, EnhancedCode: smtp.EnhancedCode{4, 3, 1}, Message: "full"}, store.Retry},
	} {
		t.Run(name, func(t *testing.T) {
			k, r := newKit(t), newRelay(t, shop.TLSNone)
			r.refuse, r.final = c.refuse, c.final
			got := k.sender(r, shop.TLSNone).Send(t.Context(), "fernhollow", conversation.Line{ID: "x.1", Conversation: "x", To: anna, Text: "hi"})
			require.Equal(t, c.kind, got.Kind, got.Why)
			require.NotContains(t, got.Why, "anna", "a relay's words may hold addresses")
		})
	}
	k, r := newKit(t), newRelay(t, shop.TLSNone)
	s := k.sender(r, shop.TLSNone, func(o *email.Outbound) { o.Box.Mail.Relay.Port = 1 }) // nobody is there
	require.Equal(t, store.Retry, s.Send(t.Context(), "fernhollow", conversation.Line{ID: "x.1", To: anna}).Kind)
	require.Equal(t, store.Failed, s.Send(t.Context(), "fernhollow", conversation.Line{ID: "x.1", To: "+15415550142"}).Kind)
}

func TestTheWayToTheRelayIsEncrypted(t *testing.T) {
	line := conversation.Line{ID: "x.1", Conversation: "x", To: anna, Text: "hi"}
	for _, how := range []string{shop.TLSStart, shop.TLSOnly} {
		k, r := newKit(t), newRelay(t, how)
		r.password = "letmein"
		login := func(o *email.Outbound) { o.Box.Mail.Relay.User, o.Password = "fernhollow", "letmein" }
		got := k.sender(r, how, login).Send(t.Context(), "fernhollow", line)
		require.Equal(t, store.Sent, got.Kind, got.Why)
		require.Equal(t, "fernhollow", r.got[0].user)
		require.True(t, r.got[0].encrypted || how == shop.TLSOnly)

		wrong := func(o *email.Outbound) { login(o); o.Password = "guess" }
		got = k.sender(r, how, wrong).Send(t.Context(), "fernhollow", line)
		require.Equal(t, store.Retry, got.Kind, "a wrong password is no fault of the message")
		stranger := func(o *email.Outbound) { o.TLS = nil }
		require.Equal(t, store.Retry, k.sender(r, how, stranger).Send(t.Context(), "fernhollow", line).Kind, "an unknown certificate")
	}
	k, r := newKit(t), newRelay(t, shop.TLSNone)
	require.Equal(t, store.Retry, k.sender(r, shop.TLSStart).Send(t.Context(), "fernhollow", line).Kind, "no STARTTLS, no mail")
	require.Empty(t, r.got)
}

// A code to an address that is not the owner's yet tells nothing of the conversation.
func TestACodeGoesAlone(t *testing.T) {
	k, r := newKit(t), newRelay(t, shop.TLSNone)
	s := k.sender(r, shop.TLSNone)
	at := k.serve()
	require.NoError(t, bring(t, at, k.sign(compose("link ben@other.example", "Subject: my secret tub"))))
	var code []byte
	for _, m := range k.post(s, r) {
		if m.to == "ben@other.example" {
			code = m.raw
		}
	}
	require.NotNil(t, code)
	h, found := parts(t, code)
	require.Equal(t, "Your tub, from Fernhollow Tub Supply", h.Get("Subject"))
	require.Empty(t, h.Get("In-Reply-To"))
	require.NotContains(t, string(code), "anna")
	require.Regexp(t, `\d{6} is the code`, found["text/plain"])
}
