package staff

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/netip"
	"net/url"
	"slices"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"tubhand/internal/store"
)

// relyingParty is the console as authenticators know it.
type relyingParty struct{ *webauthn.WebAuthn }

// newRelyingParty makes it for an origin; nil for none, and for an address in digits, which
// browsers let nobody make passkeys for.
func newRelyingParty(c Config) (*relyingParty, error) {
	if c.Origin == "" {
		return nil, nil
	}
	u, err := url.Parse(c.Origin)
	if err != nil || u.Host == "" || (u.Scheme != "https" && u.Scheme != "http") || u.Path != "" {
		return nil, errors.New("write it like https://staff.example, without a path")
	}
	if _, err := netip.ParseAddr(u.Hostname()); err == nil {
		return nil, nil
	}
	title := c.Name
	if title == "" {
		title = c.Shop
	}
	// A passkey is the only thing asked for, so the authenticator must know its owner by a
	// finger, a face or a number (user verification) and remember whose the key is.
	w, err := webauthn.New(&webauthn.Config{
		RPID: u.Hostname(), RPDisplayName: title, RPOrigins: []string{u.Scheme + "://" + u.Host},
		AttestationPreference: protocol.PreferNoAttestation,
		AuthenticatorSelection: protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementRequired, UserVerification: protocol.VerificationRequired,
		},
	})
	return &relyingParty{w}, err
}

// Passkeys tells whether people can sign in with passkeys here.
func (d *Desk) Passkeys() bool { return d.keys != nil }

var errNoPasskeys error = Refusal("Passkeys need the console's public address to have a name; see --console-url.")

// user is an account as the library sees it.
type user struct{ *record }

func (u user) WebAuthnID() []byte          { return u.Handle }
func (u user) WebAuthnName() string        { return u.Key }
func (u user) WebAuthnDisplayName() string { return u.Name }

func (u user) WebAuthnCredentials() (list []webauthn.Credential) {
	for _, p := range u.record.Passkeys {
		list = append(list, p.Credential)
	}
	return list
}

// challengeLasts is how long a person may take with their authenticator.
const challengeLasts = 5 * time.Minute

// challenge is what is kept between the two halves of a step with an authenticator.
type challenge struct {
	For     string               `json:"for"` // signIn, or the account's key
	Link    string               `json:"link,omitempty"`
	Session webauthn.SessionData `json:"session"`
}

const signIn = ""

// Ask is what a browser hands to its authenticator, and the ticket that it sends back
// with the answer.
type Ask struct {
	Options any    `json:"options"`
	Ticket  string `json:"ticket"`
}

func (d *Desk) ask(ctx context.Context, c challenge, options any) (Ask, error) {
	ticket := newToken()
	c.Session.Expires = time.Time{} // the document's end holds, by our clock
	return Ask{options, ticket}, d.write(ctx, kindChallenge, mark(ticket), 0, d.Clock.Now().Add(challengeLasts), c)
}

// answered takes the challenge that an answer is to. Each is answered once.
func (d *Desk) answered(ctx context.Context, ticket, whose string) (c challenge, err error) {
	if ticket == "" || len(ticket) > mostToken {
		return c, ErrSignIn
	}
	err = d.take(ctx, kindChallenge, mark(ticket), &c)
	if errors.Is(err, store.ErrNotFound) || err == nil && c.For != whose {
		return c, ErrSignIn
	}
	return c, err
}

// AskPasskey begins a sign-in with a passkey. No name is asked for, so nobody learns which
// names there are.
func (d *Desk) AskPasskey(ctx context.Context, address string) (Ask, error) {
	if d.keys == nil {
		return Ask{}, errNoPasskeys
	}
	if err := d.spendAddress(ctx, "passkey from", address, stepsOfAddress); err != nil {
		return Ask{}, err
	}
	options, s, err := d.keys.BeginDiscoverableLogin()
	if err != nil {
		return Ask{}, fmt.Errorf("staff: begin a sign-in: %w", err)
	}
	return d.ask(ctx, challenge{For: signIn, Session: *s}, options)
}

