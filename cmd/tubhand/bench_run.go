package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"tubhand/internal/bench"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// turns measures whole turns beside bare ones, and how long texts take at half the rate.
func (m *measurement) turns(ctx context.Context, long time.Duration, out *benchReport) (err error) {
	r, err := m.rig(ctx, m.clock)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.close()) }()
	out.Keeps = r.keeps
	sample, err := m.sample(ctx, r)
	if err != nil {
		return err
	}
	bare, err := r.bare(ctx, sample)
	if err != nil {
		return err
	}
	r.end = append(r.end, bare.Close)
	plain, err := r.listen(plainest(bare))
	if err != nil {
		return err
	}
	load := m.load(r, r.address)
	if out.Whole, err = load.Closed(ctx, long); err != nil {
		return err
	}
	if out.Bare, err = m.load(r, plain).Closed(ctx, long); err != nil {
		return err
	}
	if out.Bare.PerSecond > 0 {
		out.Ratio = hundredths(out.Whole.PerSecond / out.Bare.PerSecond)
	}
	out.Half.Rate = math.Round(out.Whole.PerSecond / 2)
	out.Half.Run, err = load.Open(ctx, out.Half.Rate, long)
	return err
}

// work measures what the dispatcher does: reminders that are due together, then messages
// that have gathered. Its clock jumps to when they are due.
func (m *measurement) work(ctx context.Context, out *benchReport) (err error) {
	jumping := clock.NewJumping(m.clock.Now())
	r, err := m.rig(ctx, jumping)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.close()) }()
	sample, err := m.sample(ctx, r)
	if err != nil {
		return err
	}
	r.work(ctx)
	if err := m.fire(ctx, r, jumping, sample, &out.Due); err != nil {
		return err
	}
	r.dispatch.Stop()
	return m.empty(ctx, r, sample, &out.Drain)
}

// together measures reminders alone.
func (m *measurement) together(ctx context.Context) (f figures, err error) {
	jumping := clock.NewJumping(m.clock.Now())
	r, err := m.rig(ctx, jumping)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.close()) }()
	sample, err := m.sample(ctx, r)
	if err != nil {
		return nil, err
	}
	r.work(ctx)
	out := &dueRun{}
	return out, m.fire(ctx, r, jumping, sample, out)
}

// textsMeanwhile is how many texts a second come in while reminders are fired.
const textsMeanwhile = 200

// fire has the reminders of many owners come due at once, and waits until each is a
// committed turn, while texts come in.
func (m *measurement) fire(ctx context.Context, r *rig, jumping *clock.Jumping, sample store.Turn, out *dueRun) error {
	out.Reminders = m.due
	sample.Effects = conversation.Effects{Remind: sample.Effects.Remind[:1]}
	if err := m.each(ctx, r, sample, 1, m.due); err != nil {
		return err
	}
	before, err := r.counts(ctx)
	if err != nil {
		return err
	}
	load := m.load(r, r.address)
	next := load.Next
	var texts atomic.Int64
	load.Next = func(connection int) string { texts.Add(1); return next(connection) }

	texting, enough := context.WithCancel(ctx)
	defer enough()
	ended := make(chan error, 1)
	out.Texts.Rate = textsMeanwhile
	began, busy := m.clock.Now(), bench.Processor()
	jumping.JumpTo(sample.Effects.Remind[0].Due.Add(time.Second))
	go func() {
		var failed error
		out.Texts.Run, failed = load.Open(texting, textsMeanwhile, time.Second)
		ended <- failed
	}()
	err = m.until(ctx, r, func(n store.Counts) bool { return n.Turns-before.Turns-texts.Load() >= int64(m.due) })
	out.Seconds = hundredths(m.clock.Now().Sub(began).Seconds())
	out.CPU = hundredths(float64((bench.Processor() - busy).Microseconds()) / float64(max(m.due, 1)))
	return errors.Join(err, <-ended)
}

// empty has messages gather and waits until all are sent.
func (m *measurement) empty(ctx context.Context, r *rig, sample store.Turn, out *drainRun) error {
	owners := m.drain / 2
	out.Messages, out.GatewayMS = 2*owners, int(gatewayTakes/time.Millisecond)
	sample.Effects = conversation.Effects{}
	for i := range 2 {
		sample.Effects.Lines = append(sample.Effects.Lines, conversation.Line{
			ID: fmt.Sprintf("%s.bench%d", sample.State.ID, i), At: sample.Now, Direction: conversation.Out, Send: true, To: sample.State.ID,
			Class: conversation.ClassReply, Gateway: r.shop.Gateways[0].Name, Text: "Jets OFF. Wipe the ring off the waterline at once. Reply DONE.",
		})
	}
	if err := m.each(ctx, r, sample, 1+m.due, owners); err != nil {
		return err
	}
	before, err := r.counts(ctx)
	if err != nil {
		return err
	}
	d := r.dispatcher(r.options)
	began := m.clock.Now()
	d.Start(ctx)
	defer d.Stop()
	err = m.until(ctx, r, func(n store.Counts) bool { return n.Outbox <= before.Outbox-int64(out.Messages) })
	out.PerSecond = hundredths(float64(out.Messages) / m.clock.Now().Sub(began).Seconds())
	return err
}

// each commits the sample for so many owners, from the nth number on.
func (m *measurement) each(ctx context.Context, r *rig, sample store.Turn, first, owners int) error {
	return m.commitEach(owners, func(i int) store.Turn { return clone(sample, filed(first+i)) },
		func(t store.Turn) error { return r.store.Commit(ctx, t) })
}

// commitEach commits n turns, many at a time.
func (m *measurement) commitEach(n int, turn func(i int) store.Turn, commit func(store.Turn) error) error {
	errs := make([]error, 256)
	var all sync.WaitGroup
	for w := range errs {
		all.Go(func() {
			for i := w; i < n && errs[w] == nil; i += len(errs) {
				errs[w] = commit(turn(i))
			}
		})
	}
	all.Wait()
	return errors.Join(errs...)
}

func (r *rig) counts(ctx context.Context) (store.Counts, error) {
	return r.store.View(ctx, r.shop.Shop.Key).Counts()
}

// until looks every few milliseconds whether all is done, for two minutes at most.
func (m *measurement) until(ctx context.Context, r *rig, done func(store.Counts) bool) error {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Minute)
	defer cancel()
	for {
		n, err := r.counts(ctx)
		if err != nil || done(n) {
			return err
		}
		if err := m.clock.Wait(ctx, m.clock.Now().Add(5*time.Millisecond), nil); err != nil {
			return fmt.Errorf("it is not done in time: %w", err)
		}
	}
}

func hundredths(x float64) float64 { return math.Round(100*x) / 100 }
