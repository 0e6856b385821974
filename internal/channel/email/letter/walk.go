package letter

import (
	"io"
	"strings"

	"github.com/emersion/go-message"
)

// walk goes through the parts of a message and gathers what people wrote.
type walk struct {
	parts    int
	texts    []string
	attached []Attached
	report   *Report
	isReport bool
}

func (w *walk) text() string { return strings.TrimSpace(strings.Join(w.texts, "\n")) }

// part looks at one part and at what is in it, as deep as the bounds allow.
func (w *walk) part(e *message.Entity, depth int) {
	if w.parts++; w.parts > maxParts {
		return
	}
	kind, params, err := e.Header.ContentType()
	if err != nil || kind == "" {
		kind = "text/plain"
	}
	if kind == "multipart/report" && depth == 0 {
		w.isReport = true
	}
	if parts := e.MultipartReader(); parts != nil {
		w.many(parts, kind, depth)
		return
	}
	disposition, named, _ := e.Header.ContentDisposition()
	switch {
	case kind == "message/delivery-status" || kind == "message/global-delivery-status":
		w.read(e.Body, w.status)
	case w.isReport && (kind == "text/rfc822-headers" || kind == "message/rfc822" || kind == "message/global-headers"):
		w.read(e.Body, w.returned)
	case disposition == "attachment" || kind != "text/plain" && kind != "text/html":
		w.note(e.Body, name(named["filename"], params["name"]), kind)
	case kind == "text/html":
		w.read(e.Body, func(s string) { w.texts = append(w.texts, FromHTML(s)) })
	default:
		w.read(e.Body, func(s string) { w.texts = append(w.texts, plain(s, params)) })
	}
}

// many goes through a multipart. Of alternatives the plain one counts, else the first
// that has words.
func (w *walk) many(parts message.MultipartReader, kind string, depth int) {
	if depth >= maxDepth {
		w.attached = append(w.attached, Attached{Name: "parts nested too deeply", Type: kind})
		return
	}
	before := w.texts
	var plainly, otherwise []string
	for w.parts <= maxParts {
		e, err := parts.NextPart()
		if e == nil || err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
			break
		}
		w.texts = nil
		w.part(e, depth+1)
		if inner, _, _ := e.Header.ContentType(); inner == "text/plain" || inner == "" {
			plainly = append(plainly, w.texts...)
		} else if kind == "multipart/alternative" {
			otherwise = append(otherwise, w.texts...)
		} else {
			plainly = append(plainly, w.texts...) // in their order
		}
	}
	if strings.TrimSpace(strings.Join(plainly, "")) == "" {
		plainly = otherwise
	}
	w.texts = append(before, plainly...)
}

// read hands on a part's decoded text, bounded and valid.
func (w *walk) read(body io.Reader, take func(string)) {
	b, _ := io.ReadAll(io.LimitReader(body, maxText))
	if len(b) > 0 {
		take(strings.ReplaceAll(strings.ToValidUTF8(string(b), "\uFFFD"), "\r\n", "\n"))
	}
}

// note counts an attachment's bytes and keeps none of them.
func (w *walk) note(body io.Reader, name, kind string) {
	size, _ := io.Copy(io.Discard, io.LimitReader(body, MaxBytes))
	if len(w.attached) < maxNoted {
		w.attached = append(w.attached, Attached{Name: name, Type: oneLine(kind, 60), Size: int(size)})
	}
}

func name(filename, other string) string {
	if filename == "" {
		filename = other
	}
	return oneLine(decoded(filename), 80)
}

// plain undoes the wrapping of format=flowed (RFC 3676, 4).
func plain(s string, params map[string]string) string {
	if !strings.EqualFold(params["format"], "flowed") {
		return s
	}
	joined := ""
	if strings.EqualFold(params["delsp"], "yes") {
		joined = " "
	}
	var b strings.Builder
	for line := range strings.SplitSeq(s, "\n") {
		stuffed := strings.TrimPrefix(line, " ")
		flows := strings.HasSuffix(stuffed, " ") && stuffed != "-- " && !strings.HasPrefix(stuffed, ">")
		if flows {
			b.WriteString(strings.TrimSuffix(stuffed, joined))
			continue
		}
		b.WriteString(stuffed + "\n")
	}
	return b.String()
}
