package email

import (
	"strings"
	"unicode"

	"tubhand/internal/channel/email/letter"
	"tubhand/internal/channel/intake"
	"tubhand/internal/understand/words"
)

// written is what the author of a message wrote now: without what they quote and without
// a signature. The subject belongs to it where the message says nothing else, or where
// it tells of a danger; otherwise it names the thread.
func (in *Inbound) written(l *letter.Letter) string {
	body := tidy(words.WithoutQuotes(l.Text))
	subject := tidy(l.Subject)
	switch {
	case body == "":
		return intake.Bound(subject, in.config.Urgent)
	case len(l.References) == 0 && l.InReplyTo == "" && subject != "" && in.config.Urgent(subject):
		return intake.Bound(subject+"\n"+body, in.config.Urgent)
	}
	return intake.Bound(body, in.config.Urgent)
}

// tidy makes a stranger's words a text: no control characters, no runs of empty lines,
// blanks around it gone.
func tidy(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\r':
			return '\n'
		case r == '\t' || r == '\u00a0':
			return ' '
		case unicode.IsControl(r) || r == '\u200b' || r == '\ufeff':
			return -1
		}
		return r
	}, s)
	for strings.Contains(s, "\n\n\n") {
		s = strings.ReplaceAll(s, "\n\n\n", "\n\n")
	}
	return strings.TrimSpace(s)
}
