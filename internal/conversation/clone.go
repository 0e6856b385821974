package conversation

import (
	"maps"
	"slices"
)

// clone copies everything that a turn may change, so that Decide leaves its input alone.
func (c Conversation) clone() Conversation {
	c.Owner.Addresses = slices.Clone(c.Owner.Addresses)
	c.Tub.Readings = maps.Clone(c.Tub.Readings)
	c.Tub.JarSpoons = maps.Clone(c.Tub.JarSpoons)
	c.Tub.Done = maps.Clone(c.Tub.Done)
	c.Tub.Aimed = maps.Clone(c.Tub.Aimed)
	c.Tub.Tried = maps.Clone(c.Tub.Tried)
	c.Tub.Past = slices.Clone(c.Tub.Past)
	c.Open = slices.Clone(c.Open)
	c.Pages = slices.Clone(c.Pages)
	for i := range c.Pages {
		c.Pages[i].Called = slices.Clone(c.Pages[i].Called)
	}
	c.Asked.Readings = slices.Clone(c.Asked.Readings)
	c.Asked.Choices = slices.Clone(c.Asked.Choices)
	c.Asked.Proposed = maps.Clone(c.Asked.Proposed)
	if c.Service != nil {
		c.Service = c.Service.clone()
	}
	c.Hold = copied(c.Hold)
	c.Danger = copied(c.Danger)
	if c.Thread = copied(c.Thread); c.Thread != nil {
		c.Thread.References = slices.Clone(c.Thread.References)
	}
	c.Link = copied(c.Link)
	c.LinksAsked = slices.Clone(c.LinksAsked)
	c.Consent = c.Consent.clone()
	c.Calendar = c.Calendar.clone()
	return c
}

func (s Service) clone() *Service {
	s.Facts = maps.Clone(s.Facts)
	s.Stamps = maps.Clone(s.Stamps)
	s.Advised = maps.Clone(s.Advised)
	s.Added = maps.Clone(s.Added)
	s.Timers = maps.Clone(s.Timers)
	s.Caller = copied(s.Caller)
	s.Told = slices.Clone(s.Told)
	s.Kept = maps.Clone(s.Kept)
	return &s
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	v := *p
	return &v
}

// put sets a key in a map that may not have been made yet.
func put[K comparable, V any](m *map[K]V, key K, value V) {
	if *m == nil {
		*m = map[K]V{}
	}
	(*m)[key] = value
}
