package pdu

import (
	"encoding/binary"
	"fmt"
	"io"
)

// headerLength is the length in octets of the fixed head of every unit.
const headerLength = 16

// MaxLength is the longest unit that is read or written, in octets: a message_payload
// of 64 KiB, which is the most a length of two octets can tell, and room for the rest.
const MaxLength = 64<<10 + 1024

// PDU is one protocol data unit.
type PDU struct {
	ID       ID
	Status   Status // 0 in requests
	Sequence uint32 // 1 to 0x7FFFFFFF; the answer has its request's
	Body     Body   // of the type that goes with ID; nil is Empty
}

// Body is what follows the head: Bind, BindResp, Message, MessageResp or Empty.
type Body interface{ write(*writer) }

// Empty is the body of enquire_link, unbind, their answers and generic_nack.
type Empty struct{}

func (Empty) write(*writer) {}

// Bind is the body of the three bind requests, section 4.1.
type Bind struct {
	SystemID     string // at most 15 octets
	Password     string // at most 8 octets
	SystemType   string // at most 12 octets
	Version      byte   // 0x34
	TON, NPI     byte   // of the address range
	AddressRange string // at most 40 octets
}

// BindResp is the body of the answers to a bind.
type BindResp struct {
	SystemID string
	TLVs     TLVs
}

// MessageResp is the body of submit_sm_resp and deliver_sm_resp, where MessageID is empty.
type MessageResp struct {
	MessageID string // at most 64 octets
	TLVs      TLVs   // not in the specification, but sent by some
}

// Version34 is the interface_version of SMPP 3.4.
const Version34 = 0x34

// Answer is the response to this request with a status and the body that goes with it:
// no message id, no optional parameters.
func (p PDU) Answer(s Status) PDU {
	answer := PDU{ID: p.ID.Response(), Status: s, Sequence: p.Sequence, Body: Empty{}}
	switch p.ID {
	case SubmitSM, DeliverSM:
		answer.Body = MessageResp{}
	case BindReceiver, BindTransmitter, BindTransceiver:
		answer.Body = BindResp{}
	}
	return answer
}

// Bytes writes the unit. It fails on a field that is too long or has a NUL within, and
// on a body that does not go with the id.
func (p PDU) Bytes() ([]byte, error) {
	if p.Body == nil {
		p.Body = Empty{}
	}
	if !fits(p.ID, p.Body) {
		return nil, fmt.Errorf("pdu: %T is no body of %s", p.Body, p.ID)
	}
	w := &writer{out: make([]byte, headerLength, 256)}
	if !(p.Status != OK && hollow(p.Body)) { // an answer that refuses may leave its body out
		p.Body.write(w)
	}
	if w.err == nil && len(w.out) > MaxLength {
		w.err = fmt.Errorf("has %d octets, more than %d", len(w.out), MaxLength)
	}
	if w.err != nil {
		return nil, fmt.Errorf("pdu: %s: %w", p.ID, w.err)
	}
	binary.BigEndian.PutUint32(w.out[0:], uint32(len(w.out)))
	binary.BigEndian.PutUint32(w.out[4:], uint32(p.ID))
	binary.BigEndian.PutUint32(w.out[8:], uint32(p.Status))
	binary.BigEndian.PutUint32(w.out[12:], p.Sequence)
	return w.out, nil
}

// fits tells whether a body is of the type that goes with an id.
func fits(id ID, b Body) (ok bool) {
	switch id {
	case BindReceiver, BindTransmitter, BindTransceiver:
		_, ok = b.(Bind)
	case BindReceiver.Response(), BindTransmitter.Response(), BindTransceiver.Response():
		_, ok = b.(BindResp)
	case SubmitSM, DeliverSM:
		_, ok = b.(Message)
	case SubmitSM.Response(), DeliverSM.Response():
		_, ok = b.(MessageResp)
	case EnquireLink, EnquireLink.Response(), Unbind, Unbind.Response(), GenericNack:
		_, ok = b.(Empty)
	}
	return ok
}

// hollow tells a body of an answer that says nothing.
func hollow(b Body) bool {
	switch b := b.(type) {
	case BindResp:
		return b.SystemID == "" && len(b.TLVs) == 0
	case MessageResp:
		return b.MessageID == "" && len(b.TLVs) == 0
	}
	return false
}

// Read reads one unit from a stream. An *Error tells what was wrong with a unit that
// came whole, or that the stream can no longer be followed; any other error is the
// reader's.
func Read(r io.Reader) (PDU, error) {
	var head [headerLength]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return PDU{}, fmt.Errorf("pdu: head: %w", err)
	}
	p, length := header(head[:])
	if length < headerLength || length > MaxLength {
		return p, &Error{Head: p, Answer: InvalidCommandLength, Lost: true, Wrong: fmt.Sprintf("command_length %d is none", length)}
	}
	raw := make([]byte, length)
	copy(raw, head[:])
	if _, err := io.ReadFull(r, raw[headerLength:]); err != nil {
		return p, fmt.Errorf("pdu: body of %s: %w", p.ID, err)
	}
	return Decode(raw)
}

func header(head []byte) (p PDU, length uint32) {
	return PDU{
		ID:       ID(binary.BigEndian.Uint32(head[4:])),
		Status:   Status(binary.BigEndian.Uint32(head[8:])),
		Sequence: binary.BigEndian.Uint32(head[12:]),
	}, binary.BigEndian.Uint32(head)
}

// Decode reads one unit that came whole. Every error is an *Error.
func Decode(raw []byte) (PDU, error) {
	if len(raw) < headerLength {
		return PDU{}, &Error{Answer: InvalidCommandLength, Lost: true, Wrong: "is shorter than a head"}
	}
	p, length := header(raw)
	if int64(length) != int64(len(raw)) || length > MaxLength {
		return p, &Error{Head: p, Answer: InvalidCommandLength, Lost: true, Wrong: fmt.Sprintf("command_length %d, but %d octets", length, len(raw))}
	}
	r := &reader{in: raw[headerLength:]}
	body := r.body(p.ID, p.Status)
	if r.wrong == "" && len(r.in) > 0 {
		r.fail(InvalidCommandLength, fmt.Sprintf("%d octets are left over", len(r.in)))
	}
	if r.wrong != "" {
		return p, &Error{Head: p, Answer: r.answer, Wrong: r.wrong}
	}
	p.Body = body
	return p, nil
}

// Error is a unit that cannot be read.
type Error struct {
	Head   PDU    // id, status and sequence number, as far as they were read
	Answer Status // to refuse it with
	Lost   bool   // where the next unit begins is not known
	Wrong  string
}

// Error implements error.
func (e *Error) Error() string { return fmt.Sprintf("pdu: %s: %s", e.Head.ID, e.Wrong) }
