package staff

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/go-webauthn/webauthn/webauthn"

	"tubhand/internal/store"
)

// Account is one person who may sign in, as others may see it.
type Account struct {
	Key      string // what is typed to sign in; also who acts in conversations
	Name     string
	Role     Role
	Made     time.Time
	Last     time.Time // of the last sign-in; zero before the first
	Password bool      // has a password and one-time codes
	Codes    int       // recovery codes left
	Passkeys []Passkey
}

// Ready tells whether the person has set up a way to sign in.
func (a Account) Ready() bool { return a.Password || len(a.Passkeys) > 0 }

// Passkey is one of an account's passkeys.
type Passkey struct {
	ID   string // of the credential, for the forms of the console
	Made time.Time
	Used time.Time // zero: never
}

// record is an account as it is kept.
type record struct {
	Key      string    `json:"key"`
	Name     string    `json:"name"`
	Role     Role      `json:"role"`
	Made     time.Time `json:"made"`
	Last     time.Time `json:"last,omitzero"`
	Handle   []byte    `json:"handle"`             // random; what authenticators know the account by
	Password string    `json:"password,omitempty"` // argon2id, as PHC strings have it
	Secret   string    `json:"secret,omitempty"`   // of the one-time codes, base32
	Step     int64     `json:"step,omitempty"`     // of the last code that was used
	Codes    []string  `json:"codes,omitempty"`    // hashes of recovery codes
	Passkeys []passkey `json:"passkeys,omitempty"`
	Epoch    string    `json:"epoch"` // random; sessions and links of another one are void
}

type passkey struct {
	Made       time.Time           `json:"made"`
	Used       time.Time           `json:"used,omitzero"`
	Credential webauthn.Credential `json:"credential"`
}

func (r *record) account() Account {
	a := Account{
		Key: r.Key, Name: r.Name, Role: r.Role, Made: r.Made, Last: r.Last,
		Password: r.Password != "", Codes: len(r.Codes),
	}
	for _, p := range r.Passkeys {
		a.Passkeys = append(a.Passkeys, Passkey{ID: encode(p.Credential.ID), Made: p.Made, Used: p.Used})
	}
	return a
}

func encode(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

// The bounds of accounts.
const (
	mostAccounts = 200
	mostPasskeys = 10
	mostName     = 30 // characters; owners may be told it in a text
)

var accountKey = regexp.MustCompile(`^[a-z][a-z0-9_-]{0,39}$`)

// KeyFor makes an account's key of a name: "Dana Whitfield" is dana-whitfield.
func KeyFor(name string) string {
	key := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case unicode.IsSpace(r), r == '-', r == '_', r == '.':
			return '-'
		}
		return -1
	}, strings.ToLower(name))
	key = strings.TrimLeft(strings.Trim(key, "-"), "0123456789-")
	return key[:min(len(key), 40)]
}

// normal is a name as it is typed, made a key.
func normal(typed string) string { return strings.ToLower(strings.TrimSpace(typed)) }

func (d *Desk) record(ctx context.Context, key string) (r record, version int64, err error) {
	if !accountKey.MatchString(key) {
		return r, 0, ErrNoAccount
	}
	doc, err := d.read(ctx, kindAccount, key, &r)
	if errors.Is(err, store.ErrNotFound) {
		err = ErrNoAccount
	}
	return r, doc.Version, err
}

// Account gives an account. ErrNoAccount when there is none.
func (d *Desk) Account(ctx context.Context, key string) (Account, error) {
	r, _, err := d.record(ctx, key)
	return r.account(), err
}

// Accounts lists all accounts by their keys.
func (d *Desk) Accounts(ctx context.Context) (list []Account, err error) {
	records, err := d.records(ctx)
	for i := range records {
		list = append(list, records[i].account())
	}
	return list, err
}

