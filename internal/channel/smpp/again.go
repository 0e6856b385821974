package smpp

import (
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"sync"
	"time"
)

// How long after the end of its session a text may come again because its answer was not
// heard, and how many texts are remembered. Our decision.
const (
	toldAgain = time.Hour
	mostSeen  = 10_000
)

// again gives texts their ids. SMPP gives none, and an owner may well write the same word
// twice in a minute, so two equal texts are one only where the message center cannot know
// that the first was taken: it was not answered yet, or its answer may have got lost with
// the link, which is so until the center answers a request of ours that was written after
// it. After a crash ids begin anew with the minute: a repeat within it gets the id
// that it had.
type again struct {
	mu   sync.Mutex
	seen map[string]*seen
}

// seen is the last text with some content.
type seen struct {
	id      string
	minute  int64
	n       int // of equal texts in this minute
	taken   bool
	at      time.Time // when it was taken
	session *session  // that it was taken on
	written uint32    // the last request on that session when its answer had been written; 0: it had not
}

func newAgain() *again { return &again{seen: map[string]*seen{}} }

// arrived gives a text's id.
func (a *again) arrived(s *session, key string, now time.Time) string {
	a.mu.Lock()
	defer a.mu.Unlock()
	last := a.seen[key]
	if last != nil && (!last.taken || last.doubtful(s, now)) {
		return last.id
	}
	next := &seen{minute: now.Unix() / 60, at: now}
	if last != nil && last.minute == next.minute {
		next.n = last.n + 1
	}
	next.id = "t" + digest(key, strconv.FormatInt(next.minute, 10), strconv.Itoa(next.n))
	a.forget(now)
	a.seen[key] = next
	return next.id
}

// doubtful tells whether the message center may not have heard that the text was taken.
func (l *seen) doubtful(s *session, now time.Time) bool {
	if l.session == s {
		return false
	}
	ended, confirmed := l.session.endedAt()
	heard := l.written > 0 && confirmed > l.written
	return !ended.IsZero() && !heard && now.Sub(ended) <= toldAgain
}

// taken notes that a text is durable and is being answered so.
func (a *again) taken(s *session, key string, now time.Time) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if last := a.seen[key]; last != nil {
		last.taken, last.at, last.session, last.written = true, now, s, 0
	}
}

// answered notes that the answer has been written, and which request was the last then.
func (a *again) answered(s *session, key string, request uint32) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if last := a.seen[key]; last != nil && last.taken && last.session == s {
		last.written = request
	}
}

// forget keeps the memory small.
func (a *again) forget(now time.Time) {
	if len(a.seen) < mostSeen {
		return
	}
	for key, s := range a.seen {
		if now.Sub(s.at) > toldAgain {
			delete(a.seen, key)
		}
	}
	if len(a.seen) >= mostSeen {
		clear(a.seen)
	}
}

// digest is a short name for what is told apart by all of its parts.
func digest(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		h.Write([]byte(strconv.Itoa(len(p)) + ":" + p))
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}
