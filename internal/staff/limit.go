package staff

import (
	"context"
	"errors"
	"net/netip"
	"time"

	"tubhand/internal/store"
)

// Tries are counted in windows of this length: a window begins with its first try.
const window = 15 * time.Minute

// How many tries a window has.
const (
	triesOfAccount = 10 // passwords for one name, whether it has an account or not
	triesOfAddress = 30 // passwords from one address
	stepsOfAddress = 90 // passkeys and links from one address; they can't be guessed
)

// TooMany says that there were too many tries, and when the next one counts.
type TooMany struct{ Until time.Time }

// Error implements error.
func (e *TooMany) Error() string { return "too many tries" }

type tries struct {
	Count int `json:"count"`
}

// spend counts a try before it is looked at, so that tries side by side count too. The
// counts are in the store: they hold for all servers, and a restart forgives nothing.
func (d *Desk) spend(ctx context.Context, what string, most int) error {
	key := mark(what)
	for range 16 {
		now := d.Clock.Now()
		var n tries
		doc, err := d.read(ctx, kindTries, key, &n)
		if errors.Is(err, store.ErrNotFound) {
			doc, err = store.Document{Expires: now.Add(window)}, nil
		}
		if err != nil {
			return err
		}
		if n.Count >= most {
			return &TooMany{doc.Expires}
		}
		n.Count++
		err = d.write(ctx, kindTries, key, doc.Version, doc.Expires, n)
		if !errors.Is(err, store.ErrConflict) {
			return err
		}
	}
	return &TooMany{d.Clock.Now().Add(time.Second)} // very many at once
}

// forgive forgets tries, after one that was right.
func (d *Desk) forgive(ctx context.Context, what string) error {
	err := d.Store.DeleteDocument(ctx, d.Shop, kindTries, mark(what), d.Clock.Now())
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	return err
}

// spendAddress counts a try of an address. An IPv6 network of 64 bits counts as one, since
// whoever has one address of it has them all.
func (d *Desk) spendAddress(ctx context.Context, what, address string, most int) error {
	if ip, err := netip.ParseAddr(address); err == nil {
		ip = ip.Unmap().WithZone("")
		address = ip.String()
		if ip.Is6() {
			if p, err := ip.Prefix(64); err == nil {
				address = p.String()
			}
		}
	}
	return d.spend(ctx, what+" "+address, most)
}
