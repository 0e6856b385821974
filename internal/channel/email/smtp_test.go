package email_test

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"net"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/shop"
)

func TestAMessageBecomesATurn(t *testing.T) {
	k := newKit(t)
	at := k.serve()
	raw := k.sign(compose("Hi, need to flush my pipes.\r\n\r\nOn Fri, Jun 12, 2026, Fernhollow wrote:\r\n> Text STOP any time", "Message-ID: <1@owner.example>"))
	require.NoError(t, bring(t, at, raw))
	lines := k.transcript(anna)
	require.Equal(t, []string{"Hi, need to flush my pipes."}, texts(lines, conversation.In), "what is quoted is not said again")
	require.Equal(t, []string{"By e-mail: no DMARC record; aligned DKIM owner.example."}, texts(lines, conversation.Note))
	require.Len(t, texts(lines, conversation.Out), 1)
	require.Equal(t, anna, lines[2].To)
	require.Equal(t, conversation.MailGateway, lines[2].Gateway)
	require.Equal(t, ours, lines[2].From)

	require.NoError(t, bring(t, at, raw))
	require.Len(t, k.transcript(anna), len(lines), "the same Message-ID is the same message")

	c, err := k.store.Load(t.Context(), k.box.Shop.Key, anna)
	require.NoError(t, err)
	require.Equal(t, "<1@owner.example>", c.Thread.MessageID)
	require.Equal(t, "My tub", c.Thread.Subject)
}

func TestNothingIsTakenBeforeItIsDurable(t *testing.T) {
	k := newKit(t)
	at := k.serve()
	raw := k.sign(compose("flush my pipes"))
	k.turns.err = errors.New("disk full")
	require.Equal(t, 451, code(t, bring(t, at, raw)))
	require.Empty(t, k.transcript(anna))
	k.turns.err = nil
	require.NoError(t, bring(t, at, raw))
	require.NotEmpty(t, k.transcript(anna))

	k.dns.down = true
	require.Equal(t, 451, code(t, bring(t, at, compose("now unsigned", "Message-ID: <2@owner.example>"))))
}

func TestOnlyTheShopsMailboxes(t *testing.T) {
	k := newKit(t)
	at := k.serve()
	for _, to := range []string{"anna@owner.example", "other@fernhollow.example", "hello@fernhollow.example.evil.example"} {
		require.Equal(t, 550, code(t, bring(t, at, compose("hi"), to)), to)
	}
	require.NoError(t, bring(t, at, k.sign(compose("flush my pipes")), "HELLO@Fernhollow.Example"))
	require.NotEmpty(t, k.transcript(anna))
}

func TestTheServerIsBounded(t *testing.T) {
	k := newKit(t)
	at := k.serve()
	c, err := smtp.Dial(at)
	require.NoError(t, err)
	defer c.Close()
	require.NoError(t, c.Hello("mx.owner.example"))
	size, ok := c.MaxMessageSize()
	require.True(t, ok)
	require.Equal(t, 20<<20, size)
	require.Error(t, c.Mail(anna, &smtp.MailOptions{Size: 30 << 20}))

	var open []net.Conn
	defer func() {
		for _, c := range open {
			_ = c.Close()
		}
	}()
	turnedAway := false
	for range 20 {
		c, err := net.Dial("tcp", at)
		require.NoError(t, err)
		open = append(open, c)
		greeting, err := bufio.NewReader(c).ReadString('\n')
		require.NoError(t, err)
		turnedAway = turnedAway || strings.HasPrefix(greeting, "421")
	}
	require.True(t, turnedAway, "one address holds only so many connections")
}

func TestTheSessionCanBeEncrypted(t *testing.T) {
	k := newKit(t)
	web := httptest.NewTLSServer(nil) // for its certificate
	roots := x509.NewCertPool()
	roots.AddCert(web.Certificate())
	certificates := web.TLS.Certificates
	web.Close()
	at := k.serveWith(&tls.Config{Certificates: certificates, MinVersion: tls.VersionTLS12})
	c, err := smtp.DialStartTLS(at, &tls.Config{RootCAs: roots, ServerName: "example.com", MinVersion: tls.VersionTLS12})
	require.NoError(t, err)
	defer c.Close()
	require.NoError(t, c.SendMail(anna, []string{ours}, bytes.NewReader(k.sign(compose("help")))))
	require.NotEmpty(t, k.transcript(anna))

	plain, err := smtp.Dial(newKit(t).serve())
	require.NoError(t, err)
	defer plain.Close()
	offered, _ := plain.Extension("STARTTLS")
	require.False(t, offered)
}

