package conversation

import (
	"maps"
	"slices"
)

// Clone copies a conversation with all that it points to, so that whoever holds the copy
// shares no memory with whoever holds c.
func (c Conversation) Clone() Conversation {
	c = c.clone()
	for i := range c.Open {
		c.Open[i].Notes = slices.Clone(c.Open[i].Notes)
	}
	for i := range c.Tub.Past {
		c.Tub.Past[i].Read = maps.Clone(c.Tub.Past[i].Read)
	}
	return c
}
