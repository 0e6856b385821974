package rights

import (
	"context"
	"errors"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Export is everything that is kept of an owner, as they may have it.
type Export struct {
	Shop         string                     `json:"shop"`
	Address      string                     `json:"address"` // that was asked for
	At           time.Time                  `json:"at"`
	Conversation *conversation.Conversation `json:"conversation"` // owner, tub, service, consent, what is open; null where only an opt-out is kept
	Transcript   []conversation.Line        `json:"transcript"`
	Log          []conversation.LogEntry    `json:"log"`
	Reminders    []conversation.Reminder    `json:"reminders"`
	Handovers    []conversation.Handover    `json:"handovers"`
	Audit        []Act                      `json:"audit"`
	OptOuts      []OptOut                   `json:"opt_outs"`
}

// Act is what staff did about an owner, of the audit log.
type Act struct {
	At     time.Time `json:"at"`
	Who    string    `json:"who"`
	Act    string    `json:"act"`
	Detail string    `json:"detail,omitempty"`
}

// OptOut is an entry of the register of opt-outs.
type OptOut struct {
	Address string    `json:"address"`
	Since   time.Time `json:"since"`
}

// Bounds of an export: more is kept of nobody.
const (
	mostLines = 1 << 20
	mostCases = 1 << 17
)

// Export reads everything that is kept of the owner with an address, and notes that by
// did so. ErrNothing where nothing is. It reads several times, so that what happens
// meanwhile may be in one part and not in another.
func (d *Desk) Export(ctx context.Context, by, address string) (Export, error) {
	e := Export{Shop: d.Shop, Address: address, At: d.now()}
	addresses := []string{address}
	c, err := d.Store.Load(ctx, d.Shop, address)
	switch {
	case err == nil:
		e.Conversation, addresses = &c, c.Owner.Addresses
		if err := d.read(ctx, &e, c.ID); err != nil {
			return e, err
		}
	case !errors.Is(err, store.ErrNotFound):
		return e, err
	}
	for _, a := range addresses {
		since, out, err := d.Register.Since(ctx, d.Shop, a)
		if err != nil {
			return e, err
		}
		if out {
			e.OptOuts = append(e.OptOuts, OptOut{a, since})
		}
	}
	if e.Conversation == nil && len(e.OptOuts) == 0 {
		return e, ErrNothing
	}
	about, err := d.about(ctx, address)
	if err != nil {
		return e, err
	}
	if e.Audit, err = d.acts(ctx, append([]string{about}, addresses...)); err != nil {
		return e, err
	}
	return e, d.tell(ctx, by, "owner exported", about, "")
}

// read reads what is kept under a conversation's id.
func (d *Desk) read(ctx context.Context, e *Export, id string) (err error) {
	v := d.Store.View(ctx, d.Shop)
	if e.Transcript, err = v.Transcript(id, mostLines); err != nil {
		return err
	}
	if e.Log, err = v.Log(id, mostLines); err != nil {
		return err
	}
	if e.Reminders, err = v.Reminders(id); err != nil {
		return err
	}
	for _, closed := range []bool{false, true} {
		all, err := v.Handovers(closed, mostCases)
		if err != nil {
			return err
		}
		for _, h := range all {
			if h.Conversation == id {
				e.Handovers = append(e.Handovers, h)
			}
		}
	}
	return nil
}

// acts finds what the audit log says about any of these, newest first.
func (d *Desk) acts(ctx context.Context, about []string) (acts []Act, err error) {
	names := map[string]bool{}
	for _, a := range about {
		names[a] = true
	}
	for before := int64(0); ; {
		page, err := d.Store.Audit(ctx, d.Shop, before, store.MostListed)
		if err != nil || len(page) == 0 {
			return acts, err
		}
		for _, entry := range page {
			if before = entry.Num; names[entry.About] {
				acts = append(acts, Act{entry.At, entry.Who, entry.Act, entry.Detail})
			}
		}
	}
}

// about is what the audit log calls an owner.
func (d *Desk) about(ctx context.Context, address string) (string, error) {
	name, err := d.Register.Name(ctx, d.Shop, address)
	if err != nil {
		return "", err
	}
	return "owner " + name[:16], nil
}
