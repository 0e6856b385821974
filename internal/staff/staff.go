// Package staff knows who may use a shop's console: accounts with roles, how they sign in
// (a passkey, or a password with a one-time code), their sessions, and the log of what
// they did. All of it lies in the shop's own documents, so that one shop's session means
// nothing to another. Secrets are kept as hashes where a hash will do; the secret of the
// one-time codes and the public keys of passkeys are kept as they are.
package staff

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"

	"tubhand/internal/clock"
	"tubhand/internal/store"
)

// Store is what a desk needs of the store.
type Store interface {
	store.Documents
	store.Audit
}

// Config says whose desk it is. Store, Shop and Clock are required.
type Config struct {
	Store Store
	Shop  string // the shop's key
	Name  string // the shop's name, as authenticators show it
	Clock clock.Clock
	// Origin is where browsers find the console, like https://staff.example or
	// http://localhost:8081. Passkeys are bound to its host; "" is no passkeys.
	Origin string
	// Effort is what guessing one password costs; nil is 19 MiB of memory and 2 passes
	// (OWASP Password Storage Cheat Sheet, Argon2id).
	Effort *argon2id.Params
}

// Desk lets the staff of one shop in. It is safe for concurrent use.
type Desk struct {
	Config
	keys   *relyingParty // nil: no passkeys
	hashes chan struct{} // one for each password that is being hashed
	dummy  string        // a hash of nothing anyone knows, for names without an account
}

// Refusal is why something was not done, in words for the person who asked.
type Refusal string

// Error implements error.
func (r Refusal) Error() string { return string(r) }

// The errors that a caller tells apart; compare with errors.Is.
var (
	// ErrSignIn says that something about a sign-in was not right. It never says what.
	ErrSignIn = errors.New("that name, password or code is not right")
	// ErrNobody says that a session is not there, has ended or is another shop's.
	ErrNobody = errors.New("nobody is signed in")
	// ErrLink says that a set-up link is used up, has expired or never was one.
	ErrLink = errors.New("this link is used up or too old")
	// ErrNoAccount says that there is no account of that name.
	ErrNoAccount = errors.New("there is no such account")
)

// New opens a shop's desk.
func New(c Config) (*Desk, error) {
	if c.Store == nil || c.Shop == "" || c.Clock == nil {
		return nil, errors.New("staff: Store, Shop and Clock are required")
	}
	if c.Effort == nil {
		c.Effort = &argon2id.Params{Memory: 19 << 10, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}
	}
	d := &Desk{Config: c, hashes: make(chan struct{}, 2)}
	var err error
	if d.dummy, err = argon2id.CreateHash(rand.Text(), c.Effort); err != nil {
		return nil, fmt.Errorf("staff: %w", err)
	}
	if d.keys, err = newRelyingParty(c); err != nil {
		return nil, fmt.Errorf("staff: origin %q: %w", c.Origin, err)
	}
	return d, nil
}

// The kinds of documents that a desk keeps.
const (
	kindAccount   = "staff-account"   // by the account's key
	kindSession   = "staff-session"   // by the hash of what the browser holds
	kindSetUp     = "staff-setup"     // by the hash of what the link holds
	kindChallenge = "staff-challenge" // by the hash of what the browser sends back
	kindTries     = "staff-tries"     // by what is counted
)

// newToken is something nobody can guess: 256 random bits as 43 characters.
func newToken() string {
	var bits [32]byte
	_, _ = rand.Read(bits[:]) // never fails
	return encode(bits[:])
}

// mark is what is kept of a token: whoever reads the store can't use it.
func mark(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// mostToken bounds what a stranger may send in place of a token.
const mostToken = 100

// read reads a document's value into v and gives its version.
func (d *Desk) read(ctx context.Context, kind, key string, v any) (store.Document, error) {
	doc, err := d.Store.Document(ctx, d.Shop, kind, key, d.Clock.Now())
	if err != nil {
		return doc, err
	}
	if err := json.Unmarshal(doc.Value, v); err != nil {
		return doc, fmt.Errorf("staff: document %s %q: %w", kind, key, err)
	}
	return doc, nil
}

// write puts v over the version that was read; expires may be zero.
func (d *Desk) write(ctx context.Context, kind, key string, version int64, expires time.Time, v any) error {
	value, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("staff: encode %s: %w", kind, err)
	}
	return d.Store.PutDocument(ctx, d.Shop, store.Document{Kind: kind, Key: key, Value: value, Version: version, Expires: expires}, d.Clock.Now())
}

// take reads a document that is good for one use and removes it. Of several who take the
// same one, one gets it.
func (d *Desk) take(ctx context.Context, kind, key string, v any) error {
	if _, err := d.read(ctx, kind, key, v); err != nil {
		return err
	}
	return d.Store.DeleteDocument(ctx, d.Shop, kind, key, d.Clock.Now())
}

// Note writes into the shop's log what somebody did. Who is an account's key; what is too
// long is cut.
func (d *Desk) Note(ctx context.Context, who, act, about, detail string) error {
	return d.Store.AppendAudit(ctx, d.Shop, store.AuditEntry{
		At: d.Clock.Now(), Who: cut(who, store.MostWord), Act: cut(act, store.MostWord),
		About: cut(about, store.MostWord), Detail: cut(detail, store.MostDetails),
	})
}

func cut(s string, most int) string {
	s = strings.ToValidUTF8(s, "?")
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "")
}

// Kept is how long the log of what staff did is kept.
const Kept = 2 * 366 * 24 * time.Hour

// Trail lists what was done, newest first, from the entry before on (0: the newest), and
// forgets what is older than Kept.
func (d *Desk) Trail(ctx context.Context, before int64, n int) ([]store.AuditEntry, error) {
	if before == 0 {
		if _, err := d.Store.TrimAudit(ctx, d.Shop, d.Clock.Now().Add(-Kept)); err != nil {
			return nil, err
		}
	}
	return d.Store.Audit(ctx, d.Shop, before, n)
}
