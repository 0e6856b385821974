package sms

import (
	"log/slog"

	"tubhand/internal/clock"
	"tubhand/internal/shop"
)

// NewPlain makes a sender to the plain gateway at url: JSON from, to, body and key, posted.
// The clock reads a Retry-After that is a date.
func NewPlain(url string, c clock.Clock) *Sender {
	s, err := NewSender(shop.PlainGateway("plain", url), shop.Vault{}, nil, c, slog.New(slog.DiscardHandler))
	if err != nil {
		panic("the plain gateway: " + err.Error()) // it has no secret, and its fields are known
	}
	return s
}
