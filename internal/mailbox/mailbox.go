// Package mailbox reads e-mail addresses as people and mail systems write them and gives
// them back in the one form that is stored: the local part exactly as written, since
// only its own host knows what it means by it (RFC 5321, 2.4), and the domain in small
// letters.
package mailbox

import (
	"errors"
	"strings"
)

// The reasons why an address is refused; compare with errors.Is. Their texts are fit to
// be shown to whoever sent the address.
var (
	ErrEmpty  = errors.New("the e-mail address is missing")
	ErrUnread = errors.New("not an e-mail address")
)

// The bounds of RFC 5321, 4.5.3.1: octets of a local part, and of a path without its
// brackets.
const (
	longestLocal = 64
	longest      = 254
)

// Parse reads a bare address such as Anna.Reed@owner.example. Quoted local parts,
// address literals and letters outside ASCII are refused: hardly any mailbox has them,
// and each is a way to smuggle something past whoever compares addresses.
func Parse(written string) (string, error) {
	s := strings.TrimSpace(written)
	if s == "" {
		return "", ErrEmpty
	}
	local, domain, ok := strings.Cut(s, "@")
	if !ok || len(s) > longest || !dotted(local) || !Domain(domain) {
		return "", ErrUnread
	}
	return local + "@" + strings.ToLower(domain), nil
}

// Is tells whether a stored address is an e-mail address and not a telephone number.
func Is(address string) bool { return strings.Contains(address, "@") }

// Of gives the domain of a stored address.
func Of(address string) string {
	_, domain, _ := strings.Cut(address, "@")
	return domain
}

// Detail takes the subaddress off an address (RFC 5233): hello+x@shop.example gives
// hello@shop.example and x. Without one the detail is "".
func Detail(address string) (base, detail string) {
	local, domain, _ := strings.Cut(address, "@")
	name, detail, _ := strings.Cut(local, "+")
	return name + "@" + domain, detail
}

// WithDetail puts a subaddress into an address.
func WithDetail(address, detail string) string {
	local, domain, _ := strings.Cut(address, "@")
	return local + "+" + detail + "@" + domain
}

// dotted knows a dot-atom of RFC 5322, 3.2.3.
func dotted(local string) bool {
	if local == "" || len(local) > longestLocal {
		return false
	}
	for atom := range strings.SplitSeq(local, ".") {
		if atom == "" || strings.ContainsFunc(atom, func(r rune) bool { return !isAtom(r) }) {
			return false
		}
	}
	return true
}

func isAtom(r rune) bool {
	return letterOrDigit(r) || strings.ContainsRune("!#$%&'*+-/=?^_`{|}~", r)
}

func letterOrDigit(r rune) bool {
	return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9'
}

// Domain tells whether s is a host name of at least two labels (RFC 1123, 2.1).
func Domain(s string) bool {
	if len(s) > 253 || !strings.Contains(s, ".") {
		return false
	}
	for label := range strings.SplitSeq(s, ".") {
		if label == "" || len(label) > 63 || label[0] == '-' || label[len(label)-1] == '-' ||
			strings.ContainsFunc(label, func(r rune) bool { return !letterOrDigit(r) && r != '-' && r != '_' }) {
			return false
		}
	}
	return true
}
