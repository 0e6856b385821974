package conversation

import (
	"maps"
	"strings"
	"sync"
	"unicode"

	"tubhand/internal/understand"
)

// heard keeps what single words meant. Most answers to a step are one of a few words
// ("done", "yes", "pump"), and what such a word means in the same context is always the
// same. It keeps between n and 2n of them: when the younger half is full it becomes the
// older one, and what was there is forgotten. It is safe for concurrent use; the zero
// value is ready.
type heard struct {
	mu         sync.RWMutex
	young, old map[word]understand.Meaning
}

// heardMost is n. A key and its meaning take some 500 bytes.
const heardMost = 1024

// word is a text and all of the context that it is understood in.
type word struct {
	text, language, choices, step string
	asked                         understand.Asked
}

// longestWord bounds what is kept, in bytes.
const longestWord = 16

// context has the fields of understand.Context: where one is added there, this no longer
// compiles, and the word above has to tell it apart, too.
type context struct {
	Language      string
	Asked         understand.Asked
	AskedReadings []understand.Quantity
	Proposed      map[string]float64
	Choices       []understand.Choice
	Step          string
}

// wordOf gives the key of a text that is a single word of letters; ok is false for all
// other texts, and where a value is asked about.
func wordOf(text string, in context) (w word, ok bool) {
	if len(text) > longestWord || len(in.AskedReadings) > 0 || len(in.Proposed) > 0 || text == "" {
		return w, false
	}
	for _, r := range text {
		if !unicode.IsLetter(r) {
			return w, false
		}
	}
	w = word{text: text, language: in.Language, step: in.Step, asked: in.Asked}
	if len(in.Choices) > 0 {
		var b strings.Builder
		for _, c := range in.Choices {
			b.WriteString(c.Name)
			for _, said := range c.Words {
				b.WriteByte('\n')
				b.WriteString(said)
			}
			b.WriteByte(0)
		}
		w.choices = b.String()
	}
	return w, true
}

// understand is what the text means here.
func (h *heard) understand(text string, in understand.Context) understand.Meaning {
	w, ok := wordOf(text, context(in))
	if !ok {
		return understand.Understand(text, in)
	}
	m, ok := h.find(w)
	if !ok {
		m = understand.Understand(text, in)
		if m.Volume != nil {
			return m
		}
		w.text = strings.Clone(text)
		h.keep(w, m)
	}
	m.Readings, m.Proposal = maps.Clone(m.Readings), maps.Clone(m.Proposal) // whoever hears it may change it
	return m
}

func (h *heard) find(w word) (understand.Meaning, bool) {
	h.mu.RLock()
	defer h.mu.RUnlock()
	if m, ok := h.young[w]; ok {
		return m, true
	}
	m, ok := h.old[w]
	return m, ok
}

func (h *heard) keep(w word, m understand.Meaning) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.young == nil || len(h.young) >= heardMost {
		h.young, h.old = make(map[word]understand.Meaning), h.young
	}
	h.young[w] = m
}