// A bare LF does not end a message (RFC 5321, 2.3.8): what follows one must not become a
// second message.
func TestNothingIsSmuggledIn(t *testing.T) {
	k := newKit(t)
	at := k.serve()
	c, err := net.Dial("tcp", at)
	require.NoError(t, err)
	defer c.Close()
	r := bufio.NewReader(c)
	say := func(s string) string {
		_, err := c.Write([]byte(s))
		require.NoError(t, err)
		line, err := r.ReadString('\n')
		require.NoError(t, err)
		return line
	}
	_, _ = r.ReadString('\n')
	say("HELO mx.owner.example\r\n")
	say("MAIL FROM:<anna@owner.example>\r\n")
	say("RCPT TO:<hello@fernhollow.example>\r\n")
	require.Contains(t, say("DATA\r\n"), "354")
	smuggled := "From: a@owner.example\r\nTo: hello@fernhollow.example\r\n\r\none\n.\nMAIL FROM:<anna@owner.example>\nRCPT TO:<hello@fernhollow.example>\nDATA\nFrom: anna@owner.example\n\ntwo\r\n.\r\n"
	require.Contains(t, say(smuggled), "250")
	require.Empty(t, texts(k.transcript(anna), conversation.In))
}

func TestWhoIsBelieved(t *testing.T) {
	reject := map[string][]string{"_dmarc.owner.example": {"v=DMARC1; p=reject"}}
	for name, c := range map[string]struct {
		txt    map[string][]string
		signed bool
		to     func(k *kit) string
		change func(*shop.Mail)
		header []string
		code   int
		taken  bool // as the owner's
		asked  bool // to prove who they are
		note   string
	}{
		"DMARC passes":      {txt: reject, signed: true, taken: true, note: "DMARC pass by DKIM owner.example"},
		"forged, reject":    {txt: reject, code: 550},
		"forged, no policy": {txt: map[string][]string{"_dmarc.owner.example": {"v=DMARC1; p=none"}}, note: "Not acted upon, since it may not be from anna@owner.example: By e-mail: DMARC fail, policy none"},
		"nothing to check":  {asked: true, note: "no DMARC record and no aligned signature"},
		"answers our own message": {txt: reject, to: func(k *kit) string {
			return "hello+" + k.box.Key.Reply(k.box.Shop.Key, anna, noon) + "@fernhollow.example"
		}, taken: true, note: "answers a message of ours"},
		"another's token": {txt: reject, to: func(k *kit) string {
			return "hello+" + k.box.Key.Reply(k.box.Shop.Key, "ben@owner.example", noon) + "@fernhollow.example"
		}, code: 550},
		"a relay of our own": {change: func(m *shop.Mail) { m.Trust = trusted("127.0.0.0/8") }, taken: true, note: "DMARC pass, says mx.fernhollow.example",
			header: []string{"Authentication-Results: mx.fernhollow.example; dmarc=pass header.from=owner.example"}},
		"a relay that is not ours": {change: func(m *shop.Mail) { m.Trust = trusted("192.0.2.0/24") }, asked: true, note: "no DMARC record",
			header: []string{"Authentication-Results: mx.fernhollow.example; dmarc=pass header.from=owner.example"}},
	} {
		t.Run(name, func(t *testing.T) {
			k := newKit(t, func(b *boxOf) {
				if c.change != nil {
					c.change(b.Mail)
				}
			})
			for at, record := range c.txt {
				k.dns.txt[at] = record
			}
			raw := compose("flush my pipes", c.header...)
			if c.signed {
				raw = k.sign(raw)
			}
			to := ours
			if c.to != nil {
				to = c.to(k)
			}
			err := bring(t, k.serve(), raw, to)
			if c.code != 0 {
				require.Equal(t, c.code, code(t, err))
				require.Empty(t, k.transcript(anna))
				return
			}
			require.NoError(t, err)
			lines := k.transcript(anna)
			require.Equal(t, c.taken, len(texts(lines, conversation.In)) == 1)
			require.Contains(t, strings.Join(texts(lines, conversation.Note), "\n"), c.note)
			state, err := k.store.Load(t.Context(), k.box.Shop.Key, anna)
			require.NoError(t, err)
			require.Equal(t, c.taken, state.Service != nil, "what may be forged starts nothing")
			require.Equal(t, c.taken || c.asked, len(texts(lines, conversation.Out)) == 1)
		})
	}
}
