package smpp

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/store"
)

// delivered is the third state of a line that is reported, beside store.Sent and store.Failed.
const delivered = "delivered"

// The kinds of documents that lead from receipts to lines, and for how long. Receipts
// come within a message's validity, some days at most.
const (
	idKind    = "smpp_id"
	tallyKind = "smpp_tally"
	idLife    = 7 * 24 * time.Hour
)

// origin is the part of a line that a message center's id stands for.
type origin struct {
	Line string `json:"line"`
	Part int    `json:"part"`
	Of   int    `json:"of"`
	To   string `json:"to"`
}

// idKey is a document's key for an id, which is a stranger's.
func (l *Link) idKey(id string) string {
	if strings.ContainsFunc(id, func(r rune) bool { return r <= ' ' || r > '~' }) {
		id = "#" + digest(id)
	}
	return l.config.Settings.Gateway + "/" + id
}

// keepID keeps which part of which line an id stands for, and takes up a receipt that
// was faster than this.
func (l *Link) keepID(s *sending, p *part, id string) {
	if id == "" || l.config.Settings.Silent {
		return
	}
	number := 0
	for i, one := range s.parts {
		if one == p {
			number = i + 1
		}
	}
	l.keepOrigin(s, number, id)
}

func (l *Link) keepOrigin(s *sending, number int, id string) {
	ctx, done := context.WithTimeout(context.Background(), patience)
	defer done()
	o := origin{Line: s.line, Part: number, Of: len(s.parts), To: s.to}
	now := l.config.Clock.Now()
	d := store.Document{Kind: idKind, Key: l.idKey(id), Value: marshal(o), Expires: now.Add(idLife)}
	err := l.config.Documents.PutDocument(ctx, s.shop, d, now)
	if errors.Is(err, store.ErrConflict) { // the message center begins its ids anew: the last one counts
		if old, gone := l.config.Documents.Document(ctx, s.shop, idKind, d.Key, now); gone == nil {
			d.Version = old.Version
			err = l.config.Documents.PutDocument(ctx, s.shop, d, now)
		}
	}
	if err != nil {
		l.config.Log.Error("the id of a sent message cannot be kept; its receipt will not be known", "shop", s.shop, "gateway", l.config.Settings.Gateway, "error", err)
	}
	if r, ok := l.early.take(id); ok {
		_ = l.report(ctx, s.shop, o, r)
	}
}

// receipt takes a delivery receipt.
func (l *Link) receipt(ctx context.Context, m pdu.Message) pdu.Status {
	l.config.Observe("receipt")
	r, ok := readReceipt(m, l.config.Settings.Alphabet)
	if !ok {
		l.config.Log.Warn("a delivery receipt cannot be read", "gateway", l.config.Settings.Gateway)
		return pdu.OK
	}
	shop, o, err := l.find(ctx, r, m)
	switch {
	case errors.Is(err, store.ErrNotFound):
		l.early.put(r)
		if shop, o, err = l.find(ctx, r, m); err != nil { // kept meanwhile?
			return pdu.OK
		}
		l.early.take(r.id)
	case err != nil:
		return l.answer(err)
	}
	return l.answer(l.report(ctx, shop, o, r))
}

// find gives the line that a receipt is about.
func (l *Link) find(ctx context.Context, r receipt, m pdu.Message) (shop string, o origin, err error) {
	for i, id := range spellings(r.id) {
		for _, shop := range l.config.Shops {
			d, err := l.config.Documents.Document(ctx, shop, idKind, l.idKey(id), l.config.Clock.Now())
			if errors.Is(err, store.ErrNotFound) {
				continue
			}
			if err == nil {
				err = json.Unmarshal(d.Value, &o)
			}
			if err != nil {
				return "", origin{}, fmt.Errorf("smpp: a message's id: %w", err)
			}
			// Another spelling of a number may be another message's id.
			if i == 0 || about(m, o.To) {
				return shop, o, nil
			}
		}
	}
	return l.vouched(r, m)
}

