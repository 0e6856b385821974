package pdu

import (
	"bytes"
	"encoding/binary"
)

// The tags of optional parameters that are read and written here, section 5.3.2.
const (
	TagReceiptedMessageID = 0x001E
	TagUserReference      = 0x0204 // user_message_reference, two octets
	TagSARReference       = 0x020C // two octets
	TagSARTotal           = 0x020E // one octet
	TagSARSequence        = 0x020F // one octet
	TagVersion            = 0x0210 // sc_interface_version, one octet
	TagMessagePayload     = 0x0424
	TagMessageState       = 0x0427 // one octet
)

// mostTLVs bounds the optional parameters of one unit; real ones have a handful.
const mostTLVs = 64

// TLV is one optional parameter.
type TLV struct {
	Tag   uint16
	Value []byte
}

// TLVs are the optional parameters of a unit in their order.
type TLVs []TLV

// Get is the value of the first parameter with this tag.
func (ts TLVs) Get(tag uint16) (value []byte, ok bool) {
	for _, t := range ts {
		if t.Tag == tag {
			return t.Value, true
		}
	}
	return nil, false
}

// Number is the value of a parameter of one or two octets.
func (ts TLVs) Number(tag uint16) (n uint16, ok bool) {
	value, ok := ts.Get(tag)
	switch {
	case ok && len(value) == 1:
		return uint16(value[0]), true
	case ok && len(value) == 2:
		return binary.BigEndian.Uint16(value), true
	}
	return 0, false
}

// Text is the value of a C-octet string, with or without its NUL, which some leave out.
func (ts TLVs) Text(tag uint16) (s string, ok bool) {
	value, ok := ts.Get(tag)
	value, _, _ = bytes.Cut(value, []byte{0})
	return string(value), ok
}

// Octet makes a parameter of one octet.
func Octet(tag uint16, n byte) TLV { return TLV{Tag: tag, Value: []byte{n}} }

// Short makes a parameter of two octets.
func Short(tag, n uint16) TLV { return TLV{Tag: tag, Value: binary.BigEndian.AppendUint16(nil, n)} }
