package sms

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/textproto"
	"slices"
	"strconv"
	"strings"
	"time"
)

// receivedHeader tells in a saved callback when it came, so that a signed time can be
// judged again later.
const receivedHeader = "Tubhand-Received"

// maxSaved bounds a saved callback: a body and 32 KiB of headers.
const maxSaved = maxRequest + 32<<10

// WriteTo writes a callback as a file to be read again by ReadSaved: the request as it
// stands in HTTP, with a header for the time when it came.
func (cb *Callback) WriteTo(w io.Writer, at time.Time) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s %s HTTP/1.1\r\n", cb.Method, cb.URI)
	for _, name := range slices.Sorted(maps.Keys(cb.Header)) {
		for _, v := range cb.Header[name] {
			if name != "Content-Length" && name != receivedHeader {
				fmt.Fprintf(&b, "%s: %s\r\n", name, inHeader(v))
			}
		}
	}
	fmt.Fprintf(&b, "Content-Length: %d\r\n%s: %s\r\n\r\n", len(cb.Body), receivedHeader, at.UTC().Format(time.RFC3339Nano))
	b.Write(cb.Body)
	_, err := w.Write(b.Bytes())
	return err
}

// ReadSaved reads a saved callback, or one written by hand, and when it came; the zero time
// where it does not tell. What follows after its Content-Length, such as the line end
// that an editor adds, is left out.
func ReadSaved(r io.Reader) (*Callback, time.Time, error) {
	raw, err := io.ReadAll(io.LimitReader(r, maxSaved+1))
	switch {
	case err != nil:
		return nil, time.Time{}, fmt.Errorf("saved callback: %w", err)
	case len(raw) > maxSaved:
		return nil, time.Time{}, fmt.Errorf("saved callback: more than %d bytes", maxSaved)
	}
	buffered := bufio.NewReader(bytes.NewReader(raw))
	text := textproto.NewReader(buffered)
	first, err := text.ReadLine()
	parts := strings.Fields(first)
	if err != nil || len(parts) != 3 || !strings.HasPrefix(parts[1], "/") || !strings.HasPrefix(parts[2], "HTTP/") {
		return nil, time.Time{}, errors.New("saved callback: line 1 is no request; write one like POST /in/sms/reedline HTTP/1.1")
	}
	head, err := text.ReadMIMEHeader()
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, time.Time{}, fmt.Errorf("saved callback: the headers cannot be read; write each as Name: value, then an empty line: %w", err)
	}
	body, _ := io.ReadAll(buffered) // from memory
	if n, err := strconv.Atoi(head.Get("Content-Length")); err == nil && n >= 0 && n <= len(body) {
		body = body[:n]
	}
	var at time.Time
	if written := head.Get(receivedHeader); written != "" {
		if at, err = time.Parse(time.RFC3339Nano, written); err != nil {
			return nil, at, fmt.Errorf("saved callback: %s: %q is no time; write one like 2026-06-13T12:00:00Z", receivedHeader, written)
		}
		head.Del(receivedHeader)
	}
	return &Callback{Method: parts[0], URI: parts[1], Header: http.Header(head), Body: body}, at, nil
}