// SignInWithPasskey ends a sign-in with the authenticator's answer (JSON, as browsers give
// it) and gives what the browser is to hold. ErrSignIn for every reason alike.
func (d *Desk) SignInWithPasskey(ctx context.Context, ticket string, answer []byte, address string) (token string, err error) {
	if d.keys == nil {
		return "", errNoPasskeys
	}
	if err := d.spendAddress(ctx, "passkey from", address, stepsOfAddress); err != nil {
		return "", err
	}
	c, err := d.answered(ctx, ticket, signIn)
	if err != nil {
		return "", err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(answer)
	if err != nil {
		return "", ErrSignIn
	}
	all, err := d.records(ctx)
	if err != nil {
		return "", err
	}
	who, credential, err := d.keys.ValidatePasskeyLogin(func(_, handle []byte) (webauthn.User, error) {
		for i := range all {
			if bytes.Equal(all[i].Handle, handle) {
				return user{&all[i]}, nil
			}
		}
		return nil, ErrNoAccount
	}, c.Session, parsed)
	if err != nil {
		return "", ErrSignIn
	}
	return d.passkeyUsed(ctx, who.(user).Key, credential, address)
}

// passkeyUsed keeps what a passkey counts, and lets its owner in. One whose count went
// back was copied, and no longer counts.
func (d *Desk) passkeyUsed(ctx context.Context, key string, credential *webauthn.Credential, address string) (string, error) {
	if credential.Authenticator.CloneWarning {
		return "", errors.Join(ErrSignIn, d.Note(ctx, key, "failed to sign in", "", "a copied passkey, from "+address))
	}
	var kept record
	err := d.change(ctx, key, func(r *record) error {
		at := r.passkey(credential.ID)
		if at < 0 {
			return ErrSignIn
		}
		r.Last = d.Clock.Now()
		r.Passkeys[at].Used, r.Passkeys[at].Credential = r.Last, *credential
		kept = *r
		return nil
	})
	if err != nil {
		return "", err
	}
	return d.admit(ctx, &kept, "passkey", address)
}

// passkey finds a passkey by its id; -1 when there is none.
func (r *record) passkey(id []byte) int {
	return slices.IndexFunc(r.Passkeys, func(p passkey) bool { return bytes.Equal(p.Credential.ID, id) })
}

// AskSetUp begins the making of a passkey by a set-up link.
func (d *Desk) AskSetUp(ctx context.Context, code, address string) (Ask, error) {
	_, r, err := d.invited(ctx, code, address)
	if err != nil {
		return Ask{}, err
	}
	return d.askNew(ctx, &r, mark(code))
}

// AskNew begins the making of another passkey of a person who has just signed in.
func (d *Desk) AskNew(ctx context.Context, s Session) (Ask, error) {
	if !s.Fresh(d.Clock.Now()) {
		return Ask{}, ErrStale
	}
	r, _, err := d.record(ctx, s.Key)
	if err != nil {
		return Ask{}, err
	}
	return d.askNew(ctx, &r, "")
}

func (d *Desk) askNew(ctx context.Context, r *record, link string) (Ask, error) {
	if d.keys == nil {
		return Ask{}, errNoPasskeys
	}
	if len(r.Passkeys) >= mostPasskeys {
		return Ask{}, Refusal("You have ten passkeys, and that is the most. Remove one first.")
	}
	exclude := webauthn.Credentials(user{r}.WebAuthnCredentials()).CredentialDescriptors()
	options, s, err := d.keys.BeginRegistration(user{r}, webauthn.WithExclusions(exclude))
	if err != nil {
		return Ask{}, fmt.Errorf("staff: begin a passkey: %w", err)
	}
	return d.ask(ctx, challenge{For: r.Key, Link: link, Session: *s}, options)
}

// made checks what an authenticator made.
func (d *Desk) made(ctx context.Context, r *record, ticket, link string, answer []byte) (passkey, error) {
	if d.keys == nil {
		return passkey{}, errNoPasskeys
	}
	c, err := d.answered(ctx, ticket, r.Key)
	if err != nil {
		return passkey{}, err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(answer)
	if err != nil || c.Link != link {
		return passkey{}, ErrSignIn
	}
	credential, err := d.keys.CreateCredential(user{r}, c.Session, parsed)
	if err != nil {
		return passkey{}, ErrSignIn
	}
	return passkey{Made: d.Clock.Now(), Credential: *credential}, nil
}

// SetUpWithPasskey uses a set-up link up with a passkey, and begins a session.
func (d *Desk) SetUpWithPasskey(ctx context.Context, code, ticket string, answer []byte, address string) (token string, err error) {
	inv, r, err := d.invited(ctx, code, address)
	if err != nil {
		return "", err
	}
	p, err := d.made(ctx, &r, ticket, mark(code), answer)
	if err != nil {
		return "", err
	}
	r, err = d.complete(ctx, code, inv, func(r *record) { r.Passkeys = append(r.Passkeys, p) })
	if err != nil {
		return "", err
	}
	if err := d.Note(ctx, r.Key, "added a passkey", r.Key, "from "+address); err != nil {
		return "", err
	}
	return d.admit(ctx, &r, "set-up link", address)
}

// AddPasskey ends what AskNew began.
func (d *Desk) AddPasskey(ctx context.Context, s Session, ticket string, answer []byte) error {
	if !s.Fresh(d.Clock.Now()) {
		return ErrStale
	}
	r, _, err := d.record(ctx, s.Key)
	if err != nil {
		return err
	}
	p, err := d.made(ctx, &r, ticket, "", answer)
	if err != nil {
		return err
	}
	err = d.change(ctx, s.Key, func(r *record) error {
		if len(r.Passkeys) >= mostPasskeys || r.passkey(p.Credential.ID) >= 0 {
			return Refusal("That passkey is there already, or there are too many.")
		}
		r.Passkeys = append(r.Passkeys, p)
		return nil
	})
	if err != nil {
		return err
	}
	return d.Note(ctx, s.Key, "added a passkey", s.Key, "")
}

// RemovePasskey takes a passkey away. The last way to sign in stays.
func (d *Desk) RemovePasskey(ctx context.Context, s Session, id string) error {
	if !s.Fresh(d.Clock.Now()) {
		return ErrStale
	}
	err := d.change(ctx, s.Key, func(r *record) error {
		at := slices.IndexFunc(r.Passkeys, func(p passkey) bool { return encode(p.Credential.ID) == id })
		if at < 0 {
			return Refusal("That passkey is gone already.")
		}
		if r.Password == "" && len(r.Passkeys) == 1 {
			return Refusal("That is your only way to sign in. Set a password or add another passkey first.")
		}
		r.Passkeys = slices.Delete(r.Passkeys, at, at+1)
		return nil
	})
	if err != nil {
		return err
	}
	return d.Note(ctx, s.Key, "removed a passkey", s.Key, "")
}
