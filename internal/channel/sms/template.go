package sms

import (
	"encoding/json"
	"net/url"
	"regexp"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/smstext"
)

// template is a text with placeholders, cut up once: literal, placeholder, literal, ...
type template []string

var placeholders = regexp.MustCompile(`\{(from|to|from_digits|to_digits|body|key|report_url|secret)\}`)

// newTemplate cuts a text up.
func newTemplate(s string) template {
	var t template
	last := 0
	for _, at := range placeholders.FindAllStringIndex(s, -1) {
		t = append(t, s[last:at[0]], s[at[0]+1:at[1]-1])
		last = at[1]
	}
	return append(t, s[last:])
}

// fill puts a message's parts in, each written by write.
func (t template) fill(p *parts, write func(string) string) string {
	if len(t) == 1 {
		return t[0]
	}
	var b strings.Builder
	for i, s := range t {
		if i%2 == 0 {
			b.WriteString(s)
		} else {
			b.WriteString(write(p.of(s)))
		}
	}
	return b.String()
}

// parts is what placeholders stand for.
type parts struct {
	line      conversation.Line
	key       string
	reportURL string
	secret    string
}

func (p *parts) of(placeholder string) string {
	switch placeholder {
	case "from":
		return p.line.From
	case "to":
		return p.line.To
	case "from_digits":
		return strings.TrimPrefix(p.line.From, "+")
	case "to_digits":
		return strings.TrimPrefix(p.line.To, "+")
	case "body":
		return smstext.Fold(p.line.Text) // one curly quote in a person's words would halve what fits
	case "key":
		return p.key
	case "report_url":
		return p.reportURL
	case "secret":
		return p.secret
	}
	return ""
}

// The ways to write a part so that nothing in it ends the place where it stands.

func inJSON(s string) string {
	b, err := json.Marshal(s)
	if err != nil || len(b) < 2 {
		return ""
	}
	return string(b[1 : len(b)-1])
}

func inURL(s string) string { return strings.ReplaceAll(url.QueryEscape(s), "+", "%20") }

func inHeader(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
}
