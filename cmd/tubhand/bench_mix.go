package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"sync/atomic"
	"time"

	"tubhand/internal/bench"
)

// The kinds of texts in the mix.
const (
	stepAnswer = "next_step_answers"
	reading    = "readings"
	troubled   = "trouble"
)

// mixLine is one text of the mix, in the words of several people.
type mixLine struct {
	kind string
	said []string
}

// mixScript is what an owner texts from the first word into the wait for the flush: of 20
// texts 16 answer the step or ask about it, 3 tell readings, 1 tells of trouble.
func mixScript() []mixLine {
	yes := []string{"yes", "Yes", "yep", "y", "yes they are"}
	done := []string{"done", "Done!", "ok done", "all done", "done now"}
	left := []string{"how long is left?", "how much longer", "how long do I wait", "how long is left?", "how many minutes left?"}
	return []mixLine{
		{stepAnswer, []string{"hi, need to flush my pipes", "flush", "I want to flush the lines", "time to flush my plumbing", "need to flush the pipes please"}},
		{stepAnswer, []string{"375 gallons", "400 gal", "350", "it is 420 gallons", "about 380 gallons"}},
		{stepAnswer, []string{"chlorine", "Chlorine", "its chlorine", "chlorine", "we use chlorine"}},
		{stepAnswer, yes}, {stepAnswer, yes}, {stepAnswer, yes},
		{stepAnswer, []string{"pump", "Pump", "with a pump", "pump", "a pump"}},
		{stepAnswer, []string{"sewer", "Sewer", "the sewer", "sewer", "into the sewer"}},
		{stepAnswer, []string{"no", "No", "nope", "n", "no they are old"}},
		{reading, []string{"cl 3 ph 7.4 alk 100", "3 7.4 100", "chlorine 3, ph 7.5, alkalinity 90", "fc 4 ph 7.4 ta 110", "free chlorine 3 ph 7.4 total alkalinity 100"}},
		{stepAnswer, done}, {stepAnswer, done}, {stepAnswer, left},
		{stepAnswer, []string{"ok thanks", "thanks", "ok", "thank you!", "great, thanks"}},
		{reading, []string{"ph 7.5", "ph is 7.4", "pH 7.4", "ph 7.5 now", "the ph is 7.5"}},
		{stepAnswer, left},
		{troubled, []string{"there is way too much foam, its going over the edge", "so much foam!!", "too much foam",
			"foam everywhere", "the foam is coming over the rim"}},
		{stepAnswer, yes},
		{stepAnswer, []string{"no", "No", "nope", "n", "no"}},
		{reading, []string{"chlorine 3", "cl 3", "free chlorine 4", "fc 3", "chlorine is 3 now"}},
	}
}

// atOnce is how many owners of each connection are in the middle of their service.
const atOnce = 16

// mix is owners at all points of the script, and what each connection said last.
type mix struct {
	bench.Load
	script  []mixLine
	numbers atomic.Int64
	from    []string
	to      string
	owners  [][]mixOwner // by connection
	next    []int        // whose turn it is
	last    []string     // the kind of the last text
}

type mixOwner struct{ number, step, lag int }

func (m *measurement) mixed(r *rig) *mix {
	x := &mix{script: mixScript(), from: texters(), to: r.shop.Shop.Line,
		next: make([]int, m.connections), last: make([]string, m.connections), owners: make([][]mixOwner, m.connections)}
	for c := range x.owners {
		for i := range atOnce {
			// Some begin later than others, so that in the end they are spread over the script.
			x.owners[c] = append(x.owners[c], mixOwner{number: x.number(), lag: i * len(x.script) / atOnce})
		}
	}
	x.Load = bench.Load{Address: r.address, Path: "/in/sms/" + r.shop.Gateways[0].Name, Connections: m.connections, Clock: m.clock, Next: x.text}
	return x
}

func (x *mix) number() int { return int(x.numbers.Add(1)) }

