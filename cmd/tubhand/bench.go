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

const benchUsage = `usage: tubhand bench [--profile NAME] [--store sqlite|redis] [--redis URL] [--data DIR] [--seconds N] [--connections N]

Measures this machine. The profiles:
  most      the real server's way of a text (form, understanding, decision, wording, commit,
            answer) beside the bare one (the same HTTP stack and store, the payload of a turn
            written in the plainest way), how long texts take at half of what is possible,
            how fast reminders that are due together are fired, and how fast the outbox empties
  steady    owners in the middle of a service: 80 % of the texts answer a step, 15 % tell
            readings, 5 % trouble; at an even rate
  saturday  the same mix as on a Saturday morning: from a tenth of the rate up, and down again
  due       20,000 reminders due in the same second, texts meanwhile
  tubs      1,000,000 tubs on file with a reminder each (sqlite alone): from the start until
            texts are taken, memory, and what a text costs against a file of 1,000 tubs
All of it runs on this machine over the loopback; the store is a new one, and is deleted in
the end. At a rate, a text's time runs from when it should have been sent.
JSON goes to standard output, a table to standard error.

`

// benchOptions are the settings of a measurement.
type benchOptions struct {
	profile     string
	store       string
	redis       redisOptions
	data        string // where the folder of the store is made
	seconds     float64
	connections int
	rate        float64 // texts a second of the mixes; 0: half of the most, or four fifths of it at a peak
	tubs        int     // on file
	on          string  // the folder of a store of tubs that is there
	due, drain  int     // reminders due together, messages to send; smaller in tests
}

// figures are what a profile has measured.
type figures interface{ table(w io.Writer) }

// runBench is the subcommand bench. It gives 0, 1 where something failed, 2 on wrong usage.
func runBench(ctx context.Context, args []string, s streams) int {
	o, code := parseBench(args, s)
	if code >= 0 {
		return code
	}
	m := &measurement{benchOptions: o, clock: clock.System(), out: s.out, again: again}
	r, err := m.profiles()[o.profile](ctx)
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
	flags.StringVar(&o.profile, "profile", "most", "`name` of what to measure")
	flags.StringVar(&o.store, "store", "sqlite", "`kind` of store: sqlite or redis")
	o.redis.flags(flags)
	flags.StringVar(&o.data, "data", os.TempDir(), "`folder` on the disk that is measured; for sqlite")
	flags.Float64Var(&o.seconds, "seconds", 5, "how long each kind of load is put on, 1 to 60")
	flags.IntVar(&o.connections, "connections", 64, "connections that texts come over, 1 to 512")
	flags.Float64Var(&o.rate, "rate", 0, "texts a second of steady, and at the peak of saturday; 0: half or four fifths of the most")
	flags.IntVar(&o.due, "reminders", 20_000, "reminders due together, 1 to 1000000")
	flags.IntVar(&o.tubs, "tubs", 1_000_000, "tubs on file, 1000 to 10000000")
	flags.StringVar(&o.on, "on", "", "`folder` with a store that the profile tubs has made; it is measured, and left")
	o.drain = 10_000
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
	case (&measurement{}).profiles()[o.profile] == nil:
		fmt.Fprintf(s.err, "tubhand bench: there is no profile %q; see -h\n", o.profile)
	case o.profile == "tubs" && o.store != "sqlite":
		fmt.Fprintln(s.err, "tubhand bench: the profile tubs is for sqlite")
	case o.rate < 0 || o.rate > 1e6 || o.due < 1 || o.due > 1_000_000 || o.tubs < fewTubs || o.tubs > 10_000_000:
		fmt.Fprintln(s.err, "tubhand bench: --rate is 0 to 1000000, --reminders 1 to 1000000, --tubs 1000 to 10000000")
	default:
		return o, -1
	}
	return o, 2
}

// benchReport is what was measured.
type benchReport struct {
	Profile     string    `json:"profile"`
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

// runLine is a run as a line of the table.
func runLine(w io.Writer, name string, run bench.Run) {
	fmt.Fprintf(w, "  %-34s %8.0f /s   p50 %6.1f ms   p99 %6.1f ms   %5.0f us of CPU each   refused %d\n",
		name, run.PerSecond, run.P50, run.P99, run.CPU, run.Refused)
}

func (r *benchReport) table(w io.Writer) {
	fmt.Fprintf(w, "%s on %d CPUs, %d connections: %s\n", r.Store, r.CPUs, r.Connections, r.Keeps)
	runLine(w, "whole turns", r.Whole)
	runLine(w, "bare turns", r.Bare)
	fmt.Fprintf(w, "  %-34s %8.2f\n", "whole / bare", r.Ratio)
	runLine(w, "half of that, at an even rate", r.Half.Run)
	r.Due.table(w)
	fmt.Fprintf(w, "  %-34s %8.0f /s\n", fmt.Sprintf("%d messages, gateway takes %d ms", r.Drain.Messages, r.Drain.GatewayMS), r.Drain.PerSecond)
}

func (r *dueRun) table(w io.Writer) {
	fmt.Fprintf(w, "  %-34s %8.2f s%61.0f us of CPU each\n", fmt.Sprintf("%d reminders at once", r.Reminders), r.Seconds, r.CPU)
	runLine(w, "  texts meanwhile", r.Texts.Run)
}

// long is how long each kind of load is put on.
func (m *measurement) long() time.Duration { return time.Duration(m.seconds * float64(time.Second)) }

// profiles are what can be measured, by name.
func (m *measurement) profiles() map[string]func(context.Context) (figures, error) {
	return map[string]func(context.Context) (figures, error){
		"most": m.most, "steady": m.steady, "saturday": m.saturday, "due": m.together, "tubs": m.onFile,
	}
}

// most measures one thing after the other.
func (m *measurement) most(ctx context.Context) (figures, error) {
	r := &benchReport{Profile: m.profile, Store: m.store, CPUs: runtime.NumCPU(), Connections: m.connections}
	if err := m.turns(ctx, m.long(), r); err != nil {
		return nil, fmt.Errorf("turns: %w", err)
	}
	if err := m.work(ctx, r); err != nil {
		return nil, fmt.Errorf("reminders and messages: %w", err)
	}
	return r, nil
}
