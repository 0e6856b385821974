// Package ticket makes the keyed tokens that stand in addresses and links of a shop's
// mail, and reads them when they come back: who was written to, which message a report is
// about, who wants no more mail. A token cannot be made without the shop's key, and says
// nothing of what it stands for but to whoever holds that.
package ticket

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/base64"
	"encoding/binary"
	"strings"
	"time"
)

// Key is a shop's secret. At least 16 bytes of chance; whoever knows it can write as any
// owner.
type Key []byte

// replyCounts is how long the token of a message proves who answers it. Our decision: a
// service and its reminders are over by then.
const replyCounts = 30 * 24 * time.Hour

// macBytes are the 80 bits that a token cannot be guessed by; more would crowd local parts,
// which hold 64 octets.
const macBytes = 10

var small = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

func (k Key) mac(kind string, parts ...string) []byte {
	h := hmac.New(sha256.New, k)
	for _, p := range append([]string{kind}, parts...) {
		var n [4]byte
		binary.BigEndian.PutUint32(n[:], uint32(len(p)))
		h.Write(n[:])
		h.Write([]byte(p))
	}
	return h.Sum(nil)
}

func days(at time.Time) uint16 { return uint16(at.Unix() / 86400) }

// Reply makes the detail of the address that an owner answers to: whoever writes there
// from the same address has read the message.
func (k Key) Reply(shop, address string, now time.Time) string {
	day := binary.BigEndian.AppendUint16(nil, days(now.Add(replyCounts)))
	return "r" + small.EncodeToString(append(day, k.mac("reply", shop, address, string(day))[:macBytes]...))
}

// Replied tells whether a detail is that of a message to this address which still counts.
func (k Key) Replied(detail, shop, address string, now time.Time) bool {
	rest, ok := strings.CutPrefix(strings.ToLower(detail), "r")
	b, err := small.DecodeString(rest)
	if !ok || err != nil || len(b) != 2+macBytes || len(k) == 0 {
		return false
	}
	good := hmac.Equal(b[2:], k.mac("reply", shop, address, string(b[:2]))[:macBytes])
	return good && binary.BigEndian.Uint16(b) >= days(now)
}

// Envelope makes the name of a message in its envelope: reports come back to it, and
// bear it as their envelope id.
func (k Key) Envelope(shop, line string) string {
	return small.EncodeToString(k.mac("envelope", shop, line)[:macBytes])
}

// Bounce makes the detail of the address that reports on a message go to.
func (k Key) Bounce(shop, line string) string { return "b" + k.Envelope(shop, line) }

// MessageID makes the id of a message, the same at each attempt to send it.
func (k Key) MessageID(shop, line, domain string) string {
	return "<" + small.EncodeToString(k.mac("message", shop, line)[:15]) + "@" + domain + ">"
}

// Boundary makes a multipart boundary, the same at each attempt.
func (k Key) Boundary(shop, line, which string) string {
	return which + small.EncodeToString(k.mac("boundary", shop, line, which)[:15])
}

// Loop makes the token that a shop's own mail is known by when it comes back.
func (k Key) Loop(shop string) string { return small.EncodeToString(k.mac("loop", shop)[:macBytes]) }

// Leave makes the last part of the link by which an address asks for no more messages.
func (k Key) Leave(shop, address string) string {
	return base64.RawURLEncoding.EncodeToString(append(k.mac("leave", shop, address)[:16], address...))
}

// Left reads such a link: the address that asks.
func (k Key) Left(token, shop string) (address string, ok bool) {
	b, err := base64.RawURLEncoding.DecodeString(token)
	if err != nil || len(b) <= 16 || len(b) > 16+254 || len(k) == 0 {
		return "", false
	}
	address = string(b[16:])
	return address, hmac.Equal(b[:16], k.mac("leave", shop, address)[:16])
}
