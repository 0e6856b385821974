package pdu

import "errors"

// The information elements of a user data header that are read here, TS 23.040 section
// 9.2.3.24.
const (
	ElementConcat      = 0x00 // 8-bit reference
	ElementPort8       = 0x04 // for an application, not for a reader
	ElementPort16      = 0x05
	ElementConcatWide  = 0x08 // 16-bit reference
	ElementSingleShift = 0x24 // national language, one character at a time
	ElementLockShift   = 0x25 // national language, the whole text
)

// Element is one information element of a user data header.
type Element struct {
	ID   byte
	Data []byte
}

// ErrHeader says that a user data header is cut short or does not add up.
var ErrHeader = errors.New("pdu: the user data header is broken")

// CutHeader takes the user data header off the front of a text. Rest is the text.
func CutHeader(octets []byte) (elements []Element, rest []byte, err error) {
	if len(octets) == 0 || int(octets[0]) > len(octets)-1 {
		return nil, nil, ErrHeader
	}
	head, rest := octets[1:1+octets[0]], octets[1+octets[0]:]
	for len(head) > 0 {
		if len(head) < 2 || int(head[1]) > len(head)-2 {
			return nil, nil, ErrHeader
		}
		end := 2 + int(head[1])
		elements = append(elements, Element{ID: head[0], Data: head[2:end:end]})
		head = head[end:]
	}
	return elements, rest, nil
}

// Concat says which part of a longer text a message is.
type Concat struct {
	Reference uint16
	Wide      bool // the reference has 16 bits
	Total     byte
	Sequence  byte // 1 to Total
}

// Header is the user data header that says so.
func (c Concat) Header() []byte {
	if c.Wide {
		return []byte{6, ElementConcatWide, 4, byte(c.Reference >> 8), byte(c.Reference), c.Total, c.Sequence}
	}
	return []byte{5, ElementConcat, 3, byte(c.Reference), c.Total, c.Sequence}
}

// FindConcat finds the element that says which part this is. As TS 23.040 asks, one that
// makes no sense (no such part, a length of its own) counts as not there; of several the
// last counts (from memory).
func FindConcat(elements []Element) (c Concat, ok bool) {
	for _, e := range elements {
		d := e.Data
		switch {
		case e.ID == ElementConcat && len(d) == 3:
			c = Concat{Reference: uint16(d[0]), Total: d[1], Sequence: d[2]}
		case e.ID == ElementConcatWide && len(d) == 4:
			c = Concat{Reference: uint16(d[0])<<8 | uint16(d[1]), Wide: true, Total: d[2], Sequence: d[3]}
		default:
			continue
		}
		ok = c.Sequence >= 1 && c.Sequence <= c.Total
	}
	if !ok {
		return Concat{}, false
	}
	return c, true
}
