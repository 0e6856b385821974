package staff

import (
	"context"
	"crypto/rand"
	"errors"
	"time"

	"tubhand/internal/store"
)

// LinkLasts is how long a set-up link is good.
const LinkLasts = 72 * time.Hour

// invitation is what is kept of a set-up link.
type invitation struct {
	Account string `json:"account"`
	Epoch   string `json:"epoch"`
	Secret  string `json:"secret"` // of the one-time codes, if the person takes a password
}

// SetUp is what the page behind a set-up link shows.
type SetUp struct {
	Account Account
	Secret  string // to be typed into an authenticator app
	URI     string // the same, for a square to be photographed
}

// invite makes a set-up link for an account and gives its code.
func (d *Desk) invite(ctx context.Context, r *record) (code string, err error) {
	code = newToken()
	return code, d.write(ctx, kindSetUp, mark(code), 0, d.Clock.Now().Add(LinkLasts), invitation{r.Key, r.Epoch, newSecret()})
}

// Renew gives a person who has just signed in the code of a set-up link of their own, to
// take a new password.
func (d *Desk) Renew(ctx context.Context, s Session) (code string, err error) {
	if !s.Fresh(d.Clock.Now()) {
		return "", ErrStale
	}
	r, _, err := d.record(ctx, s.Key)
	if err != nil {
		return "", err
	}
	return d.invite(ctx, &r)
}

// ErrStale says that a step wants a sign-in that is not so long ago.
var ErrStale error = Refusal("Sign out and in again first: this changes how you sign in.")

// invited finds the account that a code is for. ErrLink when it is no (longer) good.
func (d *Desk) invited(ctx context.Context, code, address string) (inv invitation, r record, err error) {
	if err := d.spendAddress(ctx, "link from", address, stepsOfAddress); err != nil {
		return inv, r, err
	}
	if code == "" || len(code) > mostToken {
		return inv, r, ErrLink
	}
	_, err = d.read(ctx, kindSetUp, mark(code), &inv)
	if errors.Is(err, store.ErrNotFound) {
		return inv, r, ErrLink
	}
	if err != nil {
		return inv, r, err
	}
	r, _, err = d.record(ctx, inv.Account)
	if errors.Is(err, ErrNoAccount) || err == nil && r.Epoch != inv.Epoch {
		err = ErrLink
	}
	return inv, r, err
}

// Invited shows what a set-up link leads to.
func (d *Desk) Invited(ctx context.Context, code, address string) (SetUp, error) {
	inv, r, err := d.invited(ctx, code, address)
	if err != nil {
		return SetUp{}, err
	}
	return SetUp{Account: r.account(), Secret: inv.Secret, URI: uri(inv.Secret, d.title(), r.Key)}, nil
}

func (d *Desk) title() string {
	if d.Name != "" {
		return d.Name
	}
	return d.Shop
}

// Choice is what somebody typed on the page behind a set-up link.
type Choice struct {
	Code     string // of the link
	Password string
	OneTime  string // what the authenticator app shows, to see that it works
	Address  string // where the request came from
}

// SetPassword gives an account a password, one-time codes and recovery codes, in place of
// any it has, ends its sessions and begins a new one. The recovery codes are shown this
// once. A Refusal says what to do better; the link is then still good.
func (d *Desk) SetPassword(ctx context.Context, c Choice) (token string, codes []string, err error) {
	inv, r, err := d.invited(ctx, c.Code, c.Address)
	if err != nil {
		return "", nil, err
	}
	if err := checkPassword(c.Password, &r, d.title()); err != nil {
		return "", nil, err
	}
	step := stepOf(inv.Secret, c.OneTime, 0, d.Clock.Now())
	if step == 0 {
		return "", nil, Refusal("The code is not the one that the app should show now. See that the phone's clock is right, and type the next one.")
	}
	hash, err := d.hash(ctx, c.Password)
	if err != nil {
		return "", nil, err
	}
	codes, hashes := newRecovery(r.Key)
	r, err = d.complete(ctx, c.Code, inv, func(r *record) {
		r.Password, r.Secret, r.Step, r.Codes = hash, inv.Secret, step, hashes
	})
	if err != nil {
		return "", nil, err
	}
	if err := d.Note(ctx, r.Key, "set a password", r.Key, "from "+c.Address); err != nil {
		return "", nil, err
	}
	token, err = d.admit(ctx, &r, "set-up link", c.Address)
	return token, codes, err
}

// complete uses a link up and changes its account. Of several who use one link, one does.
func (d *Desk) complete(ctx context.Context, code string, inv invitation, do func(r *record)) (done record, err error) {
	err = d.take(ctx, kindSetUp, mark(code), &invitation{})
	if errors.Is(err, store.ErrNotFound) {
		return done, ErrLink
	}
	if err != nil {
		return done, err
	}
	err = d.change(ctx, inv.Account, func(r *record) error {
		if r.Epoch != inv.Epoch {
			return ErrLink
		}
		do(r)
		r.Epoch = rand.Text()
		r.Last = d.Clock.Now()
		done = *r
		return nil
	})
	return done, err
}
