package smpp

import (
	"context"
	"encoding/json"
	"hash/fnv"
	"slices"
	"strings"
	"sync"
	"time"

	"tubhand/internal/store"
)

// How long a text is waited for when parts are missing, how long when what has come is an
// emergency, and how often that is looked at: while parts wait, and else, for what another
// server left. Common practice, no source.
const (
	partWait   = 3 * time.Minute
	longWait   = 30 * time.Minute // where the link keeps breaking, over which they would come
	urgentWait = 15 * time.Second
	lookSoon   = 5 * time.Second
	lookLate   = time.Minute
)

// stripes are the locks of texts that are being joined.
type stripes [64]sync.Mutex

func (s *stripes) of(group string) *sync.Mutex {
	h := fnv.New32a()
	_, _ = h.Write([]byte(group))
	return &s[h.Sum32()%uint32(len(s))]
}

// poke has the sweep look soon.
func (l *Link) poke() {
	select {
	case l.sweep <- struct{}{}:
	default:
	}
}

// sweepParts hands in, until ctx ends, what waited too long for its missing parts, and
// what a crash left whole.
func (l *Link) sweepParts(ctx context.Context) {
	for ctx.Err() == nil {
		rest := lookLate
		if l.sweepOnce(ctx) {
			rest = lookSoon
		}
		at := time.NewTimer(rest)
		select {
		case <-ctx.Done():
		case <-at.C:
		case <-l.sweep:
			soon := time.NewTimer(lookSoon)
			select {
			case <-ctx.Done():
			case <-soon.C:
			}
			soon.Stop()
		}
		at.Stop()
	}
}

// sweepOnce looks once; true when parts still wait.
func (l *Link) sweepOnce(ctx context.Context) (waiting bool) {
	for _, shop := range l.config.Shops {
		groups, err := l.groups(ctx, shop)
		if err != nil {
			if ctx.Err() == nil {
				l.config.Log.Error("kept parts of texts cannot be read", "shop", shop, "error", err)
			}
			waiting = true
		}
		for _, group := range groups {
			waiting = l.overdue(ctx, shop, group) || waiting
		}
	}
	return waiting
}

// groups names the texts of a shop that have parts waiting.
func (l *Link) groups(ctx context.Context, shop string) ([]string, error) {
	prefix := l.config.Settings.Gateway + "/"
	var groups []string
	for after := prefix; ; {
		page, err := l.config.Documents.Documents(ctx, shop, partKind, after, store.MostListed, l.config.Clock.Now())
		if err != nil {
			return groups, err
		}
		for _, d := range page {
			if !strings.HasPrefix(d.Key, prefix) {
				return groups, nil
			}
			if group := d.Key[:strings.LastIndexByte(d.Key, '/')]; !slices.Contains(groups[max(0, len(groups)-1):], group) {
				groups = append(groups, group)
			}
			after = d.Key
		}
		if len(page) < store.MostListed {
			return groups, nil
		}
	}
}

// overdue hands in a text that is whole or has waited long enough; true when it still waits.
func (l *Link) overdue(ctx context.Context, shop, group string) bool {
	lock := l.joining.of(group)
	lock.Lock()
	defer lock.Unlock()
	ctx, done := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer done()
	parts, err := l.parts(ctx, shop, group)
	if err != nil {
		l.config.Log.Error("kept parts of a text cannot be read", "shop", shop, "error", err)
		return true
	}
	if len(parts) == 0 || len(parts) < parts[0].Total && l.config.Clock.Now().Before(l.deadline(parts)) {
		return len(parts) > 0
	}
	if err := l.join(ctx, shop, group, parts); err != nil && !turnedAway(err) {
		l.config.Log.Error("a long text was not taken", "shop", shop, "gateway", l.config.Settings.Gateway, "error", err)
		return true
	}
	return false
}

// deadline is until when missing parts are waited for: so long after the first one came,
// or after the link came up again, since none comes while it is down.
func (l *Link) deadline(parts []kept) time.Time {
	first := parts[0].At
	for _, p := range parts {
		if p.At.Before(first) {
			first = p.At
		}
	}
	if l.config.Urgent(assemble(parts, l.config.Settings.Alphabet)) {
		return first.Add(urgentWait)
	}
	latest := first.Add(longWait)
	since, up := l.state.boundAt()
	switch {
	case !up:
		return latest
	case since.Before(first):
		since = first
	}
	if due := since.Add(partWait); due.Before(latest) {
		return due
	}
	return latest
}

// marshal writes what is always writable.
func marshal(v any) []byte {
	raw, err := json.Marshal(v)
	if err != nil {
		panic("smpp: a record of ours: " + err.Error()) // no channel, function or cycle in it
	}
	return raw
}
