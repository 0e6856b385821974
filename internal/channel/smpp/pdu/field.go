package pdu

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
)

// writer appends fields; after the first that cannot be written it does nothing.
type writer struct {
	out []byte
	err error
}

func (w *writer) fail(format string, args ...any) {
	if w.err == nil {
		w.err = fmt.Errorf(format, args...)
	}
}

func (w *writer) octets(o ...byte) { w.out = append(w.out, o...) }

// text writes a C-octet string; size counts its NUL.
func (w *writer) text(field, s string, size int) {
	switch {
	case len(s) >= size:
		w.fail("%s has %d octets, more than %d", field, len(s), size-1)
	case strings.ContainsRune(s, 0):
		w.fail("%s has a NUL within", field)
	default:
		w.out = append(append(w.out, s...), 0)
	}
}

func (w *writer) address(field string, a Address) {
	w.octets(a.TON, a.NPI)
	w.text(field, a.Number, sizeNumber)
}

func (w *writer) tlvs(ts TLVs) {
	if len(ts) > mostTLVs {
		w.fail("has %d optional parameters, more than %d", len(ts), mostTLVs)
	}
	for _, t := range ts {
		if len(t.Value) > 0xFFFF {
			w.fail("parameter 0x%04X has %d octets, more than 65535", t.Tag, len(t.Value))
			return
		}
		w.out = binary.BigEndian.AppendUint16(w.out, t.Tag)
		w.out = binary.BigEndian.AppendUint16(w.out, uint16(len(t.Value)))
		w.out = append(w.out, t.Value...)
	}
}

// reader takes fields off the front; after the first that is wrong it gives nothing.
type reader struct {
	in     []byte
	wrong  string
	answer Status
}

func (r *reader) fail(answer Status, wrong string) {
	if r.wrong == "" {
		r.wrong, r.answer = wrong, answer
	}
	r.in = nil
}

func (r *reader) take(field string, n int) []byte {
	if r.wrong != "" {
		return nil
	}
	if len(r.in) < n {
		r.fail(InvalidCommandLength, field+" is cut short")
		return nil
	}
	got := r.in[:n:n]
	r.in = r.in[n:]
	if n == 0 {
		return nil
	}
	return got
}

func (r *reader) octet(field string) byte {
	got := r.take(field, 1)
	if got == nil {
		return 0
	}
	return got[0]
}

// text reads a C-octet string; size counts its NUL.
func (r *reader) text(field string, size int) string {
	return r.textOr(field, size, InvalidCommandLength)
}

func (r *reader) textOr(field string, size int, answer Status) string {
	if r.wrong != "" {
		return ""
	}
	end := bytes.IndexByte(r.in[:min(size, len(r.in))], 0)
	if end < 0 {
		r.fail(answer, fmt.Sprintf("%s does not end within %d octets", field, size))
		return ""
	}
	s := string(r.in[:end])
	r.in = r.in[end+1:]
	return s
}

func (r *reader) address(field string, answer Status) Address {
	return Address{TON: r.octet(field), NPI: r.octet(field), Number: r.textOr(field, sizeNumber, answer)}
}

func (r *reader) tlvs() TLVs {
	var ts TLVs
	for len(r.in) > 0 {
		if len(ts) == mostTLVs {
			r.fail(InvalidOptional, fmt.Sprintf("has more than %d optional parameters", mostTLVs))
			return nil
		}
		if len(r.in) < 4 {
			r.fail(InvalidOptional, "an optional parameter is cut short")
			return nil
		}
		tag, length := binary.BigEndian.Uint16(r.in), int(binary.BigEndian.Uint16(r.in[2:]))
		if r.in = r.in[4:]; length > len(r.in) {
			r.fail(InvalidOptional, fmt.Sprintf("parameter 0x%04X is cut short", tag))
			return nil
		}
		ts = append(ts, TLV{Tag: tag, Value: r.in[:length:length]})
		r.in = r.in[length:]
	}
	return ts
}
