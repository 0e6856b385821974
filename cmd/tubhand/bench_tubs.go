package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/bench"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
)

// fewTubs is how many tubs the file has that the large one is compared with.
const fewTubs = 1000

// tubsReport is a file of many tubs beside one of few.
type tubsReport struct {
	Profile string  `json:"profile"`
	CPUs    int     `json:"cpus"`
	Many    tubsRun `json:"many"`
	Few     tubsRun `json:"few"`
	Cost    float64 `json:"cost"` // processor time of a text, against the few tubs
}

// tubsRun is a server on a file that is there, in a process of its own.
type tubsRun struct {
	Tubs     int       `json:"tubs"` // each with a reminder
	FileMB   float64   `json:"file_mb"`
	Ready    float64   `json:"ready_seconds"`     // from the start of the process until a turn was taken
	Resident float64   `json:"resident_mb"`       // then; 0 where the system does not tell
	After    float64   `json:"resident_after_mb"` // the most, up to the end of the texts
	Texts    bench.Run `json:"texts"`             // from all over the file
}

// restarted is bench in a process of its own: what it says, and how it ends.
type restarted struct {
	out  io.Reader
	wait func() error
}

// again starts this program's bench.
func again(ctx context.Context, args []string) (*restarted, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	cmd := exec.CommandContext(ctx, self, append([]string{"bench"}, args...)...)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	wait := func() error {
		if err := cmd.Wait(); err != nil {
			return fmt.Errorf("%w: %s", err, said.String())
		}
		return nil
	}
	return &restarted{out, wait}, cmd.Start()
}

// onFile measures a file of many tubs and one of few.
func (m *measurement) onFile(ctx context.Context) (figures, error) {
	if m.on != "" {
		return m.there(ctx)
	}
	out := &tubsReport{Profile: m.profile, CPUs: runtime.NumCPU()}
	for _, part := range []struct {
		tubs int
		to   *tubsRun
	}{{m.tubs, &out.Many}, {fewTubs, &out.Few}} {
		if err := m.fileOf(ctx, part.tubs, part.to); err != nil {
			return nil, fmt.Errorf("%d tubs: %w", part.tubs, err)
		}
	}
	if out.Few.Texts.CPU > 0 {
		out.Cost = hundredths(out.Many.Texts.CPU / out.Few.Texts.CPU)
	}
	return out, nil
}

// fileOf makes a file and has another process measure it.
func (m *measurement) fileOf(ctx context.Context, tubs int, out *tubsRun) (err error) {
	folder, err := os.MkdirTemp(m.data, "tubhand-bench-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	if err := m.fill(ctx, filepath.Join(folder, "tubhand.db"), tubs); err != nil {
		return err
	}
	began := m.clock.Now()
	p, err := m.again(ctx, []string{"--profile", "tubs", "--on", folder, "--tubs", strconv.Itoa(tubs),
		"--seconds", fmt.Sprint(m.seconds), "--connections", strconv.Itoa(m.connections)})
	if err != nil {
		return err
	}
	said := bufio.NewReader(p.out)
	_, wrong := said.ReadString('\n')
	ready := m.clock.Now().Sub(began)
	if wrong == nil {
		wrong = json.NewDecoder(said).Decode(out)
	}
	_, _ = io.Copy(io.Discard, said)
	if err := p.wait(); err != nil {
		return err
	}
	out.Ready = hundredths(ready.Seconds())
	return wrong
}

// fill makes a file of so many tubs, each in the middle of a service and waiting for a
// reminder.
func (m *measurement) fill(ctx context.Context, path string, tubs int) (err error) {
	r, err := m.rig(ctx, m.clock)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.close()) }()
	sample, err := m.sample(ctx, r)
	if err != nil {
		return err
	}
	sample.Effects.Remind = sample.Effects.Remind[:1]
	sample.Effects.Remind[0].Due = sample.Now.Add(24 * time.Hour)
	for i := range sample.Effects.Lines {
		sample.Effects.Lines[i].Send = false
	}
	s, err := sqlite.Open(path, sqlite.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	from := texters()
	return m.commitEach(tubs, func(i int) store.Turn {
		t := clone(sample, tubNumber(from, tubs, i))
		t.Effects.Remind[0].Due = t.Effects.Remind[0].Due.Add(time.Duration(i%3600) * time.Second)
		return t
	}, func(t store.Turn) error { return s.Commit(ctx, t) })
}

