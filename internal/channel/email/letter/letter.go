// Package letter reads e-mail messages (RFC 5322, MIME) as strangers send them: who
// wrote, what they wrote themselves, which thread it belongs to, and whether a machine
// wrote it. Size, depth and number of parts are bounded; what is attached is only noted.
package letter

import (
	"bytes"
	"errors"
	"fmt"
	"mime"
	"net/mail"
	"strings"

	"github.com/emersion/go-message"
	_ "github.com/emersion/go-message/charset" // mail in other charsets than UTF-8

	"tubhand/internal/mailbox"
)

// MaxBytes bounds a whole message. Phones' photographs fit; they are not kept.
const MaxBytes = 20 << 20

// The bounds of what is looked at. Real messages stay far below.
const (
	maxHeader = 128 << 10 // of each header block
	maxParts  = 60
	maxDepth  = 8
	maxText   = 128 << 10 // decoded characters of one part's text
	maxNoted  = 20        // attachments told of
)

// The reasons why a message is refused; compare with errors.Is.
var (
	ErrTooLong = errors.New("the message is too long")
	ErrUnread  = errors.New("the message cannot be read")
	ErrAuthor  = errors.New("the message does not name one author in one From field")
)

// Letter is a message that has been read.
type Letter struct {
	From       string   // the author's address, as mailbox.Parse gives it
	To         []string // the addresses of To and Cc, and what delivery noted
	Subject    string   // decoded, on one line
	MessageID  string   // with its brackets; "" where there is none
	InReplyTo  string
	References []string // message ids with brackets, oldest first
	ReturnPath string   // as the last relay noted it: "<>" for a report, "" where there is none
	Results    []string // Authentication-Results fields, the topmost first
	Hops       int      // Received fields
	Text       string   // everything that was written, quotations included
	Attached   []Attached
	Machine    string // why no person wrote it; "" where one may have
	Looped     string // our own loop token; "" where there is none
	Report     *Report
}

// Attached is a part that is noted and not kept.
type Attached struct {
	Name string // as its sender calls it, on one line
	Type string // media type
	Size int    // decoded bytes
}

// Read reads one message. Errors wrap one of the reasons above.
func Read(raw []byte) (*Letter, error) {
	if len(raw) > MaxBytes {
		return nil, ErrTooLong
	}
	e, err := message.ReadWithOptions(bytes.NewReader(raw), &message.ReadOptions{MaxHeaderBytes: maxHeader})
	if e == nil || err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
		return nil, fmt.Errorf("%w: %w", ErrUnread, err)
	}
	l := &Letter{}
	if err := l.readHeader(e.Header); err != nil {
		return nil, err
	}
	w := &walk{}
	w.part(e, 0)
	l.Text, l.Attached, l.Report = w.text(), w.attached, w.report
	if l.Report == nil && w.isReport {
		l.Report = &Report{}
	}
	l.Machine = machine(e.Header, l)
	return l, nil
}

func (l *Letter) readHeader(h message.Header) error {
	from, err := author(h)
	if err != nil {
		return err
	}
	l.From = from
	for _, field := range []string{"To", "Cc", "Delivered-To", "X-Original-To"} {
		l.To = append(l.To, addresses(h, field)...)
	}
	l.Subject = oneLine(decoded(h.Get("Subject")), 200)
	if ids := messageIDs(h.Get("Message-Id")); len(ids) > 0 {
		l.MessageID = ids[0]
	}
	if ids := messageIDs(h.Get("In-Reply-To")); len(ids) > 0 {
		l.InReplyTo = ids[0]
	}
	l.References = messageIDs(h.Get("References"))
	l.ReturnPath = strings.TrimSpace(h.Get("Return-Path"))
	l.Results = h.Values("Authentication-Results")
	l.Hops = len(h.Values("Received"))
	l.Looped = h.Get(LoopField)
	return nil
}

// author wants one From field with one address: with two, what was checked and what is
// shown can differ (RFC 9989 leaves such messages to the receiver).
func author(h message.Header) (string, error) {
	fields := h.Values("From")
	if len(fields) != 1 {
		return "", fmt.Errorf("%w: %d From fields", ErrAuthor, len(fields))
	}
	list := addresses(h, "From")
	if len(list) != 1 {
		return "", ErrAuthor
	}
	return list[0], nil
}

// addresses reads the addresses of all fields of a name; what is none is passed over.
func addresses(h message.Header, field string) []string {
	var out []string
	for _, value := range h.Values(field) {
		list, err := (&mail.AddressParser{WordDecoder: decoder()}).ParseList(value)
		if err != nil {
			continue
		}
		for _, a := range list {
			if address, err := mailbox.Parse(a.Address); err == nil && len(out) < 200 {
				out = append(out, address)
			} else if field == "From" {
				out = append(out, "") // an author that cannot be read is an author
			}
		}
	}
	if field == "From" && len(out) == 1 && out[0] == "" {
		return nil
	}
	return out
}

func decoder() *mime.WordDecoder { return &mime.WordDecoder{CharsetReader: message.CharsetReader} }

func decoded(value string) string {
	if text, err := decoder().DecodeHeader(value); err == nil {
		return text
	}
	return value
}

// oneLine makes a stranger's words fit for a line: no control characters, so many
// characters at most.
func oneLine(s string, most int) string {
	s = strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))), " ")
	if runes := []rune(s); len(runes) > most {
		s = string(runes[:most])
	}
	return s
}

// mostReferences is how many message ids of a thread are kept: the first, which began
// it, and the last.
const mostReferences = 20

// messageIDs finds the ids of a field. Odd ones, which would break the header that they
// are written into, are passed over.
func messageIDs(value string) []string {
	var ids []string
	for len(value) > 0 {
		open := strings.IndexByte(value, '<')
		if open < 0 {
			break
		}
		end := strings.IndexByte(value[open:], '>')
		if end < 0 {
			break
		}
		if id := value[open : open+end+1]; plainID(id) {
			ids = append(ids, id)
		}
		value = value[open+end+1:]
	}
	return Trim(ids)
}

func plainID(id string) bool {
	return len(id) > 2 && len(id) <= 250 && !strings.ContainsFunc(id, func(r rune) bool { return r <= ' ' || r > '~' }) &&
		!strings.ContainsRune(id[1:], '<')
}

// Trim shortens a thread's message ids in the middle.
func Trim(ids []string) []string {
	if len(ids) <= mostReferences {
		return ids
	}
	return append(ids[:1:1], ids[len(ids)-mostReferences+1:]...)
}
