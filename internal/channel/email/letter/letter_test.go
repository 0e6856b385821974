package letter_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email/letter"
)

func sample(t testing.TB, name string) []byte {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "..", "..", "testdata", "mail", name))
	require.NoError(t, err)
	return []byte(strings.ReplaceAll(string(raw), "\n", "\r\n"))
}

func read(t testing.TB, name string) *letter.Letter {
	t.Helper()
	l, err := letter.Read(sample(t, name))
	require.NoError(t, err)
	return l
}

func TestWhoWroteWhat(t *testing.T) {
	l := read(t, "plain.eml")
	require.Equal(t, "anna@owner.example", l.From)
	require.Equal(t, []string{"hello@fernhollow.example"}, l.To)
	require.Equal(t, "Flushing my pipes", l.Subject)
	require.Equal(t, "<1001@owner.example>", l.MessageID)
	require.Equal(t, "<anna@owner.example>", l.ReturnPath)
	require.Equal(t, "Hi, need to flush my pipes. It is a 410 gallon tub.", l.Text)
	require.Equal(t, 1, l.Hops)
	require.Empty(t, l.Machine)

	l = read(t, "reply-flowed.eml")
	require.Equal(t, "<k1@fernhollow.example>", l.InReplyTo)
	require.Equal(t, []string{"<1001@owner.example>", "<k1@fernhollow.example>"}, l.References)
	require.Contains(t, l.Text, "Done, the filters are in the water now.\n")
	require.Contains(t, l.Text, "\n> Take the filters out.")
}

func TestAPageBecomesItsWords(t *testing.T) {
	l := read(t, "html-only.eml")
	require.Equal(t, "Re: Espuma ¡ayuda!", l.Subject)
	require.Equal(t, "Hay mucha espuma en la bañera\n- pH 7.4\n- cloro 3", l.Text)
	for page, want := range map[string]string{
		"<p>one<br>two</p>three":                  "one\ntwo\nthree",
		"a<table><tr><td>pH</td><td>7.2</td>":     "a\npH 7.2",
		"ok <blockquote>old":                      "ok",
		"x<div class=quoted>a<div>b</div></div>y": "x\ny",
		"5 &lt; 6 &amp; <b>bo</b>ld":              "5 < 6 & bold",
		"":                                        "",
	} {
		require.Equal(t, want, strings.Join(strings.Split(letter.FromHTML(page), " \n"), "\n"), page)
	}
}

func TestPlainTextIsPreferredAndAttachmentsAreOnlyNoted(t *testing.T) {
	l := read(t, "photo.eml")
	require.Equal(t, "pH 7.2, chlorine 3", l.Text)
	require.Equal(t, []letter.Attached{{Name: "strip.jpg", Type: "image/jpeg", Size: 10}}, l.Attached)
}

func TestMachinesAreKnown(t *testing.T) {
	for name, why := range map[string]string{
		"away.eml": "it was sent automatically", "list.eml": "it came through a mailing list", "bounce.eml": "it was sent automatically",
	} {
		require.Equal(t, why, read(t, name).Machine, name)
	}
	for header, why := range map[string]string{
		"Precedence: bulk":                             "it is bulk mail",
		"Return-Path: <>":                              "it has no sender to answer to",
		letter.LoopField + ": k":                       "it is our own mail coming back",
		strings.Repeat("Received: x\r\n", 51) + "X: y": "it goes round in a circle",
		"Auto-Submitted: no":                           "",
		"X-Nothing: y":                                 "",
	} {
		l, err := letter.Read([]byte(header + "\r\nFrom: anna@owner.example\r\n\r\nhi"))
		require.NoError(t, err)
		require.Equal(t, why, l.Machine, header)
	}
	for _, from := range []string{"MAILER-DAEMON@owner.example", "no-reply+x@owner.example", "tubs-request@lists.example"} {
		l, err := letter.Read([]byte("From: " + from + "\r\n\r\nhi"))
		require.NoError(t, err)
		require.Contains(t, l.Machine, "nobody reads", from)
	}
}

func TestAReportNamesOurMessage(t *testing.T) {
	r := read(t, "bounce.eml").Report
	require.Equal(t, &letter.Report{EnvelopeID: "q3m4", MessageID: "<q3m4@fernhollow.example>", Action: "failed", Status: "5.1.1",
		Recipients: []string{"anna@owner.example", "anna.reed@inner.owner.example"}}, r)
}

func TestOneAuthorOnly(t *testing.T) {
	_, err := letter.Read(sample(t, "two-authors.eml"))
	require.ErrorIs(t, err, letter.ErrAuthor)
	for _, from := range []string{"", "From: \r\n", "From: a@b.example, c@d.example\r\n", "From: nonsense\r\n", "From: a@b.example, <\"q q\"@d.example>\r\n"} {
		_, err := letter.Read([]byte(from + "To: x@y.example\r\n\r\nhi"))
		require.ErrorIs(t, err, letter.ErrAuthor, from)
	}
}

func TestBounds(t *testing.T) {
	_, err := letter.Read(make([]byte, letter.MaxBytes+1))
	require.ErrorIs(t, err, letter.ErrTooLong)
	deep := "From: a@b.example\r\n"
	for range 40 {
		deep += "Content-Type: multipart/mixed; boundary=x\r\n\r\n--x\r\n"
	}
	l, err := letter.Read([]byte(deep + "\r\nend\r\n--x--"))
	require.NoError(t, err)
	require.LessOrEqual(t, len(l.Attached), 20)
	many := "From: a@b.example\r\nContent-Type: multipart/mixed; boundary=x\r\n\r\n" +
		strings.Repeat("--x\r\nContent-Type: image/png\r\n\r\nz\r\n", 5000) + "--x--"
	l, err = letter.Read([]byte(many))
	require.NoError(t, err)
	require.LessOrEqual(t, len(l.Attached), 20)
	ids := strings.Repeat("<a@b.example> ", 500)
	l, err = letter.Read([]byte("From: a@b.example\r\nReferences: " + ids + "\r\n\r\nx"))
	require.NoError(t, err)
	require.Len(t, l.References, 20)
	require.Len(t, letter.Trim(make([]string, 50)), 20)
}

// FuzzRead: whatever comes in, what is told of it is bounded and fit for one line of a
// header, and reading never panics.
func FuzzRead(f *testing.F) {
	entries, err := os.ReadDir(filepath.Join("..", "..", "..", "..", "testdata", "mail"))
	require.NoError(f, err)
	for _, e := range entries {
		f.Add(sample(f, e.Name()))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		l, err := letter.Read(raw)
		if err != nil {
			return
		}
		require.NotEmpty(t, l.From)
		for _, s := range append([]string{l.From, l.Subject, l.MessageID, l.InReplyTo}, l.References...) {
			require.NotContains(t, s, "\r")
			require.NotContains(t, s, "\n")
		}
		require.LessOrEqual(t, len(l.References), 20)
		require.LessOrEqual(t, len(l.Attached), 21)
		require.LessOrEqual(t, len([]rune(l.Subject)), 200)
	})
}
