package smpp

import (
	"context"
	"errors"

	"tubhand/internal/channel/smpp/pdu"
)

// deliver handles what the message center brings, and gives what to answer.
func (l *Link) deliver(ctx context.Context, s *session, m pdu.Message) pdu.Status {
	kind := m.ESMClass & pdu.ClassType
	_, receipted := m.TLVs.Get(pdu.TagReceiptedMessageID)
	switch {
	case kind == pdu.ClassReceipt || kind == pdu.ClassNotice || receipted:
		return l.receipt(ctx, m)
	case kind != 0: // a handset's acknowledgement: nobody asked for one
		l.config.Observe("ignored")
		return pdu.OK
	}
	return l.text(ctx, s, m)
}

// incoming is a text, or a part of one, taken out of its unit.
type incoming struct {
	from, to string
	coding   byte
	spanish  bool // its header chose the Spanish shift table
	octets   []byte
	part     pdu.Concat // Total 0 or 1: the whole text
	sar      bool       // the part was told by sar_ parameters
	machine  bool       // for an application on the phone, not for a reader
}

// open takes a text out of its unit. A header that is broken is read as text: whatever an
// owner wrote is worth more than its form.
func open(m pdu.Message) incoming {
	in := incoming{from: inward(m.Source), to: inward(m.Destination), coding: m.DataCoding, octets: m.Short}
	if payload, ok := m.TLVs.Get(pdu.TagMessagePayload); ok && len(m.Short) == 0 {
		in.octets = payload
	}
	if m.ESMClass&pdu.ClassHasHeader != 0 {
		if elements, rest, err := pdu.CutHeader(in.octets); err == nil {
			in.octets = rest
			in.part, _ = pdu.FindConcat(elements)
			in.read(elements)
		}
	}
	reference, ok := m.TLVs.Number(pdu.TagSARReference)
	total, _ := m.TLVs.Number(pdu.TagSARTotal)
	sequence, _ := m.TLVs.Number(pdu.TagSARSequence)
	if ok && in.part.Total == 0 && sequence >= 1 && sequence <= total && total <= 255 {
		in.sar = true
		in.part = pdu.Concat{Reference: reference, Wide: true, Total: byte(total), Sequence: byte(sequence)}
	}
	return in
}

func (in *incoming) read(elements []pdu.Element) {
	for _, e := range elements {
		switch e.ID {
		case pdu.ElementPort8, pdu.ElementPort16:
			in.machine = true
		case pdu.ElementSingleShift:
			in.spanish = len(e.Data) == 1 && e.Data[0] == 2
		}
	}
}

// key is the same for equal texts.
func (in incoming) key() string {
	return digest(in.from, in.to, string([]byte{in.coding}), string(in.octets))
}

// answered notes that the answer to a text has been written.
func (l *Link) answered(s *session, m pdu.Message) {
	if in := open(m); m.ESMClass&pdu.ClassType == 0 && in.part.Total <= 1 {
		l.again.answered(s, in.key(), s.lastRequest())
	}
}

// text hands a whole text in, and a part to its fellows.
func (l *Link) text(ctx context.Context, s *session, m pdu.Message) pdu.Status {
	in := open(m)
	switch {
	case in.machine:
		l.config.Observe("ignored")
		return pdu.RejectedForGood
	case in.part.Total > 1:
		return l.part(ctx, in)
	}
	key := in.key()
	id := l.again.arrived(s, key, l.config.Clock.Now())
	err := l.config.Texts.Take(ctx, l.config.Settings.Gateway, Text{From: in.from, To: in.to, ID: id,
		Body: decode(in.coding, l.config.Settings.Alphabet, in.spanish, in.octets)})
	if err == nil {
		l.again.taken(s, key, l.config.Clock.Now())
	}
	l.config.Observe("text")
	return l.answer(err)
}

// answer is what a text is answered with. What is not for good comes again.
func (l *Link) answer(err error) pdu.Status {
	switch {
	case err == nil:
		return pdu.OK
	case errors.Is(err, ErrNoLine):
		return pdu.InvalidDestination
	case errors.Is(err, ErrNoSender):
		return pdu.InvalidSource
	}
	l.config.Observe("put off")
	return pdu.TryAgain
}
