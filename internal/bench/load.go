package bench

import (
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
	return l.run(ctx, func() (time.Time, bool) {
		now := l.Clock.Now()
		return now, now.Before(end)
	})
}

// Open sends at an even rate (texts a second) for so long.
func (l Load) Open(ctx context.Context, rate float64, long time.Duration) (Run, error) {
	start := l.Clock.Now()
	last := int64(rate * long.Seconds())
	var n atomic.Int64
	return l.run(ctx, func() (time.Time, bool) {
		i := n.Add(1)
		if i > last {
			return time.Time{}, false
		}
		at := start.Add(time.Duration(float64(i) / rate * float64(time.Second)))
		return at, l.Clock.Wait(ctx, at, nil) == nil
	})
}

// run sends at the times that next gives, and measures from them.
func (l Load) run(ctx context.Context, next func() (time.Time, bool)) (Run, error) {
	began, busy := l.Clock.Now(), Processor()
	took := make([][]time.Duration, l.Connections)
	errs := make([]error, l.Connections)
	var refused atomic.Int64
	var all sync.WaitGroup
	for i := range l.Connections {
		all.Go(func() {
			took[i], errs[i] = l.connection(ctx, i, next, &refused)
		})
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return Run{}, fmt.Errorf("load on %s: %w", l.Address, err)
		}
	}
	r := summary(slices.Concat(took...), int(refused.Load()), l.Clock.Now().Sub(began))
	if r.Requests > 0 {
		r.CPU = round(float64((Processor() - busy).Microseconds()) / float64(r.Requests))
	}
	return r, nil
}

func (l Load) connection(ctx context.Context, i int, next func() (time.Time, bool), refused *atomic.Int64) (took []time.Duration, err error) {
	c, err := dial(l.Address, l.Path)
	if err != nil {
		return nil, err
	}
	defer c.conn.Close()
	for ctx.Err() == nil {
		at, more := next()
		if !more {
			return took, ctx.Err()
		}
		status, err := c.post(l.Next(i))
		if err != nil {
			return nil, err
		}
		if status != 204 {
			refused.Add(1)
		}
		took = append(took, l.Clock.Now().Sub(at))
	}
	return nil, ctx.Err()
}

func summary(took []time.Duration, refused int, long time.Duration) Run {
	r := Run{Requests: len(took), Refused: refused, Seconds: round(long.Seconds())}
	if len(took) == 0 {
		return r
	}
	slices.Sort(took)
	r.PerSecond = round(float64(len(took)) / long.Seconds())
	at := func(share float64) float64 {
		i := int(math.Ceil(share*float64(len(took)))) - 1
		return round(float64(took[max(i, 0)]) / float64(time.Millisecond))
	}
	r.P50, r.P99, r.Max = at(0.5), at(0.99), at(1)
	return r
}

// round leaves two digits after the point: the rest is chance.
func round(x float64) float64 { return math.Round(x*100) / 100 }
