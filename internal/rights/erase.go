package rights

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/store"
)

// Totals are how much has been erased at a shop so far: what is kept of the erased is
// that they were.
type Totals struct {
	Conversations int `json:"conversations"`
	Lines         int `json:"lines"`
	Entries       int `json:"log_entries"`
	Handovers     int `json:"cases"`
	Reminders     int `json:"reminders"`
}

// Erasing says how to erase.
type Erasing struct {
	By    string // who does it, for the audit log
	Force bool   // also while an emergency is open
}

// attempts is how often an erasure is tried when the conversation changes under it.
const attempts = 8

// Erase removes everything that is kept of the owner with an address, in one step. That
// they have opted out stays, as keyed hashes; open cases are closed with a note in the
// audit log, which knows the owner by a keyed hash alone. ErrEmergency while one is open
// and it is not forced, ErrNothing where nothing is kept. What was erased may be in
// backups until those are gone.
func (d *Desk) Erase(ctx context.Context, address string, how Erasing) (store.Erased, error) {
	for range attempts {
		c, err := d.Store.Load(ctx, d.Shop, address)
		switch {
		case errors.Is(err, store.ErrNotFound):
			return store.Erased{}, ErrNothing
		case err != nil:
			return store.Erased{}, err
		case !how.Force && emergency(&c):
			return store.Erased{}, ErrEmergency
		}
		gone, err := d.erase(ctx, &c, how.By)
		switch {
		case errors.Is(err, store.ErrConflict):
			continue
		case errors.Is(err, store.ErrNotFound):
			return gone, ErrNothing
		}
		return gone, err
	}
	return store.Erased{}, ErrChanging
}

// emergency tells whether an emergency is open.
func emergency(c *conversation.Conversation) bool {
	for _, h := range c.Open {
		if h.Severity == string(safety.Emergency) {
			return true
		}
	}
	return false
}

// erase erases a conversation as it was read. First the opt-outs are kept, so that nothing
// that breaks off here lets a text through.
func (d *Desk) erase(ctx context.Context, c *conversation.Conversation, by string) (gone store.Erased, err error) {
	for _, a := range c.Owner.Addresses {
		settle := d.Register.Lift // the owner's last word was not noted, or there was none
		if c.Silenced(a) {
			settle = func(ctx context.Context, shop, address string) error {
				return d.Register.Keep(ctx, shop, address, c.Consent.Out[conversation.MediumOf(a)])
			}
		}
		if err := settle(ctx, d.Shop, a); err != nil {
			return gone, err
		}
	}
	about, err := d.about(ctx, c.ID)
	if err != nil {
		return gone, err
	}
	gone, err = d.Store.EraseConversation(ctx, d.Shop, c.ID, c.Version)
	if err != nil {
		return gone, err
	}
	for _, h := range c.Open {
		detail := fmt.Sprintf("%s (%s), open since %s: closed, since its owner was erased", h.Cause, h.Severity, h.Opened.UTC().Format(time.RFC3339))
		if err := d.tell(ctx, by, "case closed", about, detail); err != nil {
			return gone, err
		}
	}
	detail := fmt.Sprintf("%d lines, %d log entries, %d cases, %d reminders", gone.Lines, gone.Entries, gone.Handovers, gone.Reminders)
	if err := d.tell(ctx, by, "owner erased", about, detail); err != nil {
		return gone, err
	}
	return gone, d.count(ctx, gone)
}

const (
	totalsKind = "totals"
	totalsKey  = "erased"
)

// Totals reads how much has been erased so far.
func (d *Desk) Totals(ctx context.Context) (Totals, error) {
	t, _, err := d.totals(ctx)
	return t, err
}

func (d *Desk) totals(ctx context.Context) (t Totals, version int64, err error) {
	doc, err := d.Store.Document(ctx, d.Shop, totalsKind, totalsKey, d.now())
	if errors.Is(err, store.ErrNotFound) {
		return t, 0, nil
	}
	if err != nil {
		return t, 0, err
	}
	return t, doc.Version, json.Unmarshal(doc.Value, &t)
}

// count adds to the totals.
func (d *Desk) count(ctx context.Context, gone store.Erased) error {
	for range attempts {
		t, version, err := d.totals(ctx)
		if err != nil {
			return err
		}
		t.Conversations++
		t.Lines, t.Entries = t.Lines+gone.Lines, t.Entries+gone.Entries
		t.Handovers, t.Reminders = t.Handovers+gone.Handovers, t.Reminders+gone.Reminders
		value, err := json.Marshal(t)
		if err != nil {
			return err
		}
		err = d.Store.PutDocument(ctx, d.Shop, store.Document{Kind: totalsKind, Key: totalsKey, Value: value, Version: version}, d.now())
		if !errors.Is(err, store.ErrConflict) {
			return err
		}
	}
	return store.ErrConflict
}
