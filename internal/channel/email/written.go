package email

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"tubhand/internal/channel/email/letter"
	"tubhand/internal/understand/words"
)

// maxText is how many characters of one message are handled, as of a text.
const maxText = 1600

// maxSeen is how many characters are looked through for an emergency.
const maxSeen = 8000

// overlap keeps a phrase that lies across two windows whole in one of them.
const overlap = 200

// written is what the author of a message wrote now: without what they quote and without
// a signature. The subject belongs to it where the message says nothing else, or where
// it tells of a danger; otherwise it names the thread.
func (in *Inbound) written(l *letter.Letter) string {
	body := tidy(words.WithoutQuotes(l.Text))
	subject := tidy(l.Subject)
	switch {
	case body == "":
		return in.bound(subject)
	case len(l.References) == 0 && l.InReplyTo == "" && subject != "" && in.config.Urgent(subject):
		return in.bound(subject + "\n" + body)
	}
	return in.bound(body)
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

// bound cuts a tidy text to maxText characters: the first ones, unless the emergency in
// a long one stands further down.
func (in *Inbound) bound(s string) string {
	if utf8.RuneCountInString(s) <= maxText {
		return s
	}
	runes := []rune(s)
	runes = runes[:min(len(runes), maxSeen)]
	first := string(runes[:maxText])
	if in.config.Urgent(first) {
		return first
	}
	for at := maxText - overlap; at < len(runes); at += maxText - overlap {
		if window := string(runes[at:min(at+maxText, len(runes))]); in.config.Urgent(window) {
			return window
		}
	}
	return first
}
