package demo

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// lease is how long the player keeps what it has claimed; it settles at once.
const lease = time.Minute

// Play lets the owners live through their histories: their texts are handled as turns
// at their times, reminders fire in between, messages arrive. The clock ends at until.
// Nothing else may work on the store meanwhile.
func (p *Page) Play(ctx context.Context, owners []Owner, until time.Time) error {
	type spoken struct {
		Text
		owner, id string
	}
	var all []spoken
	for _, o := range owners {
		if err := p.introduce(ctx, o); err != nil {
			return fmt.Errorf("demo: introduce %s: %w", o.Name, err)
		}
		for i, text := range o.Texts {
			all = append(all, spoken{text, o.Address, o.Address + "." + strconv.Itoa(i)})
		}
	}
	slices.SortStableFunc(all, func(a, b spoken) int { return a.At.Compare(b.At) })
	for _, text := range all {
		if err := p.advance(ctx, text.At); err != nil {
			return err
		}
		if err := p.live(ctx, "history:"+text.id, text.owner, text.Text); err != nil {
			return fmt.Errorf("demo: history of %s: %w", text.owner, err)
		}
	}
	return p.advance(ctx, until)
}

// live handles what an owner texted or a member of staff did.
func (p *Page) live(ctx context.Context, id, owner string, text Text) error {
	if text.Act == "" {
		return p.hear(ctx, id, owner, text.Says, "")
	}
	return p.Runner.Handle(ctx, p.Shop.Key, conversation.Event{
		ID: id, Kind: conversation.StaffAct, From: owner, To: p.Shop.Line, Gateway: p.Gateway,
		Staff: conversation.StaffAction{Act: text.Act, By: text.By, Text: text.Says},
	})
}

// introduce puts an owner on file as a shop's import does: a name and a number, no more.
func (p *Page) introduce(ctx context.Context, o Owner) error {
	return p.Store.Commit(ctx, store.Turn{Shop: p.Shop.Key, Now: p.Clock.Now(), State: conversation.Conversation{
		Shop: p.Shop.Key, ID: o.Address,
		Owner: conversation.Owner{Name: o.Name, Addresses: []string{o.Address}, Language: "en", TimeZone: p.Shop.TimeZone, Region: p.Shop.Region},
	}})
}

// hear handles an owner's text.
func (p *Page) hear(ctx context.Context, id, from, text, language string) error {
	return p.Runner.Handle(ctx, p.Shop.Key, conversation.Event{
		ID: id, Kind: conversation.TextIn, From: from, To: p.Shop.Line, Gateway: p.Gateway, Text: text,
		TimeZone: p.Shop.TimeZone, Region: p.Shop.Region, Language: language,
	})
}

// advance moves the clock to a time, and lets all that is due before then happen at its
// own time.
func (p *Page) advance(ctx context.Context, to time.Time) error {
	for {
		at, ok, err := p.Store.NextDue(ctx)
		if err != nil {
			return fmt.Errorf("demo: look what is due: %w", err)
		}
		if !ok || at.After(to) {
			p.Clock.JumpTo(to)
			return nil
		}
		p.Clock.JumpTo(at)
		did, err := p.step(ctx)
		if err != nil {
			return err
		}
		if did == 0 {
			return errors.New("demo: something is due that cannot be claimed")
		}
	}
}

// step sends what is to be sent and handles what is due, once.
func (p *Page) step(ctx context.Context) (did int, err error) {
	now := p.Clock.Now()
	outgoing, err := p.Store.ClaimOutbox(ctx, now, lease, 100)
	if err != nil {
		return 0, fmt.Errorf("demo: claim messages: %w", err)
	}
	results := make([]store.Result, 0, len(outgoing))
	for _, o := range outgoing {
		results = append(results, store.Result{Shop: o.Shop, Line: o.Line.ID, Kind: store.Sent})
	}
	if len(results) > 0 {
		if err := p.Store.SettleOutbox(ctx, results); err != nil {
			return 0, fmt.Errorf("demo: settle messages: %w", err)
		}
	}
	due, err := p.Store.ClaimDue(ctx, now, lease, 100)
	if err != nil {
		return 0, fmt.Errorf("demo: claim reminders: %w", err)
	}
	for _, d := range due {
		event := conversation.Event{ID: d.Reminder.ID, Kind: conversation.ReminderDue, From: d.Reminder.Conversation, Reminder: d.Reminder}
		if err := p.Runner.Handle(ctx, d.Shop, event); err != nil {
			return 0, fmt.Errorf("demo: handle a reminder: %w", err)
		}
	}
	return len(outgoing) + len(due), nil
}
