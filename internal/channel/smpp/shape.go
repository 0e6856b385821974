package smpp

import (
	"fmt"
	"hash/fnv"
	"strings"
	"time"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/conversation"
	"tubhand/internal/smstext"
)

// mostParts bounds a message that goes out. Texts of flows have two; a person's words may
// have more.
const mostParts = 20

// shape makes the submits of a line, one for each part, with a reference that its parts share.
func (l *Link) shape(line conversation.Line, reference uint16) ([]pdu.Message, error) {
	c := l.config.Settings
	if strings.TrimSpace(line.Text) == "" {
		return nil, fmt.Errorf("the message has no text")
	}
	text := encode(line.Text, c.Alphabet, c.Long.header())
	if len(text.parts) > mostParts {
		return nil, fmt.Errorf("the message takes %d parts, more than %d", len(text.parts), mostParts)
	}
	base := pdu.Message{Source: outward(line.From), Destination: outward(line.To), DataCoding: text.coding, Validity: relative(c.Validity)}
	if len(base.Destination.Number) > 20 || base.Destination.Number == "" {
		return nil, fmt.Errorf("the recipient's number cannot be written")
	}
	if !c.Silent {
		base.Registered = 1 // a receipt whether it arrives or fails
	}
	var messages []pdu.Message
	for i, octets := range text.parts {
		m := base
		m.TLVs = pdu.TLVs{pdu.Short(pdu.TagUserReference, userReference(line.ID, i))}
		c.Long.put(&m, octets, pdu.Concat{Reference: reference, Wide: c.Long == UDH16, Total: byte(len(text.parts)), Sequence: byte(i + 1)})
		messages = append(messages, m)
	}
	return messages, nil
}

// header is how many octets of a part over the air the header takes; 0: the text is not cut here.
func (long Long) header() int {
	switch long {
	case Payload:
		return 0
	case UDH16, SAR: // a message center may write either reference for sar_msg_ref_num
		return smstext.Header16
	}
	return smstext.Header8
}

// put puts one part's octets where this way of sending wants them.
func (long Long) put(m *pdu.Message, octets []byte, part pdu.Concat) {
	switch {
	case long == Payload && len(octets) > 140:
		m.TLVs = append(m.TLVs, pdu.TLV{Tag: pdu.TagMessagePayload, Value: octets})
		return
	case part.Total == 1:
	case long == SAR:
		m.TLVs = append(m.TLVs, pdu.Short(pdu.TagSARReference, part.Reference),
			pdu.Octet(pdu.TagSARTotal, part.Total), pdu.Octet(pdu.TagSARSequence, part.Sequence))
	default:
		m.ESMClass |= pdu.ClassHasHeader
		octets = append(part.Header(), octets...)
	}
	m.Short = octets
}

// outward writes a number: E.164 as international without its +, anything shorter than a
// phone number as a short code.
func outward(number string) pdu.Address {
	if digits, ok := strings.CutPrefix(number, "+"); ok {
		return pdu.Address{TON: pdu.TONInternational, NPI: pdu.NPIISDN, Number: digits}
	}
	if len(number) <= 8 {
		return pdu.Address{TON: pdu.TONNetwork, NPI: pdu.NPIUnknown, Number: number}
	}
	return pdu.Address{TON: pdu.TONUnknown, NPI: pdu.NPIISDN, Number: number}
}

// inward reads a number: of type international with its +.
func inward(a pdu.Address) string {
	if a.TON == pdu.TONInternational && !strings.HasPrefix(a.Number, "+") {
		return "+" + a.Number
	}
	return a.Number
}

// relative writes how long the message center may try, section 7.1.1; "" for its default.
func relative(d time.Duration) string {
	if d <= 0 {
		return ""
	}
	minutes := int(d.Minutes())
	return fmt.Sprintf("0000%02d%02d%02d00000R", minutes/(24*60), minutes/60%24, minutes%60)
}

// userReference is a part's user_message_reference: the same at each attempt.
func userReference(line string, part int) uint16 {
	h := fnv.New32a()
	fmt.Fprintf(h, "%s/%d", line, part)
	sum := h.Sum32()
	return uint16(sum>>16) ^ uint16(sum)
}
