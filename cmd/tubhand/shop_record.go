package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/shop"
)

// recorder shows callbacks and what is made of them.
type recorder struct {
	explainer *sms.Explainer
	clock     clock.Clock
	out, err  io.Writer
	json      bool
	save      string // folder; "" for none
	answer    int    // instead of the description's; 0 for that

	mu    sync.Mutex
	count int
}

// newRecorder reads the shop file and picks the gateway.
func newRecorder(file, gateway string, s streams) (*recorder, error) {
	f, err := loadShop(file)
	if err != nil {
		return nil, err
	}
	if gateway == "" {
		if gateway, err = onlyGateway(f); err != nil {
			return nil, err
		}
	}
	if _, ok := f.Gateway(gateway); !ok {
		return nil, fmt.Errorf("%s has no gateway %q; write one of: %s", file, gateway, strings.Join(gatewayNames(f), ", "))
	}
	r := &recorder{clock: clock.System(), out: s.out, err: s.err}
	r.explainer, err = sms.NewExplainer(f, gateway, vaultOf(s), r.clock)
	return r, err
}

func gatewayNames(f *shop.File) []string {
	var names []string
	for _, g := range f.Gateways {
		names = append(names, g.Name)
	}
	return names
}

func onlyGateway(f *shop.File) (string, error) {
	names := gatewayNames(f)
	if len(names) != 1 {
		return "", fmt.Errorf("the shop has several gateways; name one with --gateway: %s", strings.Join(names, ", "))
	}
	return names[0], nil
}

func shopRecord(ctx context.Context, args []string, s streams) int {
	flags := shopFlags("record", s)
	gateway := flags.String("gateway", "", "`name` of the gateway; may be left out where the shop has one")
	listen := flags.String("listen", "127.0.0.1:8080", "`address` to take callbacks on")
	save := flags.String("save", "", "`folder` to save each callback in, passwords masked")
	answer := flags.Int("answer", 0, "`status` to answer with; 503 asks the gateway to send the same again later. Left out: as the description says")
	asJSON := flags.Bool("json", false, "write JSON, one object a callback")
	files, code := mixed(flags, args)
	if code >= 0 {
		return code
	}
	if len(files) != 1 || *answer != 0 && (*answer < 200 || *answer > 599) {
		flags.Usage()
		return 2
	}
	r, err := newRecorder(files[0], *gateway, s)
	if err == nil && *save != "" {
		err = os.MkdirAll(*save, 0o700)
	}
	if err != nil {
		fmt.Fprintln(s.err, err)
		return 1
	}
	r.json, r.save, r.answer = *asJSON, *save, *answer
	if err := r.serve(ctx, *listen); err != nil {
		fmt.Fprintln(s.err, "tubhand shop record:", err)
		return 1
	}
	return 0
}

// serve takes callbacks until ctx ends.
func (r *recorder) serve(ctx context.Context, address string) error {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return fmt.Errorf("%w; name another address with --listen", err)
	}
	web := &http.Server{Handler: r, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second,
		WriteTimeout: 30 * time.Second, MaxHeaderBytes: 32 << 10}
	fmt.Fprintf(r.err, "recording on http://%s; nothing is handled. Ctrl-C ends it.\n", l.Addr())
	stop := context.AfterFunc(ctx, func() { _ = web.Close() })
	defer stop()
	if err := web.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// ServeHTTP implements http.Handler.
func (r *recorder) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	body, err := io.ReadAll(http.MaxBytesReader(w, req.Body, 64<<10))
	if err != nil {
		http.Error(w, "the body is longer than 65536 bytes, or broke off", http.StatusRequestEntityTooLarge)
		fmt.Fprintf(r.err, "a callback to %s was longer than 65536 bytes, or broke off\n", req.URL.Path)
		return
	}
	cb := &sms.Callback{Method: req.Method, URI: req.URL.RequestURI(), Header: req.Header, Body: body}
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.clock.Now()
	r.count++
	r.show(fmt.Sprintf("callback %d, %s", r.count, now.Format(time.DateTime)), cb, now)
	if r.save != "" {
		r.keep(cb, now)
	}
	if a := r.explainer.Answer(); r.answer == 0 && a.Body != "" {
		w.Header().Set("Content-Type", a.Type)
		w.WriteHeader(a.Status)
		_, _ = io.WriteString(w, a.Body)
	} else if r.answer == 0 {
		w.WriteHeader(a.Status)
	} else {
		w.WriteHeader(r.answer)
	}
}