// tubNumber is the number of the ith tub. Those that texts can come from are spread evenly.
func tubNumber(from []string, tubs, i int) string {
	if every := spread(from, tubs); i%every == 0 && i/every < len(from) {
		return from[i/every]
	}
	return filed(i)
}

func spread(from []string, tubs int) int { return max(1, (tubs+len(from)-1)/len(from)) }

// there serves from the folder, says so, and has texts come in from all over the file.
func (m *measurement) there(ctx context.Context) (f figures, err error) {
	r, err := m.rig(ctx, m.clock)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.close()) }()
	r.work(ctx)
	if err := r.ready(ctx); err != nil {
		return nil, err
	}
	fmt.Fprintln(m.out, "ready")
	out := &tubsRun{Tubs: m.tubs, Resident: resident("VmRSS:")}
	if info, err := os.Stat(filepath.Join(m.on, "tubhand.db")); err == nil {
		out.FileMB = hundredths(float64(info.Size()) / (1 << 20))
	}
	load := m.scattered(r)
	// A number is slowed down where it texts for longer than people do.
	out.Texts, err = load.Closed(ctx, min(m.long(), 10*time.Second))
	out.After = resident("VmHWM:")
	return out, err
}

// ready waits until the server takes turns.
func (r *rig) ready(ctx context.Context) error {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+r.address+"/readyz", nil)
	if err != nil {
		return err
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return fmt.Errorf("the server is not ready: %s", resp.Status)
	}
	return nil
}

// scattered is texts from tubs all over the file.
func (m *measurement) scattered(r *rig) bench.Load {
	from := texters()
	every := spread(from, m.tubs)
	can := min(len(from), (m.tubs+every-1)/every)
	texts := []string{"how long is left?", "ok thanks", "how much longer", "thanks"}
	type sender struct {
		chance *rand.Rand
		n      int
	}
	senders := make([]sender, m.connections)
	for i := range senders {
		senders[i].chance = rand.New(rand.NewPCG(uint64(i), 1))
	}
	return bench.Load{Address: r.address, Path: "/in/sms/" + r.shop.Gateways[0].Name, Connections: m.connections, Clock: m.clock,
		Next: func(connection int) string {
			s := &senders[connection]
			s.n++
			return textForm(r.shop.Shop.Line, from[s.chance.IntN(can)], texts[s.n%len(texts)], fmt.Sprintf("tubs.%d.%d", connection, s.n))
		}}
}

// resident reads a figure of this process's memory, in MiB; 0 where the system has none.
func resident(field string) float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, field); ok {
			kib, _ := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 64)
			return hundredths(kib / 1024)
		}
	}
	return 0
}

func (r *tubsRun) table(w io.Writer) {
	fmt.Fprintf(w, "  %d tubs, %.0f MB: ready after %.2f s, %.0f MB resident, %.0f MB after the texts\n", r.Tubs, r.FileMB, r.Ready, r.Resident, r.After)
	runLine(w, "  texts from all over the file", r.Texts)
}

func (r *tubsReport) table(w io.Writer) {
	fmt.Fprintf(w, "tubs on file, sqlite on %d CPUs\n", r.CPUs)
	r.Many.table(w)
	r.Few.table(w)
	fmt.Fprintf(w, "  %-34s %8.2f\n", "processor time of a text, many / few", r.Cost)
}

// clone is a turn as the first one of another owner.
func clone(t store.Turn, number string) store.Turn {
	was := t.State.ID
	own := func(s *string) { *s = strings.ReplaceAll(*s, was, number) }
	t.State = t.State.Clone()
	c := &t.State
	c.Version = 0
	for _, s := range []*string{&t.Event, &c.ID, &c.Owner.Addresses[0]} {
		own(s)
	}
	if c.Service != nil {
		own(&c.Service.ID)
		for name, p := range c.Service.Timers {
			own(&p.ID)
			c.Service.Timers[name] = p
		}
	}
	t.Effects.Lines = append([]conversation.Line(nil), t.Effects.Lines...)
	for i := range t.Effects.Lines {
		l := &t.Effects.Lines[i]
		for _, s := range []*string{&l.ID, &l.Conversation, &l.From, &l.To} {
			own(s)
		}
	}
	t.Effects.Remind = append([]conversation.Reminder(nil), t.Effects.Remind...)
	for i := range t.Effects.Remind {
		rem := &t.Effects.Remind[i]
		for _, s := range []*string{&rem.ID, &rem.Conversation, &rem.Service} {
			own(s)
		}
	}
	return t
}
