package rehearse

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strconv"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/phone"
	"tubhand/internal/rights"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// mostReminders bounds what one wait may set off.
const mostReminders = 1000

// Player plays one script.
type Player struct {
	script *Script
	shop   conversation.Shop
	zone   *time.Location
	clock  *clock.Jumping
	store  *memory.Store
	runner *turn.Runner
	tell   func(Event)
	owner  phone.Number // its E164 is an e-mail address where the owner writes from one
	code   string       // the last that was sent
	made   int
	fx     conversation.Effects // of the last turn
	heard  time.Time            // when the owner last wrote
	said   []string             // since the last owner, wait or staff line

	checked func(Checked) // told of each expectation; nil: nobody wants to know
}

// New makes a player of a script in a shop. Each event is told to tell as it happens.
func New(s *Script, shop conversation.Shop, flows *flow.Set, words *wording.Set, tell func(Event)) (*Player, error) {
	if s.Label != nil {
		shop.Flush.Teaspoons, shop.Flush.PerUSGal, shop.Flush.JarTeaspoons = s.Label.Teaspoons, s.Label.PerUSGal, s.Label.JarTeaspoons
	}
	mailed(&shop)
	world, err := conversation.NewWorld(shop, flows, words)
	if err != nil {
		return nil, err
	}
	number, err := reach(s.Owner.Address, &shop)
	if err != nil {
		return nil, fmt.Errorf("owner: address %q: %w", s.Owner.Address, err)
	}
	p := &Player{script: s, shop: shop, clock: clock.NewStill(s.Start), store: memory.New(), tell: tell, owner: number, zone: s.Start.Location()}
	p.runner = turn.New(turn.Config{
		Store: p.store, Shops: map[string]turn.Decider{shop.Key: watched{world, p}},
		Clock: p.clock, Log: slog.New(slog.DiscardHandler), OptOuts: rights.NewRegister(p.store, p.clock, nil),
	})
	return p, p.setUp()
}

// watched keeps what each turn decided, to be told.
type watched struct {
	world *conversation.World
	p     *Player
}

// Decide implements turn.Decider.
func (w watched) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	next, fx := w.world.Decide(c, ev, now)
	w.p.fx = fx
	return next, fx
}

// setUp puts what is known beforehand into the store.
func (p *Player) setUp() error {
	t, o := p.script.Tub, p.script.Owner
	c := conversation.Conversation{Shop: p.shop.Key, ID: p.owner.E164}
	c.Owner = conversation.Owner{
		Name: o.Name, Language: o.Language, Addresses: []string{p.owner.E164}, Region: p.owner.Region, TimeZone: p.owner.Zone(p.shop.TimeZone),
	}
	c.Tub = conversation.Tub{VolumeUSGal: t.VolumeGal, Sanitizer: t.Sanitizer, HeaterKW: t.HeaterKW, HoseGPM: t.HoseGPM, PumpGPH: t.PumpGPH}
	if t.VolumeGal > 0 {
		c.Tub.VolumeBy = "staff"
	}
	if err := p.store.Commit(context.Background(), store.Turn{Shop: p.shop.Key, Now: p.clock.Now(), State: c}); err != nil {
		return fmt.Errorf("set up the rehearsal: %w", err)
	}
	return nil
}

// Failure is an expectation that does not hold.
type Failure struct {
	Line int
	What string
}

// Error says the line and what was found.
func (f *Failure) Error() string { return "line " + strconv.Itoa(f.Line) + ": " + f.What }

// Play plays all turns. The error joins every Failure; any other error ended the play.
func (p *Player) Play(ctx context.Context) error {
	var failures []error
	for i := range p.script.Turns {
		t := &p.script.Turns[i]
		err := p.turn(ctx, t)
		var failure *Failure
		switch {
		case errors.As(err, &failure):
			failures = append(failures, err)
		case err != nil:
			return fmt.Errorf("line %d: %w", t.Line, err)
		}
	}
	return errors.Join(failures...)
}

func (p *Player) turn(ctx context.Context, t *Turn) error {
	if t.Expect != nil {
		return p.look(t)
	}
	p.said = nil
	switch {
	case t.Owner != nil:
		p.heard = p.clock.Now()
		return p.hear(ctx, t)
	case t.Wait != nil:
		return p.wait(ctx, time.Duration(*t.Wait))
	}
	return p.staff(ctx, t.Staff)
}

