package console

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// sizeWords is a tub at a glance: "375 US gal, chlorine".
func sizeWords(c *conversation.Conversation) string {
	words := "size not known"
	if gallons := c.Tub.VolumeUSGal; gallons > 0 {
		words = fmt.Sprintf("%.0f US gal", gallons)
		if c.Owner.Metric {
			words = fmt.Sprintf("%.0f L", gallons*litresPerUSGal)
		}
	}
	if c.Tub.Sanitizer != "" {
		words += ", " + c.Tub.Sanitizer
	}
	return words
}

// litresPerUSGal is exact: 231 cubic inches.
const litresPerUSGal = 3.785411784

// choreWords names what comes round on a tub.
func choreWords(c conversation.Chore) string {
	switch c {
	case conversation.ChoreTest:
		return "Test"
	case conversation.ChoreFilters:
		return "Filters"
	case conversation.ChoreRinse:
		return "Rinse filters"
	case conversation.ChoreFlush:
		return "Flush"
	case conversation.ChoreRefill:
		return "Refill"
	}
	return plain(string(c))
}

// listedChores are the chores that lists tell of, earliest first: that filters are hosed off
// each week is the owner's, and would stand before all else.
func listedChores(c *conversation.Conversation) []conversation.DueChore {
	return slices.DeleteFunc(conversation.DueChores(c), func(d conversation.DueChore) bool {
		return d.Chore == conversation.ChoreRinse
	})
}

// readFailed answers for a list that could not be read: a place to go on that is none is the
// asker's.
func (s *site) readFailed(g *gin.Context, doing string, err error) {
	if errors.Is(err, store.ErrRefused) {
		s.problem(g, http.StatusBadRequest, "That is no page of the list. Begin with its first page.")
		return
	}
	s.failed(g, doing, err)
}
