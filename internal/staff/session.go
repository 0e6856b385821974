package staff

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"tubhand/internal/store"
)

// A session ends when nothing was asked in it for Idle, and in any case Longest after the
// sign-in. Steps that change how one signs in want a sign-in not older than Fresh.
const (
	Idle    = 12 * time.Hour
	Longest = 7 * 24 * time.Hour
	Fresh   = 15 * time.Minute

	slide = 5 * time.Minute // how much older a session may look than it is
)

// session is what is kept of one.
type session struct {
	Account string    `json:"account"`
	Epoch   string    `json:"epoch"`
	Started time.Time `json:"started"`
	Seen    time.Time `json:"seen"`
}

// ends is when a session ends if nothing more is asked.
func (s session) ends() time.Time {
	idle, longest := s.Seen.Add(Idle), s.Started.Add(Longest)
	if idle.Before(longest) {
		return idle
	}
	return longest
}

// Session is a person who is signed in.
type Session struct {
	Account
	Started time.Time
}

// Fresh tells whether the person has just signed in.
func (s Session) Fresh(now time.Time) bool { return now.Sub(s.Started) < Fresh }

// start begins a session and gives what the browser is to hold.
func (d *Desk) start(ctx context.Context, r *record) (token string, err error) {
	now := d.Clock.Now()
	s := session{Account: r.Key, Epoch: r.Epoch, Started: now, Seen: now}
	token = newToken()
	return token, d.write(ctx, kindSession, mark(token), 0, s.ends(), s)
}

// Session finds who is signed in. ErrNobody when the session is not there, has ended, or
// the account has signed out everywhere, was reset or removed.
func (d *Desk) Session(ctx context.Context, token string) (Session, error) {
	if token == "" || len(token) > mostToken {
		return Session{}, ErrNobody
	}
	var s session
	doc, err := d.read(ctx, kindSession, mark(token), &s)
	if errors.Is(err, store.ErrNotFound) {
		return Session{}, ErrNobody
	}
	if err != nil {
		return Session{}, err
	}
	r, _, err := d.record(ctx, s.Account)
	if errors.Is(err, ErrNoAccount) || err == nil && r.Epoch != s.Epoch {
		return Session{}, ErrNobody
	}
	if err != nil {
		return Session{}, err
	}
	if now := d.Clock.Now(); now.Sub(s.Seen) >= slide {
		s.Seen = now
		err := d.write(ctx, kindSession, doc.Key, doc.Version, s.ends(), s)
		if err != nil && !errors.Is(err, store.ErrConflict) { // another request has just done it
			return Session{}, err
		}
	}
	return Session{Account: r.account(), Started: s.Started}, nil
}

// SignOut ends a session. One that is not there is no error.
func (d *Desk) SignOut(ctx context.Context, token string) error {
	var s session
	err := d.take(ctx, kindSession, mark(token), &s)
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	return d.Note(ctx, s.Account, "signed out", "", "")
}

// SignOutEverywhere ends all of an account's sessions.
func (d *Desk) SignOutEverywhere(ctx context.Context, key string) error {
	if err := d.change(ctx, key, func(r *record) error { r.Epoch = rand.Text(); return nil }); err != nil {
		return err
	}
	return d.Note(ctx, key, "signed out everywhere", "", "")
}

func decode[T any](doc store.Document) (v T, err error) {
	if err := json.Unmarshal(doc.Value, &v); err != nil {
		return v, fmt.Errorf("staff: document %s %q: %w", doc.Kind, doc.Key, err)
	}
	return v, nil
}
