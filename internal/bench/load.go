package bench

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"tubhand/internal/clock"
)

// Load is where to put load on and with what.
type Load struct {
	Address, Path string // host:port, and the path to post to
	Connections   int
	// Next gives the next form of a connection (0 to Connections-1). Each connection asks
	// from a goroutine of its own.
	Next  func(connection int) string
	Clock clock.Clock
}

// Run is what came of it. Times are in milliseconds.
type Run struct {
	Requests  int     `json:"requests"`
	Refused   int     `json:"refused"` // answered, but not with 204
	Seconds   float64 `json:"seconds"`
	PerSecond float64 `json:"per_second"`
	P50       float64 `json:"p50_ms"`
	P99       float64 `json:"p99_ms"`
	Max       float64 `json:"max_ms"`
	// CPU is the processor time of the whole process for each request, the client's part
	// in it, in microseconds; 0 where the system does not tell.
	CPU float64 `json:"cpu_us"`
}

// Closed keeps all connections busy for so long.
func (l Load) Closed(ctx context.Context, long time.Duration) (Run, error) {
	end := l.Clock.Now().Add(long)
	r, _, err := l.run(ctx, func() (time.Time, bool) {
		now := l.Clock.Now()
		return now, now.Before(end)
	}, nil)
	return r, err
}

// Open sends at an even rate (texts a second) for so long.
func (l Load) Open(ctx context.Context, rate float64, long time.Duration) (Run, error) {
	r, _, err := l.Timed(ctx, Even(rate, long), nil)
	return r, err
}

// Timed sends by a schedule. Groups, which may be nil, names those that a request belongs
// to, after Next has given its form: by its connection and when it should have been sent.
// Each group's requests are summed up by themselves, too.
func (l Load) Timed(ctx context.Context, s Schedule, groups func(connection int, at time.Duration) []string) (Run, map[string]Run, error) {
	start := l.Clock.Now()
	var n atomic.Int64
	next := func() (time.Time, bool) {
		after, more := s(n.Add(1))
		if !more {
			return time.Time{}, false
		}
		at := start.Add(after)
		return at, l.Clock.Wait(ctx, at, nil) == nil
	}
	if groups == nil {
		return l.run(ctx, next, nil)
	}
	return l.run(ctx, next, func(connection int, at time.Time) []string { return groups(connection, at.Sub(start)) })
}

// sample is one request.
type sample struct {
	took    time.Duration
	refused bool
	groups  []string
}

// grouping names the groups of a request.
type grouping func(connection int, at time.Time) []string

// run sends at the times that next gives, and measures from them.
func (l Load) run(ctx context.Context, next func() (time.Time, bool), groups grouping) (Run, map[string]Run, error) {
	began, busy := l.Clock.Now(), Processor()
	samples := make([][]sample, l.Connections)
	errs := make([]error, l.Connections)
	var all sync.WaitGroup
	for i := range l.Connections {
		all.Go(func() { samples[i], errs[i] = l.connection(ctx, i, next, groups) })
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return Run{}, nil, fmt.Errorf("load on %s: %w", l.Address, err)
		}
	}
	long := l.Clock.Now().Sub(began)
	every := slices.Concat(samples...)
	r := summary(every, long)
	if r.Requests > 0 {
		r.CPU = round(float64((Processor() - busy).Microseconds()) / float64(r.Requests))
	}
	byGroup := map[string][]sample{}
	for _, s := range every {
		for _, g := range s.groups {
			byGroup[g] = append(byGroup[g], s)
		}
	}
	sums := make(map[string]Run, len(byGroup))
	for g, list := range byGroup {
		sums[g] = summary(list, long)
	}
	return r, sums, nil
}

func (l Load) connection(ctx context.Context, i int, next func() (time.Time, bool), groups grouping) (samples []sample, err error) {
	c, err := dial(l.Address, l.Path)
	if err != nil {
		return nil, err
	}
	defer c.conn.Close()
	for ctx.Err() == nil {
		at, more := next()
		if !more {
			return samples, ctx.Err()
		}
		status, err := c.post(l.Next(i))
		if err != nil {
			return nil, err
		}
		s := sample{took: l.Clock.Now().Sub(at), refused: status != 204}
		if groups != nil {
			s.groups = groups(i, at)
		}
		samples = append(samples, s)
	}
	return nil, ctx.Err()
}

// summary sorts the samples.
func summary(samples []sample, long time.Duration) Run {
	r := Run{Requests: len(samples), Seconds: round(long.Seconds())}
	if len(samples) == 0 {
		return r
	}
	slices.SortFunc(samples, func(a, b sample) int { return cmp.Compare(a.took, b.took) })
	for _, s := range samples {
		if s.refused {
			r.Refused++
		}
	}
	r.PerSecond = round(float64(len(samples)) / long.Seconds())
	at := func(share float64) float64 {
		i := int(math.Ceil(share*float64(len(samples)))) - 1
		return round(float64(samples[max(i, 0)].took) / float64(time.Millisecond))
	}
	r.P50, r.P99, r.Max = at(0.5), at(0.99), at(1)
	return r
}

// round leaves two digits after the point: the rest is chance.
func round(x float64) float64 { return math.Round(x*100) / 100 }
