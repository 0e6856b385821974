package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"
	"time"

	"tubhand/internal/bench"
	"tubhand/internal/clock"
)

const benchUsage = `usage: tubhand bench [--store sqlite|redis] [--redis URL] [--data DIR] [--seconds N] [--connections N]

Measures this machine: the real server's way of a text (form, understanding, decision,
wording, commit, answer) beside the bare one (the same HTTP stack and store, the payload of
a turn written in the plainest way), how long texts take at half of what is possible, how
fast reminders that are due together are fired, and how fast the outbox empties. All of it
runs in this process on the loopback; the store is a new one, and is deleted in the end.
JSON goes to standard output, a table to standard error.

`

// benchOptions are the settings of a measurement.
type benchOptions struct {
	store       string
	redis       redisOptions
	data        string // where the folder of the store is made
	seconds     float64
	connections int
	due, drain  int // reminders due together, messages to send; smaller in tests
}

// runBench is the subcommand bench. It gives 0, 1 where something failed, 2 on wrong usage.
func runBench(ctx context.Context, args []string, s streams) int {
	o, code := parseBench(args, s)
	if code >= 0 {
		return code
	}
	m := &measurement{benchOptions: o, clock: clock.System()}
	r, err := m.run(ctx)
	if err != nil {
		fmt.Fprintln(s.err, "tubhand bench:", err)
		return 1
	}
	out := json.NewEncoder(s.out)
	out.SetIndent("", "  ")
	if err := out.Encode(r); err != nil {
		fmt.Fprintln(s.err, "tubhand bench:", err)
		return 1
	}
	r.table(s.err)
	return 0
}

// parseBench reads the flags; a code of 0 or more is the exit status to end with.
func parseBench(args []string, s streams) (o benchOptions, code int) {
	flags := flag.NewFlagSet("bench", flag.ContinueOnError)
	flags.SetOutput(s.err)
	flags.Usage = func() { fmt.Fprint(s.err, benchUsage); flags.PrintDefaults() }
	flags.StringVar(&o.store, "store", "sqlite", "`kind` of store: sqlite or redis")
	o.redis.flags(flags)
	flags.StringVar(&o.data, "data", os.TempDir(), "`folder` on the disk that is measured; for sqlite")
	flags.Float64Var(&o.seconds, "seconds", 5, "how long each kind of load is put on, 1 to 60")
	flags.IntVar(&o.connections, "connections", 64, "connections that texts come over, 1 to 512")
	o.due, o.drain = 20_000, 10_000
	switch err := flags.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return o, 0
	case err != nil:
		return o, 2
	}
	switch {
	case flags.NArg() > 0:
		fmt.Fprintf(s.err, "tubhand bench: unexpected %q\n", flags.Arg(0))
	case o.store != "sqlite" && o.store != "redis":
		fmt.Fprintf(s.err, "tubhand bench: there is no store %q; sqlite or redis\n", o.store)
	case (o.store == "redis") != (o.redis.address != ""):
		fmt.Fprintln(s.err, "tubhand bench: --store redis and --redis go together")
	case o.seconds < 1 || o.seconds > 60 || o.connections < 1 || o.connections > 512:
		fmt.Fprintln(s.err, "tubhand bench: --seconds is 1 to 60, --connections 1 to 512")
	default:
		return o, -1
	}
	return o, 2
}

// benchReport is what was measured.
type benchReport struct {
	Store       string    `json:"store"`
	Keeps       string    `json:"keeps"` // of a crash
	CPUs        int       `json:"cpus"`
	Connections int       `json:"connections"`
	Whole       bench.Run `json:"whole"`
	Bare        bench.Run `json:"bare"`
	Ratio       float64   `json:"ratio"` // of the two rates
	Half        openRun   `json:"half"`
	Due         dueRun    `json:"due"`
	Drain       drainRun  `json:"drain"`
}

// openRun is texts at an even rate.
type openRun struct {
	Rate float64 `json:"rate"`
	bench.Run
}

// dueRun is reminders that are due together: how long until the last one was committed
// with its message in the outbox, and how texts fared meanwhile.
type dueRun struct {
	Reminders int     `json:"reminders"`
	Seconds   float64 `json:"seconds"`
	CPU       float64 `json:"cpu_us"` // processor time for each, texts and sending in it, in microseconds
	Texts     openRun `json:"texts"`
}

// drainRun is messages that have gathered, sent through a gateway that takes a while.
type drainRun struct {
	Messages  int     `json:"messages"`
	GatewayMS int     `json:"gateway_ms"`
	PerSecond float64 `json:"per_second"`
}

func (r benchReport) table(w io.Writer) {
	fmt.Fprintf(w, "%s on %d CPUs, %d connections: %s\n", r.Store, r.CPUs, r.Connections, r.Keeps)
	line := func(name string, run bench.Run) {
		fmt.Fprintf(w, "  %-34s %8.0f /s   p50 %6.1f ms   p99 %6.1f ms   %4.0f us of CPU each   refused %d\n", name, run.PerSecond, run.P50, run.P99, run.CPU, run.Refused)
	}
	line("whole turns", r.Whole)
	line("bare turns", r.Bare)
	fmt.Fprintf(w, "  %-34s %8.2f\n", "whole / bare", r.Ratio)
	line("half of that, at an even rate", r.Half.Run)
	fmt.Fprintf(w, "  %-34s %8.2f s\n", fmt.Sprintf("%d reminders at once", r.Due.Reminders), r.Due.Seconds)
	line("  texts meanwhile", r.Due.Texts.Run)
	fmt.Fprintf(w, "  %-34s %8.0f /s\n", fmt.Sprintf("%d messages, gateway takes %d ms", r.Drain.Messages, r.Drain.GatewayMS), r.Drain.PerSecond)
}

// run measures one thing after the other.
func (m *measurement) run(ctx context.Context) (r benchReport, err error) {
	r.Store, r.CPUs, r.Connections = m.store, runtime.NumCPU(), m.connections
	long := time.Duration(m.seconds * float64(time.Second))
	if err := m.turns(ctx, long, &r); err != nil {
		return r, fmt.Errorf("turns: %w", err)
	}
	if err := m.work(ctx, &r); err != nil {
		return r, fmt.Errorf("reminders and messages: %w", err)
	}
	return r, nil
}
