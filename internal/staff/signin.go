package staff

import (
	"context"
	"errors"
)

// Attempt is what somebody typed to sign in.
type Attempt struct {
	Name     string // the account's key
	Password string
	Code     string // of the authenticator app, or a recovery code
	Address  string // where the request came from
}

// SignIn signs in with a password and a code, and gives what the browser is to hold.
// ErrSignIn when something is not right, for every reason alike and after the same work;
// TooMany when it was tried too often.
func (d *Desk) SignIn(ctx context.Context, a Attempt) (token string, err error) {
	name := normal(a.Name)
	if err := d.spendAddress(ctx, "password from", a.Address, triesOfAddress); err != nil {
		return "", err
	}
	if err := d.spend(ctx, "password of "+name, triesOfAccount); err != nil {
		return "", err
	}
	r, _, err := d.record(ctx, name)
	if err != nil && !errors.Is(err, ErrNoAccount) {
		return "", err
	}
	same, err := d.matches(ctx, a.Password, r.Password)
	if err != nil {
		return "", err
	}
	used := ""
	err = d.change(ctx, name, func(r *record) error {
		used = d.useCode(r, a.Code)
		if !same || used == "" {
			return ErrSignIn
		}
		r.Last = d.Clock.Now()
		return nil
	})
	switch {
	case errors.Is(err, ErrNoAccount): // as much is written as for a name that has one
		return "", errors.Join(ErrSignIn, d.Note(ctx, "", "failed to sign in", "", "no such account, from "+a.Address))
	case errors.Is(err, ErrSignIn):
		return "", errors.Join(ErrSignIn, d.Note(ctx, name, "failed to sign in", "", "from "+a.Address))
	case err != nil:
		return "", err
	}
	if err := d.forgive(ctx, "password of "+name); err != nil {
		return "", err
	}
	return d.admit(ctx, &r, used, a.Address)
}

// useCode uses up a code, and says what it was: "" for one that is not right.
func (d *Desk) useCode(r *record, code string) string {
	step := stepOf(r.Secret, code, r.Step, d.Clock.Now())
	at := recoveryOf(r, code)
	switch {
	case r.Secret == "":
		return ""
	case step > 0:
		r.Step = step
		return "password and code"
	case at >= 0:
		r.Codes = append(r.Codes[:at:at], r.Codes[at+1:]...)
		return "password and recovery code"
	}
	return ""
}

// admit begins a session and notes it.
func (d *Desk) admit(ctx context.Context, r *record, how, address string) (string, error) {
	token, err := d.start(ctx, r)
	if err != nil {
		return "", err
	}
	return token, d.Note(ctx, r.Key, "signed in", "", how+", from "+address)
}