// text is the next text of a connection: its owners take turns.
func (x *mix) text(connection int) string {
	owners := x.owners[connection]
	for {
		o := &owners[x.next[connection]%atOnce]
		x.next[connection]++
		if o.lag > 0 {
			o.lag--
			continue
		}
		if o.step == len(x.script) {
			*o = mixOwner{number: x.number()}
		}
		line := x.script[o.step]
		form := textForm(x.to, x.from[o.number%len(x.from)], line.said[o.number%len(line.said)], fmt.Sprintf("%d.%d", o.number, o.step))
		o.step++
		x.last[connection] = line.kind
		return form
	}
}

// mixReport is how a mix of texts was answered.
type mixReport struct {
	Profile     string               `json:"profile"`
	Store       string               `json:"store"`
	Keeps       string               `json:"keeps"`
	CPUs        int                  `json:"cpus"`
	Connections int                  `json:"connections"`
	Most        bench.Run            `json:"most"` // as fast as they are answered
	Rate        float64              `json:"rate"` // at the highest
	All         bench.Run            `json:"all"`
	Parts       map[string]bench.Run `json:"parts"` // by kind of text and, of a morning, by its thirds
}

// warmUp has the owners of the mix spread over the script, and tells how many texts a
// second are possible at most.
func (m *measurement) warmUp(ctx context.Context, x *mix, out *mixReport) (err error) {
	n := int64(m.connections) * atOnce * int64(len(x.script)) / 2
	if _, _, err := x.Timed(ctx, bench.Burst(n), nil); err != nil {
		return err
	}
	out.Most, err = x.Closed(ctx, m.long())
	return err
}

// steady puts the mix on at an even rate.
func (m *measurement) steady(ctx context.Context) (figures, error) {
	return m.mixRun(ctx, 0.5, func(out *mixReport) (bench.Schedule, func(time.Duration) []string) {
		return bench.Even(out.Rate, m.long()), nil
	})
}

// saturday puts the mix on as on a Saturday morning: few owners at first, more and more,
// and fewer again.
func (m *measurement) saturday(ctx context.Context) (figures, error) {
	return m.mixRun(ctx, 0.8, func(out *mixReport) (bench.Schedule, func(time.Duration) []string) {
		thirds := []string{"1_rising", "2_peak", "3_falling"}
		return bench.Ramp(out.Rate/10, out.Rate, m.long()), func(at time.Duration) []string {
			third := int(3 * at / (m.long() + 1))
			return thirds[third : third+1]
		}
	})
}

// mixRun measures the mix by a schedule. Share is of what is possible, where no rate is given.
func (m *measurement) mixRun(ctx context.Context, share float64,
	by func(*mixReport) (bench.Schedule, func(time.Duration) []string)) (f figures, err error) {
	r, err := m.rig(ctx, m.clock)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.close()) }()
	r.work(ctx)
	out := &mixReport{Profile: m.profile, Store: m.store, Keeps: r.keeps, CPUs: runtime.NumCPU(), Connections: m.connections, Rate: m.rate}
	x := m.mixed(r)
	if err := m.warmUp(ctx, x, out); err != nil {
		return nil, err
	}
	if out.Rate == 0 {
		out.Rate = math.Max(1, math.Round(out.Most.PerSecond*share))
	}
	schedule, when := by(out)
	out.All, out.Parts, err = x.Timed(ctx, schedule, func(connection int, at time.Duration) []string {
		groups := []string{x.last[connection]}
		if when != nil {
			groups = append(groups, when(at)...)
		}
		return groups
	})
	return out, err
}

func (r *mixReport) table(w io.Writer) {
	fmt.Fprintf(w, "%s mix, %s on %d CPUs, %d connections: %s\n", r.Profile, r.Store, r.CPUs, r.Connections, r.Keeps)
	runLine(w, "as fast as they are answered", r.Most)
	runLine(w, fmt.Sprintf("at up to %.0f texts a second", r.Rate), r.All)
	var names []string
	for name := range r.Parts {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		runLine(w, "  "+name, r.Parts[name])
	}
}
