package conversation

import (
	"errors"
	"fmt"
	"sync"
	"time"

	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/water"
	"tubhand/internal/wording"
)

// World is what does not change from turn to turn: the shop, its flows, what is said
// and the limits of water. It is safe for concurrent use.
type World struct {
	shop   Shop
	flows  *flow.Set
	words  *wording.Set
	limits safety.Limits
	bands  *water.Bands // the same for the planner; nil where the shop sets none
	home   *time.Location
	heard  heard
	zones  sync.Map // IANA name -> *time.Location; reading one from the system is slow
}

// NewWorld puts a shop, its flows and its words together. It fails where a text that a
// flow says is missing, naming each, and where the shop loosens a limit.
func NewWorld(shop Shop, flows *flow.Set, words *wording.Set) (*World, error) {
	home, err := time.LoadLocation(shop.TimeZone)
	if err != nil {
		return nil, fmt.Errorf("shop %q: time zone %q: %w; use an IANA name such as America/Los_Angeles", shop.Key, shop.TimeZone, err)
	}
	var missing []error
	for _, name := range flows.Names() {
		f, _ := flows.Flow(name)
		for _, key := range f.WordingKeys() {
			if !words.Has(name, key) {
				missing = append(missing, fmt.Errorf("templates/en/%s.yaml: text %q is missing; flow %q says it", name, key, name))
			}
		}
	}
	if len(missing) > 0 {
		return nil, errors.Join(missing...)
	}
	limits, err := safety.Default().Tighten(shop.Limits)
	if err != nil {
		return nil, fmt.Errorf("shop %q: limits: %w", shop.Key, err)
	}
	w := &World{shop: shop, flows: flows, words: words, limits: limits, home: home}
	if len(shop.Limits) > 0 {
		bands := bandsOf(limits)
		w.bands = &bands
	}
	return w, nil
}

// Shop is the shop of this world.
func (w *World) Shop() *Shop { return &w.shop }

// Flows are the flows that can be run.
func (w *World) Flows() *flow.Set { return w.flows }

// zone gives the owner's location, or the shop's where the name says nothing.
func (w *World) zone(name string) *time.Location {
	if name == "" {
		return w.home
	}
	if z, ok := w.zones.Load(name); ok {
		return z.(*time.Location)
	}
	z, err := time.LoadLocation(name)
	if err != nil {
		z = w.home
	}
	w.zones.Store(name, z)
	return z
}
