// Package compose writes the shop's messages to owners and staff: the same words as a
// text, plain and as a page, and for those who read mail a table of doses, a picture of
// the readings and a calendar entry for each wait. Nothing in a message is fetched from
// anywhere. The same message written again is the same but for its date.
package compose

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"net/textproto"
	"strings"
	"time"

	"tubhand/internal/channel/email/calendar"
	"tubhand/internal/channel/email/letter"
)

// Message is what is to be written.
type Message struct {
	Language string // en, es
	Shop     string // the shop's name
	Phone    string // as written
	Postal   string // the shop's postal address; "" for none

	From, To, ReplyTo    string // addresses
	Subject              string
	MessageID, InReplyTo string // with brackets
	References           []string
	Date                 time.Time
	Auto                 string // Auto-Submitted (RFC 3834); "" for a person's own words
	Loop                 string // our loop token

	Text    string // paragraphs parted by empty lines
	Doses   []Dose
	Picture *Picture
	Waits   []calendar.Wait

	Staff               bool   // it goes to staff
	LeaveURL, LeaveMail string // List-Unsubscribe; "" where it does not apply
	Boundary            func(which string) string
}

// Dose is one row of the table.
type Dose struct{ Product, Measure, Why string }

// Picture is a picture of readings, and what it shows in words.
type Picture struct {
	PNG []byte
	Alt string
}

// Write gives the message with CRLF line ends; pages holds mail/message.html.
func Write(m *Message, pages *template.Template) ([]byte, error) {
	var b bytes.Buffer
	m.header(&b)
	outer := newParts(&b, "multipart/mixed", m.Boundary("m"))
	if err := m.alternatives(outer, pages); err != nil {
		return nil, err
	}
	for i, w := range m.Waits {
		name := "wait.ics"
		if i > 0 {
			name = fmt.Sprintf("wait%d.ics", i+1)
		}
		outer.base64("text/calendar; method=PUBLISH; charset=utf-8; name="+name, map[string]string{"Content-Disposition": "attachment; filename=" + name}, calendar.Write(w))
	}
	outer.close()
	return b.Bytes(), nil
}

// header writes the message's own fields.
func (m *Message) header(b *bytes.Buffer) {
	field := func(name, value string) {
		if value != "" {
			fmt.Fprintf(b, "%s: %s\r\n", name, value)
		}
	}
	field("From", (&mail.Address{Name: m.Shop, Address: m.From}).String())
	field("To", (&mail.Address{Address: m.To}).String())
	if m.ReplyTo != "" {
		field("Reply-To", (&mail.Address{Name: m.Shop, Address: m.ReplyTo}).String())
	}
	field("Subject", mime.QEncoding.Encode("utf-8", m.Subject))
	field("Date", m.Date.Format(time.RFC1123Z))
	field("Message-ID", m.MessageID)
	field("In-Reply-To", m.InReplyTo)
	field("References", strings.Join(m.References, "\r\n "))
	field("Auto-Submitted", m.Auto)
	field(letter.LoopField, m.Loop)
	m.leaving(field)
	field("MIME-Version", "1.0")
	field("Content-Language", m.Language)
}

// leaving writes the fields of RFC 2369 and RFC 8058.
func (m *Message) leaving(field func(name, value string)) {
	var ways []string
	if m.LeaveURL != "" {
		ways = append(ways, "<"+m.LeaveURL+">")
	}
	if m.LeaveMail != "" {
		ways = append(ways, "<mailto:"+m.LeaveMail+"?subject=STOP>")
	}
	field("List-Unsubscribe", strings.Join(ways, ",\r\n "))
	if m.LeaveURL != "" {
		field("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")
	}
}

// alternatives writes the text and, with its picture, the page.
func (m *Message) alternatives(outer *parts, pages *template.Template) error {
	page, err := m.page(pages)
	if err != nil {
		return err
	}
	a := outer.inner("multipart/alternative", m.Boundary("a"))
	a.quoted("text/plain; charset=utf-8", m.plain())
	if m.Picture == nil {
		a.quoted("text/html; charset=utf-8", page)
	} else {
		r := a.inner(`multipart/related; type="text/html"`, m.Boundary("r"))
		r.quoted("text/html; charset=utf-8", page)
		r.base64("image/png", map[string]string{"Content-ID": "<readings>", "Content-Disposition": "inline; filename=readings.png"}, m.Picture.PNG)
		r.close()
	}
	a.close()
	return nil
}

// parts is a multipart being written. Writing into memory does not fail.
type parts struct {
	*multipart.Writer
}

func newParts(b *bytes.Buffer, kind, boundary string) *parts {
	w := multipart.NewWriter(b)
	_ = w.SetBoundary(boundary)
	fmt.Fprintf(b, "Content-Type: %s; boundary=%q\r\n\r\n", kind, boundary)
	return &parts{w}
}

func (p *parts) inner(kind, boundary string) *parts {
	body, _ := p.CreatePart(textproto.MIMEHeader{"Content-Type": {fmt.Sprintf("%s; boundary=%q", kind, boundary)}})
	w := multipart.NewWriter(body)
	_ = w.SetBoundary(boundary)
	return &parts{w}
}

func (p *parts) close() { _ = p.Close() }

func (p *parts) quoted(kind, text string) {
	body, _ := p.CreatePart(textproto.MIMEHeader{"Content-Type": {kind}, "Content-Transfer-Encoding": {"quoted-printable"}})
	w := quotedprintable.NewWriter(body)
	_, _ = w.Write([]byte(strings.ReplaceAll(text, "\n", "\r\n")))
	_ = w.Close()
}

// base64 writes a part in lines of 76 characters (RFC 2045, 6.8).
func (p *parts) base64(kind string, header map[string]string, content []byte) {
	h := textproto.MIMEHeader{"Content-Type": {kind}, "Content-Transfer-Encoding": {"base64"}}
	for name, value := range header {
		h[name] = []string{value}
	}
	body, _ := p.CreatePart(h)
	text := base64.StdEncoding.EncodeToString(content)
	for len(text) > 76 {
		fmt.Fprintf(body, "%s\r\n", text[:76])
		text = text[76:]
	}
	fmt.Fprintf(body, "%s\r\n", text)
}