// vouched finds a message whose answer got lost by its user_message_reference.
func (l *Link) vouched(r receipt, m pdu.Message) (shop string, o origin, err error) {
	if r.reference == 0 || r.state == store.Failed {
		return "", origin{}, store.ErrNotFound
	}
	for _, to := range []string{inward(m.Source), "+" + m.Source.Number} {
		if s, number := l.sendings.vouched(to, r.reference, r.id); s != nil {
			l.config.Observe("vouched")
			if r.id != "" {
				l.keepOrigin(s, number, r.id)
			}
			return s.shop, origin{Line: s.line, Part: number, Of: len(s.parts), To: s.to}, nil
		}
	}
	return "", origin{}, store.ErrNotFound
}

// about tells whether a receipt is about a message to that number.
func about(m pdu.Message, to string) bool {
	to = strings.TrimPrefix(to, "+")
	return to == strings.TrimPrefix(m.Source.Number, "+") || to == strings.TrimPrefix(m.Destination.Number, "+")
}

// spellings are the ways in which one id is written: some message centers give it in
// hexadecimal digits with the answer and in decimal ones with the receipt, or the other
// way round (common practice, no source).
func spellings(id string) []string {
	if id == "" {
		return nil
	}
	all := []string{id}
	if n, err := strconv.ParseUint(id, 10, 64); err == nil {
		x := strconv.FormatUint(n, 16)
		all = append(all, x, strings.ToUpper(x), fmt.Sprintf("%08x", n), fmt.Sprintf("%08X", n))
	}
	if n, err := strconv.ParseUint(id, 16, 64); err == nil {
		all = append(all, strconv.FormatUint(n, 10), fmt.Sprintf("%010d", n))
	}
	return append(all, strings.ToLower(id), strings.ToUpper(id), strings.TrimLeft(id, "0"))
}

// report tells how a line fares. One in several parts is delivered when all of them are,
// and failed when one is.
func (l *Link) report(ctx context.Context, shop string, o origin, r receipt) error {
	if r.state == store.Failed {
		l.config.Log.Info("a message was not delivered", "shop", shop, "gateway", l.config.Settings.Gateway, "code", r.code)
	}
	state := r.state
	if state == delivered && o.Of > 1 {
		all, err := l.tally(ctx, shop, o)
		if err != nil {
			return err
		}
		if !all {
			state = store.Sent
		}
	}
	err := l.config.Reports.Delivered(ctx, shop, o.Line, state)
	if errors.Is(err, store.ErrNotFound) {
		return nil // erased, or too long ago
	}
	return err
}

// tally notes that a part was delivered, and tells whether all are.
func (l *Link) tally(ctx context.Context, shop string, o origin) (all bool, err error) {
	key, now := l.config.Settings.Gateway+"/"+digest(o.Line), l.config.Clock.Now()
	for range 8 {
		d, err := l.config.Documents.Document(ctx, shop, tallyKind, key, now)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return false, err
		}
		parts := map[int]bool{}
		if err == nil {
			if err := json.Unmarshal(d.Value, &parts); err != nil {
				return false, fmt.Errorf("smpp: delivered parts: %w", err)
			}
		}
		parts[o.Part] = true
		d = store.Document{Kind: tallyKind, Key: key, Value: marshal(parts), Version: d.Version, Expires: now.Add(idLife)}
		err = l.config.Documents.PutDocument(ctx, shop, d, now)
		if !errors.Is(err, store.ErrConflict) {
			return len(parts) >= o.Of, err
		}
	}
	return false, store.ErrConflict
}

// mostEarly bounds the receipts that wait for the answer to their submit.
const mostEarly = 1000

// early keeps receipts that came before the answer which tells their id. It is memory
// only: a crash in between costs the receipt.
type early struct {
	mu    sync.Mutex
	byID  map[string]receipt
	order []string
}

func newEarly() *early { return &early{byID: map[string]receipt{}} }

func (e *early) put(r receipt) {
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, id := range spellings(r.id) {
		e.byID[id] = r
		e.order = append(e.order, id)
	}
	for len(e.order) > mostEarly {
		delete(e.byID, e.order[0])
		e.order = e.order[1:]
	}
}

func (e *early) take(id string) (receipt, bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	r, ok := e.byID[id]
	for _, spelled := range spellings(r.id) {
		delete(e.byID, spelled)
	}
	return r, ok
}
