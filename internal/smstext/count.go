package smstext

import "unicode/utf16"

// Encoding is the alphabet an SMS is sent in.
type Encoding string

// The two encodings of text: 7-bit default alphabet, and 16-bit units. Phones read
// UCS-2 as UTF-16, so an emoji is two units.
const (
	GSM7 Encoding = "GSM-7"
	UCS2 Encoding = "UCS-2"
)

// The sizes of user data, TS 23.040 sections 9.2.3.16 and 9.2.3.24.1.
const (
	userOctets = 140 // octets of user data in one message

	// Header8 is the length in octets of the user data header of one part of a
	// longer message, with an 8-bit reference (05 00 03 RR TT SS).
	Header8 = 6
	// Header16 is the same with a 16-bit reference (06 08 04 RR RR TT SS).
	Header16 = 7
	// MaxParts is the most parts one message can have; the total is one octet.
	MaxParts = 255
)

// Shape is what a text costs. Units are septets with GSM7 and UTF-16 units with
// UCS2. An empty text has 0 units and 0 parts. Parts may exceed MaxParts, and then
// the text cannot be sent as one message.
type Shape struct {
	Encoding Encoding
	Units    int
	Parts    int
}

// PartSize is the room in one message in units of the encoding when its header takes
// that many octets: 160 septets or 70 units with 0, 153 or 67 with Header8, 152 or 66
// with Header16. It is 0 for a header that leaves no room.
func PartSize(encoding Encoding, headerOctets int) int {
	if headerOctets < 0 || headerOctets > userOctets {
		return 0
	}
	if encoding == GSM7 {
		return (userOctets - headerOctets) * 8 / 7
	}
	return (userOctets - headerOctets) / 2
}

// Count gives the shape of text as it would be sent, with an 8-bit reference when it
// needs more than one part. No part ends within an escape pair or a surrogate pair
// (TS 23.040 section 9.2.3.24.1), so 306 septets may need three parts. Bytes that are
// not UTF-8 count as the replacement character.
func Count(text string) Shape {
	encoding := EncodingOf(text)
	units, parts := measure(text, encoding, Header8)
	return Shape{Encoding: encoding, Units: units, Parts: parts}
}

// EncodingOf is GSM7 when every character of text is in the 7-bit default alphabet or
// its extension, else UCS2.
func EncodingOf(text string) Encoding {
	for _, r := range text {
		if septets(r) == 0 {
			return UCS2
		}
	}
	return GSM7
}

// Split cuts text into the parts it is sent in, each with a header of that many
// octets (Header8, Header16) when there is more than one. Joined, the parts are the
// text. An empty text has no part.
func Split(text string, headerOctets int) []string {
	return splitAs(text, EncodingOf(text), headerOctets)
}

// SplitUCS2 cuts a text that is sent as UCS-2 whatever its characters, as Split does.
func SplitUCS2(text string, headerOctets int) []string { return splitAs(text, UCS2, headerOctets) }

func splitAs(text string, encoding Encoding, headerOctets int) []string {
	units, count := measure(text, encoding, headerOctets)
	if units == 0 {
		return nil
	}
	if count == 1 {
		return []string{text}
	}
	parts := make([]string, 0, count)
	size, start, used := PartSize(encoding, headerOctets), 0, 0
	for at, r := range text {
		width := unitsOf(r, encoding)
		if used+width > size {
			parts = append(parts, text[start:at])
			start, used = at, 0
		}
		used += width
	}
	return append(parts, text[start:])
}

// measure counts units, and parts when cut greedily at whole characters.
func measure(text string, encoding Encoding, headerOctets int) (units, parts int) {
	size, used := PartSize(encoding, headerOctets), 0
	for _, r := range text {
		width := unitsOf(r, encoding)
		if parts == 0 || used+width > size {
			parts++
			used = 0
		}
		used += width
		units += width
	}
	if units > 0 && units <= PartSize(encoding, 0) {
		parts = 1
	}
	return units, parts
}

// unitsOf is the width of one character; 0 only for a character that GSM7 has not.
func unitsOf(r rune, encoding Encoding) int {
	if encoding == GSM7 {
		return septets(r)
	}
	return utf16.RuneLen(r)
}