func (d *Desk) records(ctx context.Context) (list []record, err error) {
	docs, err := d.Store.Documents(ctx, d.Shop, kindAccount, "", mostAccounts+1, d.Clock.Now())
	if err != nil {
		return nil, err
	}
	for _, doc := range docs {
		r, err := decode[record](doc)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

// change does something to an account, again when somebody else changed it meanwhile. What
// do returns as an error is the result, and then nothing is written.
func (d *Desk) change(ctx context.Context, key string, do func(r *record) error) error {
	for range 8 {
		r, version, err := d.record(ctx, key)
		if err != nil {
			return err
		}
		if err := do(&r); err != nil {
			return err
		}
		err = d.write(ctx, kindAccount, key, version, time.Time{}, r)
		if !errors.Is(err, store.ErrConflict) {
			return err
		}
	}
	return fmt.Errorf("staff: account %q: %w", key, store.ErrConflict)
}

// Add makes an account that cannot sign in yet, and the code of the link with which its
// owner sets up how. By is who adds it.
func (d *Desk) Add(ctx context.Context, by, key, name string, role Role) (code string, err error) {
	name = strings.TrimSpace(name)
	switch n := utf8.RuneCountInString(name); {
	case !accountKey.MatchString(key):
		return "", Refusal("A sign-in name has up to 40 small letters, digits, - and _, and begins with a letter.")
	case n == 0 || n > mostName || !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl):
		return "", Refusal(fmt.Sprintf("Give the person's name, in at most %d characters.", mostName))
	case !role.Known():
		return "", Refusal("The role is manager, staff or viewer.")
	}
	all, err := d.records(ctx)
	if err != nil {
		return "", err
	}
	if len(all) >= mostAccounts {
		return "", Refusal(fmt.Sprintf("There are %d accounts, and that is the most. Remove one first.", mostAccounts))
	}
	handle := make([]byte, 64)
	_, _ = rand.Read(handle) // never fails
	r := record{Key: key, Name: name, Role: role, Made: d.Clock.Now(), Handle: handle, Epoch: rand.Text()}
	err = d.write(ctx, kindAccount, key, 0, time.Time{}, r)
	if errors.Is(err, store.ErrConflict) {
		return "", Refusal("There is an account of that name already. Reset it to get a new link, or choose another name.")
	}
	if err != nil {
		return "", err
	}
	if err := d.Note(ctx, by, "added account", key, name+", "+string(role)); err != nil {
		return "", err
	}
	return d.invite(ctx, &r)
}

// Reset takes away every way to sign in that an account has, ends its sessions and gives
// the code of a new set-up link.
func (d *Desk) Reset(ctx context.Context, by, key string) (code string, err error) {
	var kept record
	err = d.change(ctx, key, func(r *record) error {
		r.Password, r.Secret, r.Codes, r.Passkeys = "", "", nil, nil
		r.Epoch = rand.Text()
		kept = *r
		return nil
	})
	if err != nil {
		return "", err
	}
	if err := d.Note(ctx, by, "reset account", key, ""); err != nil {
		return "", err
	}
	return d.invite(ctx, &kept)
}

// SetRole gives an account another role. The last manager stays one.
func (d *Desk) SetRole(ctx context.Context, by, key string, role Role) error {
	if !role.Known() {
		return Refusal("The role is manager, staff or viewer.")
	}
	if err := d.notTheLast(ctx, key, role); err != nil {
		return err
	}
	err := d.change(ctx, key, func(r *record) error { r.Role = role; return nil })
	if err != nil {
		return err
	}
	return d.Note(ctx, by, "changed role", key, string(role))
}

// Remove takes an account away, and its sessions with it. The last manager stays.
func (d *Desk) Remove(ctx context.Context, by, key string) error {
	if !accountKey.MatchString(key) {
		return ErrNoAccount
	}
	if err := d.notTheLast(ctx, key, ""); err != nil {
		return err
	}
	err := d.Store.DeleteDocument(ctx, d.Shop, kindAccount, key, d.Clock.Now())
	if errors.Is(err, store.ErrNotFound) {
		return ErrNoAccount
	}
	if err != nil {
		return err
	}
	return d.Note(ctx, by, "removed account", key, "")
}

// notTheLast refuses to leave a shop without a manager.
func (d *Desk) notTheLast(ctx context.Context, key string, role Role) error {
	if role == Manager {
		return nil
	}
	all, err := d.records(ctx)
	if err != nil {
		return err
	}
	managers, one := 0, false
	for _, r := range all {
		if r.Role == Manager {
			managers++
			one = one || r.Key == key
		}
	}
	if one && managers == 1 {
		return Refusal("That is the only manager. Make somebody else a manager first.")
	}
	return nil
}
