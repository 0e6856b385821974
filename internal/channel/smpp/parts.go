package smpp

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/store"
)

// The kinds of documents that parts of texts are kept as, and for how long. A joined text
// is remembered for as long as its parts might come again.
const (
	partKind   = "smpp_part"
	joinedKind = "smpp_joined"
	partLife   = 7 * 24 * time.Hour
	joinedLife = time.Hour
)

// kept is one part of a text as it waits for its fellows.
type kept struct {
	From     string    `json:"from"`
	To       string    `json:"to"`
	Coding   byte      `json:"coding"`
	Spanish  bool      `json:"spanish,omitempty"`
	Octets   []byte    `json:"octets"`
	Sequence int       `json:"sequence"`
	Total    int       `json:"total"`
	At       time.Time `json:"at"`
}

// group names the text that a part is of: sender, line, reference and how many there are.
func (l *Link) group(in incoming) string {
	form := fmt.Sprintf("%t %t %d %d", in.sar, in.part.Wide, in.part.Reference, in.part.Total)
	return l.config.Settings.Gateway + "/" + digest(in.from, in.to, form)
}

func partKey(group string, sequence int) string { return fmt.Sprintf("%s/%03d", group, sequence) }

// part keeps a part of a text, durably before it is acknowledged, and hands the text in
// when it was the last one that was missing.
func (l *Link) part(ctx context.Context, in incoming) pdu.Status {
	shop, ok := l.config.Texts.Shop(l.config.Settings.Gateway, in.to)
	if !ok {
		return pdu.InvalidDestination
	}
	group := l.group(in)
	lock := l.joining.of(group)
	lock.Lock()
	defer lock.Unlock()
	l.config.Observe("part")
	again, err := l.keep(ctx, shop, group, in)
	if again || err != nil {
		return l.answer(err)
	}
	parts, err := l.parts(ctx, shop, group)
	switch {
	case err != nil:
		return l.answer(err)
	case len(parts) < int(in.part.Total):
		l.poke()
		return pdu.OK
	}
	err = l.join(ctx, shop, group, parts)
	if err != nil && !turnedAway(err) {
		l.poke() // the sweep tries too, should the message center not
	}
	return l.answer(err)
}

// keep stores a part; again tells that its text has been handed in already. A different
// part in its place is of an older text with the same reference, which is handed in
// with what came of it.
func (l *Link) keep(ctx context.Context, shop, group string, in incoming) (again bool, err error) {
	now := l.config.Clock.Now()
	if again, err = l.joinedBefore(ctx, shop, group, in, now); again || err != nil {
		return again, err
	}
	value := marshal(kept{From: in.from, To: in.to, Coding: in.coding, Spanish: in.spanish, Octets: in.octets,
		Sequence: int(in.part.Sequence), Total: int(in.part.Total), At: now.UTC()})
	d := store.Document{Kind: partKind, Key: partKey(group, int(in.part.Sequence)), Value: value, Expires: now.Add(partLife)}
	for range 2 {
		err = l.config.Documents.PutDocument(ctx, shop, d, now)
		if !errors.Is(err, store.ErrConflict) {
			return false, err
		}
		parts, err := l.parts(ctx, shop, group)
		if err != nil {
			return false, err
		}
		for _, p := range parts {
			if p.Sequence == int(in.part.Sequence) && string(p.Octets) == string(in.octets) {
				return false, nil
			}
		}
		if err := l.join(ctx, shop, group, parts); err != nil && !turnedAway(err) {
			return false, err
		}
	}
	return false, err
}

// joinedBefore tells a part of a text that was handed in: it came again.
func (l *Link) joinedBefore(ctx context.Context, shop, group string, in incoming, now time.Time) (bool, error) {
	d, err := l.config.Documents.Document(ctx, shop, joinedKind, group, now)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	var digests map[string]string
	if err := json.Unmarshal(d.Value, &digests); err != nil {
		return false, fmt.Errorf("smpp: parts joined before: %w", err)
	}
	return digests[strconv.Itoa(int(in.part.Sequence))] == digest(string(in.octets)), nil
}

// parts reads what is kept of a text, in order.
func (l *Link) parts(ctx context.Context, shop, group string) ([]kept, error) {
	found, err := l.config.Documents.Documents(ctx, shop, partKind, group+"/", 256, l.config.Clock.Now())
	if err != nil {
		return nil, err
	}
	var parts []kept
	for _, d := range found {
		if !strings.HasPrefix(d.Key, group+"/") {
			break
		}
		var p kept
		if err := json.Unmarshal(d.Value, &p); err != nil {
			return nil, fmt.Errorf("smpp: a kept part: %w", err)
		}
		parts = append(parts, p)
	}
	slices.SortFunc(parts, func(a, b kept) int { return a.Sequence - b.Sequence })
	return parts, nil
}

// join hands in what there is of a text and lets its parts go. The id is drawn from the
// parts and the day of the first, so that a text that is joined anew after a crash is the same.
func (l *Link) join(ctx context.Context, shop, group string, parts []kept) error {
	if len(parts) == 0 {
		return nil
	}
	began, content := parts[0].At, group
	digests := map[string]string{}
	for _, p := range parts {
		if p.At.Before(began) {
			began = p.At
		}
		one := digest(string(p.Octets))
		digests[strconv.Itoa(p.Sequence)] = one
		content += " " + strconv.Itoa(p.Sequence) + one
	}
	err := l.config.Texts.Take(ctx, l.config.Settings.Gateway, Text{From: parts[0].From, To: parts[0].To,
		ID: "j" + digest(content, began.UTC().Format(time.DateOnly)), Body: assemble(parts, l.config.Settings.Alphabet)})
	if err != nil && !turnedAway(err) {
		return err
	}
	if len(parts) < parts[0].Total {
		l.config.Observe("incomplete")
		l.config.Log.Warn("a long text came with parts missing", "shop", shop, "gateway", l.config.Settings.Gateway, "parts", len(parts), "of", parts[0].Total)
	}
	l.remember(ctx, shop, group, digests)
	for _, p := range parts {
		// What stays is joined once more by the sweep, with the same id.
		_ = l.config.Documents.DeleteDocument(ctx, shop, partKind, partKey(group, p.Sequence), l.config.Clock.Now())
	}
	return err
}

// remember notes which parts were handed in. Where it fails, a part that comes again
// waits in vain for the others and is handed in alone.
func (l *Link) remember(ctx context.Context, shop, group string, digests map[string]string) {
	now := l.config.Clock.Now()
	d, err := l.config.Documents.Document(ctx, shop, joinedKind, group, now)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return
	}
	d = store.Document{Kind: joinedKind, Key: group, Value: marshal(digests), Version: d.Version, Expires: now.Add(joinedLife)}
	_ = l.config.Documents.PutDocument(ctx, shop, d, now)
}

// turnedAway tells that a text will never be taken.
func turnedAway(err error) bool { return errors.Is(err, ErrNoLine) || errors.Is(err, ErrNoSender) }