// keep saves a callback without what proves who sent it.
func (r *recorder) keep(cb *sms.Callback, at time.Time) {
	name := filepath.Join(r.save, at.UTC().Format("20060102-150405")+fmt.Sprintf("-%03d.http", r.count))
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err == nil {
		err = errors.Join(r.explainer.Masked(cb).WriteTo(f, at), f.Close())
	}
	if err != nil {
		fmt.Fprintln(r.err, "not saved:", err)
		return
	}
	fmt.Fprintln(r.err, "saved as", name)
}

// shown is a callback as JSON tells it.
type shown struct {
	Name    string   `json:"name"`
	Request string   `json:"request"`
	Headers []string `json:"headers"`
	Body    string   `json:"body"`
	sms.Explained
}

// show writes a callback and what is made of it.
func (r *recorder) show(name string, cb *sms.Callback, at time.Time) sms.Explained {
	made := r.explainer.Explain(cb, at)
	safe := r.explainer.Masked(cb)
	headers, others := r.explainer.Matters(safe.Header)
	if r.json {
		_ = json.NewEncoder(r.out).Encode(shown{name, safe.Method + " " + safe.URI, headers, string(safe.Body), made})
		return made
	}
	var b strings.Builder
	fmt.Fprintf(&b, "== %s\n%s %s\n", name, safe.Method, safe.URI)
	for _, h := range headers {
		fmt.Fprintln(&b, h)
	}
	if len(others) > 0 {
		fmt.Fprintf(&b, "(and %s)\n", strings.Join(others, ", "))
	}
	if len(safe.Body) > 0 {
		fmt.Fprintf(&b, "\n%s\n", visible(string(safe.Body)))
	}
	fmt.Fprintf(&b, "-- signature: %s\n", made.Signature)
	if made.Try != "" {
		fmt.Fprintf(&b, "   it would hold with %s\n", made.Try)
	}
	for _, it := range made.Items {
		fmt.Fprintf(&b, "-- %s\n", it.Becomes)
		for _, line := range mapped(it.Item) {
			fmt.Fprintf(&b, "   %s\n", line)
		}
	}
	if made.Refused != "" {
		fmt.Fprintf(&b, "-- refused: %s\n", made.Refused)
	}
	fmt.Fprintf(&b, "-- serve would answer %d\n\n", made.Answer)
	_, _ = io.WriteString(r.out, b.String())
	return made
}

// visible leaves no character that could steer a terminal.
func visible(s string) string {
	return strings.Map(func(c rune) rune {
		if c < ' ' && c != '\n' && c != '\t' || c == 0x7f || c >= 0x80 && c < 0xa0 {
			return '\uFFFD'
		}
		return c
	}, s)
}

// mapped lists the fields that were found.
func mapped(it sms.Item) []string {
	var out []string
	for _, f := range [][2]string{{"from", it.From}, {"to", it.To}, {"body", it.Body}, {"id", it.ID}, {"time", it.Time},
		{"key", it.Key}, {"line", it.Line}, {"state", it.State}} {
		if f[1] != "" {
			out = append(out, fmt.Sprintf("%-6s %q", f[0], f[1]))
		}
	}
	for _, p := range it.Pictures {
		out = append(out, fmt.Sprintf("file   %q %s", p.URL, visible(p.Kind)))
	}
	return out
}

func shopReplay(args []string, s streams) int {
	flags := shopFlags("replay", s)
	gateway := flags.String("gateway", "", "`name` of the gateway; may be left out where the shop has one")
	asJSON := flags.Bool("json", false, "write JSON, one object a callback")
	files, code := mixed(flags, args)
	if code >= 0 {
		return code
	}
	if len(files) < 2 {
		flags.Usage()
		return 2
	}
	r, err := newRecorder(files[0], *gateway, s)
	if err != nil {
		fmt.Fprintln(s.err, err)
		return 1
	}
	r.json, code = *asJSON, 0
	for _, name := range files[1:] {
		if err := r.replay(name); err != nil {
			fmt.Fprintf(s.err, "%s: %v\n", name, err)
			code = 1
		}
	}
	return code
}

var errNotTaken = errors.New("would not be taken as it is")

// replay shows a saved callback, at the time when it came.
func (r *recorder) replay(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	cb, at, err := sms.ReadSaved(f)
	if err != nil {
		return err
	}
	if at.IsZero() {
		at = r.clock.Now()
	}
	made := r.show(name, cb, at)
	if made.Answer >= 300 || slices.ContainsFunc(made.Items, func(t sms.Told) bool { return t.Refused }) {
		return errNotTaken
	}
	return nil
}
