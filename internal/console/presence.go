package console

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Who else has a conversation open is known by the live connections of this server, at
// once, and by small documents of other servers, at each heartbeat. That somebody is
// writing is known within one server alone.
const (
	presenceKind  = "console_presence"
	writingLasts  = 8 * time.Second
	mostSeats     = 40 // of one conversation that are looked at
	presenceWaits = 2 * time.Second
)

// presence is who has which conversation open on this server.
type presence struct {
	mu    sync.Mutex
	rooms map[string]map[*seat]struct{}
}

// seat is one open page of a conversation. Its document is touched by its own connection
// only.
type seat struct {
	id, room string
	who      conversation.Person
	writing  time.Time     // until then; under the presence's lock
	changed  chan struct{} // somebody came, left or writes
	document store.Document
}

// someone is a person who has the conversation open too.
type someone struct {
	Name    string `json:"name"`
	Writing bool   `json:"writing,omitempty"`
}

func newPresence() *presence { return &presence{rooms: map[string]map[*seat]struct{}{}} }

func (p *presence) join(room string, who conversation.Person) *seat {
	s := &seat{id: rand.Text(), room: room, who: who, changed: make(chan struct{}, 1)}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.rooms[room] == nil {
		p.rooms[room] = map[*seat]struct{}{}
	}
	p.rooms[room][s] = struct{}{}
	p.tell(room)
	return s
}

func (p *presence) leave(s *seat) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.rooms[s.room], s)
	if len(p.rooms[s.room]) == 0 {
		delete(p.rooms, s.room)
	}
	p.tell(s.room)
}

// writes notes that a person is writing, or not any more.
func (p *presence) writes(room, key string, until time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for s := range p.rooms[room] {
		if s.who.Key == key {
			s.writing = until
		}
	}
	p.tell(room)
}

// tell wakes the connections of a conversation; the caller holds the lock.
func (p *presence) tell(room string) {
	for s := range p.rooms[room] {
		select {
		case s.changed <- struct{}{}:
		default:
		}
	}
}

// others are those who have the conversation open on this server, but for one's own pages.
func (p *presence) others(s *seat, now time.Time) map[string]someone {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := map[string]someone{}
	for o := range p.rooms[s.room] {
		if o.who.Key != s.who.Key {
			out[o.who.Key] = someone{Name: o.who.Name, Writing: out[o.who.Key].Writing || now.Before(o.writing)}
		}
	}
	return out
}

// sit gives a live connection its seat in the conversation that its page shows; nil where
// it shows none.
func (s *site) sit(g *gin.Context) *seat {
	id := g.Query("with")
	if id == "" {
		return nil
	}
	if _, err := s.Store.View(g.Request.Context(), s.Shop.Key).Conversation(id); err != nil {
		return nil
	}
	return s.present.join(id, s.me(g))
}

// stand gives the seat up.
func (s *site) stand(at *seat) {
	if at == nil {
		return
	}
	s.present.leave(at)
	ctx, done := context.WithTimeout(context.Background(), presenceWaits)
	defer done()
	if at.document.Version > 0 {
		_ = s.Store.DeleteDocument(ctx, s.Shop.Key, presenceKind, at.document.Key, s.Clock.Now()) // it ends by itself too
	}
}

// seen is what a presence document holds.
type seen struct {
	Key  string `json:"key"`
	Name string `json:"name"`
}

// keepSeat keeps the seat's document alive for other servers.
func (s *site) keepSeat(ctx context.Context, at *seat) {
	now := s.Clock.Now()
	value, err := json.Marshal(seen{Key: at.who.Key, Name: at.who.Name})
	if err != nil {
		return
	}
	d := store.Document{Kind: presenceKind, Key: at.room + "|" + at.id, Value: value, Version: at.document.Version, Expires: now.Add(3 * s.Beat)}
	err = s.Store.PutDocument(ctx, s.Shop.Key, d, now)
	if errors.Is(err, store.ErrConflict) { // it had expired while the machine slept
		d.Version = 0
		err = s.Store.PutDocument(ctx, s.Shop.Key, d, now)
	}
	if err != nil {
		s.Log.Debug("presence is not told to other servers", "error", err)
		return
	}
	d.Version++
	at.document = d
}

// elsewhere adds those who have the conversation open on other servers.
func (s *site) elsewhere(ctx context.Context, at *seat, all map[string]someone) {
	prefix := at.room + "|"
	list, err := s.Store.Documents(ctx, s.Shop.Key, presenceKind, prefix, mostSeats, s.Clock.Now())
	if err != nil {
		return
	}
	for _, d := range list {
		if !strings.HasPrefix(d.Key, prefix) {
			return
		}
		var who seen
		if json.Unmarshal(d.Value, &who) != nil || who.Key == at.who.Key || who.Key == "" {
			continue
		}
		if _, here := all[who.Key]; !here {
			all[who.Key] = someone{Name: who.Name}
		}
	}
}

// company writes who else has the conversation open.
func (s *site) company(ctx context.Context, out *eventWriter, at *seat) error {
	if at == nil {
		return nil
	}
	all := s.present.others(at, s.Clock.Now())
	s.elsewhere(ctx, at, all)
	list := make([]someone, 0, len(all))
	for _, who := range all {
		list = append(list, who)
	}
	slices.SortFunc(list, func(a, b someone) int { return strings.Compare(a.Name, b.Name) })
	words, err := json.Marshal(list)
	if err != nil {
		return err
	}
	return out.write("event: here\ndata: " + string(words) + "\n\n")
}

// here takes a sign that somebody is writing, or has ended.
func (s *site) here(g *gin.Context) {
	until := time.Time{}
	if g.PostForm("writing") == "yes" {
		until = s.Clock.Now().Add(writingLasts)
	}
	s.present.writes(g.PostForm("conversation"), s.me(g).Key, until)
	g.Status(http.StatusNoContent)
}
