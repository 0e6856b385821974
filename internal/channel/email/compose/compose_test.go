package compose_test

import (
	"bytes"
	"html/template"
	"io"
	"net/mail"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/channel/email/calendar"
	"tubhand/internal/channel/email/compose"
	"tubhand/internal/channel/email/letter"
	"tubhand/templates"
)

func message() *compose.Message {
	return &compose.Message{
		Language: "en", Shop: "Fernhollow Tub Supply", Phone: "(541) 555-0100", From: "hello@fernhollow.example", To: "anna@owner.example",
		Subject: "Your tub", MessageID: "<1@fernhollow.example>", Date: time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC), Text: "One.\n\nTwo.",
		LeaveMail: "hello+r@fernhollow.example", Boundary: func(which string) string { return "b" + which },
	}
}

func frames(t interface {
	require.TestingT
	Helper()
}) *template.Template {
	t.Helper()
	pages, err := template.ParseFS(templates.Mail, "mail/*.html")
	require.NoError(t, err)
	return pages
}

// TestNothingBreaksOut: whatever owners call their thread and whatever is said, the header
// stays what it is, lines stay within RFC 5322, 2.1.1, and the page shows words as words.
func TestNothingBreaksOut(t *testing.T) {
	pages := frames(t)
	rapid.Check(t, func(t *rapid.T) {
		m := message()
		m.Subject, m.Text = rapid.String().Draw(t, "subject"), rapid.String().Draw(t, "text")+"<script>x</script>"
		m.Doses = []compose.Dose{{Product: "<b>", Measure: "1 level teaspoon", Why: rapid.String().Draw(t, "why")}}
		for range 20 {
			m.References = append(m.References, "<"+strings.Repeat("x", 200)+"@owner.example>")
		}
		raw, err := compose.Write(m, pages)
		require.NoError(t, err)
		for line := range strings.SplitSeq(string(raw), "\r\n") {
			require.LessOrEqual(t, len(line), 998)
			require.NotContains(t, line, "\n")
		}
		read, err := mail.ReadMessage(bytes.NewReader(raw))
		require.NoError(t, err)
		for name := range read.Header {
			require.Contains(t, []string{"From", "To", "Subject", "Date", "Message-Id", "References", "List-Unsubscribe", "Mime-Version", "Content-Language", "Content-Type"}, name)
		}
		require.NotContains(t, string(raw[bytes.Index(raw, []byte("text/html")):]), "<script>x")
	})
}

func TestAnInjectedFieldIsWords(t *testing.T) {
	m := message()
	m.Subject = "hi\r\nBcc: mallory@evil.example"
	raw, err := compose.Write(m, frames(t))
	require.NoError(t, err)
	read, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	require.Empty(t, read.Header.Get("Bcc"))
}

func TestBothLanguagesAndStaff(t *testing.T) {
	body := func(change func(*compose.Message)) string {
		m := message()
		change(m)
		raw, err := compose.Write(m, frames(t))
		require.NoError(t, err)
		l, err := letter.Read(raw)
		require.NoError(t, err)
		return l.Text
	}
	require.Contains(t, body(func(*compose.Message) {}), "Reply PERSON")
	spanish := body(func(m *compose.Message) { m.Language = "es" })
	require.Contains(t, spanish, "responda arriba de esta línea")
	require.Contains(t, spanish, "Responda PERSONA")
	staff := body(func(m *compose.Message) { m.Staff, m.LeaveMail = true, "" })
	require.Contains(t, staff, "with the code")
	require.NotContains(t, staff, "STOP", "staff are called whatever owners want")
}

func TestCalendarEntriesAreAttached(t *testing.T) {
	m := message()
	m.Waits = []calendar.Wait{{UID: "a"}, {UID: "b"}}
	raw, err := compose.Write(m, frames(t))
	require.NoError(t, err)
	l, err := letter.Read(raw)
	require.NoError(t, err)
	require.Len(t, l.Attached, 2)
	require.Equal(t, "wait.ics", l.Attached[0].Name)
	require.Equal(t, "wait2.ics", l.Attached[1].Name)
	read, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	rest, err := io.ReadAll(read.Body)
	require.NoError(t, err)
	require.Contains(t, string(rest), "method=PUBLISH")
}
