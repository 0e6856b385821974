package letter

import (
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// FromHTML gives the words of an HTML page as plain text: a line for each block, links
// as their words, nothing of scripts, styles and what is hidden, and nothing of what
// mail programs mark as quoted.
func FromHTML(page string) string {
	z := html.NewTokenizer(strings.NewReader(page))
	z.SetMaxBuf(maxText)
	h := &fromHTML{}
	for {
		switch z.Next() {
		case html.ErrorToken:
			return h.text()
		case html.TextToken:
			h.words(string(z.Text()))
		case html.StartTagToken:
			h.open(z.Token(), false)
		case html.SelfClosingTagToken:
			h.open(z.Token(), true)
		case html.EndTagToken:
			h.close(z.Token().DataAtom)
		}
	}
}

// fromHTML gathers the text. While something is skipped, its tag is counted until it
// closes: an unclosed one hides the rest, as it does on a screen.
type fromHTML struct {
	b       strings.Builder
	skipped atom.Atom
	depth   int
	blank   bool // a space is owed
}

func (h *fromHTML) words(s string) {
	if h.depth > 0 {
		return
	}
	fields := strings.Fields(html.UnescapeString(s))
	if len(fields) == 0 {
		h.blank = h.blank || s != ""
		return
	}
	if h.blank || strings.TrimLeft(s, " \t\r\n") != s {
		h.space()
	}
	h.b.WriteString(strings.Join(fields, " "))
	h.blank = strings.TrimRight(s, " \t\r\n") != s
}

// space parts words, but for at the beginning of a line.
func (h *fromHTML) space() {
	if s := h.b.String(); s != "" && !strings.HasSuffix(s, "\n") && !strings.HasSuffix(s, " ") {
		h.b.WriteByte(' ')
	}
	h.blank = false
}

func (h *fromHTML) open(t html.Token, closed bool) {
	switch {
	case h.depth > 0:
		if t.DataAtom == h.skipped && !closed {
			h.depth++
		}
	case !closed && hides(t):
		h.skipped, h.depth = t.DataAtom, 1
		h.line()
	case t.DataAtom == atom.Li:
		h.line()
		h.b.WriteString("- ")
	case t.DataAtom == atom.Td || t.DataAtom == atom.Th:
		h.blank = true
	case block(t.DataAtom):
		h.line()
	}
}

func (h *fromHTML) close(a atom.Atom) {
	switch {
	case h.depth > 0:
		if a == h.skipped {
			h.depth--
		}
	case block(a):
		h.line()
	}
}

func (h *fromHTML) line() {
	h.blank = false
	if s := h.b.String(); s != "" && !strings.HasSuffix(s, "\n") {
		h.b.WriteByte('\n')
	}
}

func (h *fromHTML) text() string { return strings.TrimSpace(h.b.String()) }

// hides tells what is not read: what is no text, what is not shown, and quotations. Mail
// programs mark the latter with a class or an id of their own; most have "quote" in it.
func hides(t html.Token) bool {
	switch t.DataAtom {
	case atom.Script, atom.Style, atom.Head, atom.Title, atom.Template, atom.Blockquote, atom.Select, atom.Textarea, atom.Svg:
		return true
	case atom.Img, atom.Br, atom.Hr, atom.Meta, atom.Link, atom.Input, atom.Col, atom.Wbr: // never closed
		return false
	}
	for _, a := range t.Attr {
		value := strings.ToLower(strings.ReplaceAll(a.Val, " ", ""))
		switch a.Key {
		case "class", "id":
			if strings.Contains(value, "quote") && !strings.Contains(value, "unquote") || strings.Contains(value, "rplyfwd") {
				return true
			}
		case "style":
			if strings.Contains(value, "display:none") {
				return true
			}
		case "hidden":
			return true
		}
	}
	return false
}

func block(a atom.Atom) bool {
	switch a {
	case atom.P, atom.Div, atom.Br, atom.Tr, atom.Table, atom.Ul, atom.Ol, atom.Li, atom.H1, atom.H2, atom.H3, atom.H4,
		atom.H5, atom.H6, atom.Hr, atom.Pre, atom.Section, atom.Article, atom.Header, atom.Footer, atom.Body, atom.Html:
		return true
	}
	return false
}
