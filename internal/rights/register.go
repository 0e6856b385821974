package rights

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/store"
)

// The documents of the register.
const (
	optOutKind = "opt-out" // by hash
	secretKind = "secret"
	secretKey  = "opt-outs"
	secretSize = 32
)

// Register keeps who has opted out, beside conversations: by a keyed hash of the address
// (HMAC-SHA256), so that the list tells nobody a number, and an address that comes back
// after everything else was erased is still known. Entries never expire: 47 CFR
// 64.1200(d)(6) asks for five years at least. It is safe for concurrent use.
type Register struct {
	documents store.Documents
	clock     clock.Clock
	given     []byte

	mu   sync.Mutex
	keys map[string][]byte // by shop
}

// NewRegister makes a register over a store's documents. With a secret of the
// installation, hashes are keyed by that; with none each shop has one of its own in its
// documents.
func NewRegister(documents store.Documents, c clock.Clock, secret []byte) *Register {
	return &Register{documents: documents, clock: c, given: secret, keys: map[string][]byte{}}
}

// entry is what is kept of an opt-out.
type entry struct {
	Since time.Time `json:"since"`
}

// kept is how a shop's secret stands in its documents: itself, or of one that is given
// only a mark by which another is noticed.
type kept struct {
	Secret []byte `json:"secret,omitempty"`
	Mark   []byte `json:"mark,omitempty"`
}

// Since tells whether an address has opted out, and since when.
func (r *Register) Since(ctx context.Context, shop, address string) (since time.Time, out bool, err error) {
	name, err := r.Name(ctx, shop, address)
	if err != nil {
		return since, false, err
	}
	d, err := r.documents.Document(ctx, shop, optOutKind, name, r.clock.Now())
	if errors.Is(err, store.ErrNotFound) {
		return since, false, nil
	}
	if err != nil {
		return since, false, fmt.Errorf("read an opt-out: %w", err)
	}
	var e entry
	if err := json.Unmarshal(d.Value, &e); err != nil {
		return since, true, nil // who has opted out stays so, whatever else is not known
	}
	return e.Since, true, nil
}

// Keep notes that an address has opted out. One that is there stays as it is.
func (r *Register) Keep(ctx context.Context, shop, address string, since time.Time) error {
	name, err := r.Name(ctx, shop, address)
	if err != nil {
		return err
	}
	value, err := json.Marshal(entry{since.UTC()})
	if err != nil {
		return err
	}
	err = r.documents.PutDocument(ctx, shop, store.Document{Kind: optOutKind, Key: name, Value: value}, r.clock.Now())
	if err != nil && !errors.Is(err, store.ErrConflict) {
		return fmt.Errorf("keep an opt-out: %w", err)
	}
	return nil
}

// Lift takes an opt-out back, on the owner's own word.
func (r *Register) Lift(ctx context.Context, shop, address string) error {
	name, err := r.Name(ctx, shop, address)
	if err != nil {
		return err
	}
	err = r.documents.DeleteDocument(ctx, shop, optOutKind, name, r.clock.Now())
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return fmt.Errorf("lift an opt-out: %w", err)
	}
	return nil
}

// Name is what an address is called where it must not be read: in this register and in
// the audit log.
func (r *Register) Name(ctx context.Context, shop, address string) (string, error) {
	key, err := r.key(ctx, shop)
	if err != nil {
		return "", err
	}
	return hex.EncodeToString(keyed(key, "address\x00"+shop+"\x00"+strings.ToLower(address))), nil
}

func keyed(key []byte, text string) []byte {
	h := hmac.New(sha256.New, key)
	h.Write([]byte(text))
	return h.Sum(nil)
}

// key finds a shop's key, and makes one at its first use.
func (r *Register) key(ctx context.Context, shop string) ([]byte, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if key := r.keys[shop]; key != nil {
		return key, nil
	}
	for range 3 { // another server may be making one
		key, err := r.findKey(ctx, shop)
		switch {
		case err == nil:
			r.keys[shop] = key
			return key, nil
		case !errors.Is(err, store.ErrNotFound):
			return nil, fmt.Errorf("the secret of the opt-outs: %w", err)
		}
		err = r.makeKey(ctx, shop)
		if err != nil && !errors.Is(err, store.ErrConflict) {
			return nil, fmt.Errorf("make the secret of the opt-outs: %w", err)
		}
	}
	return nil, store.ErrConflict
}

const markText = "the secret of the opt-outs"

func (r *Register) findKey(ctx context.Context, shop string) ([]byte, error) {
	d, err := r.documents.Document(ctx, shop, secretKind, secretKey, r.clock.Now())
	if err != nil {
		return nil, err
	}
	var k kept
	if err := json.Unmarshal(d.Value, &k); err != nil {
		return nil, err
	}
	switch {
	case len(k.Mark) > 0 && len(r.given) > 0 && hmac.Equal(k.Mark, keyed(r.given, markText)):
		return r.given, nil
	case len(k.Mark) == 0 && len(k.Secret) == secretSize && len(r.given) == 0:
		return k.Secret, nil
	}
	return nil, ErrOtherKey
}

func (r *Register) makeKey(ctx context.Context, shop string) error {
	k := kept{Secret: make([]byte, secretSize)}
	if len(r.given) > 0 {
		k = kept{Mark: keyed(r.given, markText)}
	} else if _, err := rand.Read(k.Secret); err != nil {
		return err
	}
	value, err := json.Marshal(k)
	if err != nil {
		return err
	}
	return r.documents.PutDocument(ctx, shop, store.Document{Kind: secretKind, Key: secretKey, Value: value}, r.clock.Now())
}
