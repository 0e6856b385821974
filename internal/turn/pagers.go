package turn

import (
	"context"
	"strings"
	"unicode"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Pagers stands before a Runner and takes what staff on call text back: a text from
// one of their phones that holds the code of an open handover takes that handover.
// Everything else goes through as it came, for staff have tubs too.
type Pagers struct {
	runner *Runner
	view   func(ctx context.Context, shop string) store.View
	staff  map[string]map[string]string // shop -> address -> staff key
}

// NewPagers makes a Pagers for these shops; view reads a store for people.
func NewPagers(r *Runner, view func(ctx context.Context, shop string) store.View, shops []*conversation.Shop) *Pagers {
	p := &Pagers{runner: r, view: view, staff: map[string]map[string]string{}}
	for _, s := range shops {
		p.staff[s.Key] = map[string]string{}
		for _, who := range s.OnCall {
			p.staff[s.Key][who.Address] = who.Key
		}
	}
	return p
}

// open is how many open handovers are looked through for a code, the worst first.
const open = 500

// Handle runs the turn of one event, as Runner.Handle does.
func (p *Pagers) Handle(ctx context.Context, shop string, ev conversation.Event) error {
	who, ok := p.staff[shop][ev.From]
	if ev.Kind != conversation.TextIn || !ok {
		return p.runner.Handle(ctx, shop, ev)
	}
	cases, err := p.view(ctx, shop).Handovers(false, open)
	if err != nil {
		return err
	}
	if h, ok := named(cases, ev.Text); ok {
		ev = conversation.Event{ID: ev.ID, Kind: conversation.StaffAct, From: h.Conversation, To: ev.To, Gateway: ev.Gateway,
			Staff: conversation.StaffAction{Act: conversation.Claim, By: who, Handover: h.ID}}
	}
	return p.runner.Handle(ctx, shop, ev)
}

// named finds the case whose code is a word of the text.
func named(cases []conversation.Handover, text string) (conversation.Handover, bool) {
	words := map[string]bool{}
	for _, w := range strings.FieldsFunc(strings.ToUpper(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		words[w] = true
	}
	for _, h := range cases {
		if h.Code != "" && words[h.Code] {
			return h, true
		}
	}
	return conversation.Handover{}, false
}
