// Package intake holds strangers to what the channels have in common: how fast one of them
// may write, and how much of a long message is handled.
package intake

import "unicode/utf8"

// maxText is how many characters of one message are handled. It is more than any phone
// sends as one text (ten segments of 153 septets); what comes beyond it is cut off.
const maxText = 1600

// maxSeen is how many characters are looked through for an emergency: fifty segments.
// Looking takes time, and nobody writes more in need.
const maxSeen = 8000

// overlap keeps a phrase that lies across two windows whole in one of them.
const overlap = 200

// Bound cuts a text to 1600 characters: the first ones, unless the emergency in a long one
// stands further down.
func Bound(s string, urgent func(string) bool) string {
	if len(s) <= maxText || utf8.RuneCountInString(s) <= maxText {
		return s
	}
	runes := []rune(s)
	runes = runes[:min(len(runes), maxSeen)]
	first := string(runes[:maxText])
	if urgent(first) {
		return first
	}
	for at := maxText - overlap; at < len(runes); at += maxText - overlap {
		window := string(runes[at:min(at+maxText, len(runes))])
		if urgent(window) {
			return window
		}
	}
	return first
}