// handle runs a turn and sends what it said.
func (p *Player) handle(ctx context.Context, ev conversation.Event) error {
	if ev.ID == "" {
		p.made++
		ev.ID = "rehearsal-" + strconv.Itoa(p.made)
	}
	if ev.From == "" {
		ev.From, ev.To, ev.Gateway = p.owner.E164, p.shop.Line, p.shop.Gateway
	}
	ev.TimeZone, ev.Region = p.owner.Zone(p.shop.TimeZone), p.owner.Region
	p.fx = conversation.Effects{}
	if err := p.runner.Handle(ctx, p.shop.Key, ev); err != nil {
		return err
	}
	for _, e := range p.events(p.fx, p.clock.Now().In(p.zone)) {
		p.tell(e)
	}
	return p.send(ctx)
}

// send empties the outbox as a gateway that takes everything.
func (p *Player) send(ctx context.Context) error {
	for {
		out, err := p.store.ClaimOutbox(ctx, p.clock.Now(), time.Minute, 100)
		if err != nil {
			return fmt.Errorf("claim the outbox: %w", err)
		}
		if len(out) == 0 {
			return nil
		}
		var results []store.Result
		for _, o := range out {
			if o.Line.Direction != conversation.Page {
				p.said = append(p.said, o.Line.Text)
			}
			p.keepCode(o.Line.Text)
			results = append(results, store.Result{Shop: o.Shop, Line: o.Line.ID, Kind: store.Sent})
		}
		if err := p.store.SettleOutbox(ctx, results); err != nil {
			return fmt.Errorf("settle the outbox: %w", err)
		}
	}
}

// wait lets time go by: each reminder fires at its time.
func (p *Player) wait(ctx context.Context, d time.Duration) error {
	until := p.clock.Now().Add(d)
	for range mostReminders {
		at, ok, err := p.store.NextDue(ctx)
		if err != nil {
			return fmt.Errorf("look for reminders: %w", err)
		}
		if !ok || at.After(until) {
			p.clock.JumpTo(until)
			return nil
		}
		p.clock.JumpTo(at)
		due, err := p.store.ClaimDue(ctx, p.clock.Now(), time.Minute, 10)
		if err != nil {
			return fmt.Errorf("claim reminders: %w", err)
		}
		for _, r := range due {
			p.tell(Event{At: p.clock.Now().In(p.zone), T: p.clock.Now().In(p.zone).Format(timeFormat), Kind: KindFired, Text: r.Reminder.Name})
			if err := p.handle(ctx, conversation.Event{ID: r.Reminder.ID, Kind: conversation.ReminderDue, Reminder: r.Reminder}); err != nil {
				return err
			}
		}
	}
	return fmt.Errorf("more than %d reminders fired in one wait", mostReminders)
}

func (p *Player) staff(ctx context.Context, a *Act) error {
	by := a.By
	if by == "" && len(p.shop.Staff) > 0 {
		by = p.shop.Staff[0].Key
	}
	act := conversation.StaffAction{By: by}
	switch {
	case a.Claim:
		act.Act = conversation.Claim
	case a.Reply != "":
		act.Act, act.Text = conversation.Reply, a.Reply
	case a.HandBack != nil:
		act.Act, act.State = conversation.HandBack, *a.HandBack
	case a.Close != nil:
		act.Act, act.Text = conversation.CloseIt, *a.Close
	case a.Start != "":
		act.Act, act.Flow = conversation.StartIt, a.Start
	case a.Correct != nil:
		act.Act, act.At, act.Readings = conversation.Correct, p.heard, conversation.Readings{}
		for name, x := range a.Correct {
			act.Readings[understand.Quantity(name)] = understand.Value{Low: x, High: x}
		}
	case len(a.Set) == 1:
		act.Act, act.Reason = conversation.SetFact, "as rehearsed"
		for act.Fact, act.Value = range a.Set {
		}
	case a.Pause:
		act.Act = conversation.Pause
	case a.Speak != "":
		act.Act, act.Value = conversation.Speak, a.Speak
	default:
		return errors.New("staff: say claim, reply, hand_back, close, start, correct, set (one fact), pause or speak")
	}
	return p.handle(ctx, conversation.Event{Kind: conversation.StaffAct, Staff: act})
}

func (p *Player) staffName(key string) string {
	if key == "" {
		return ""
	}
	return p.shop.StaffName(key)
}
