package understand

import (
	"strings"
	"sync"
)

// concepts maps words of both languages to what they mean, from cues/concepts.txt.
type concepts struct {
	names  []string
	exact  map[string][]uint8
	prefix map[string][]prefixConcept
}

type prefixConcept struct {
	prefix  string
	concept uint8
}

var loadConcepts = sync.OnceValue(func() *concepts {
	data, err := cueFiles.ReadFile("cues/concepts.txt")
	if err != nil {
		panic(err)
	}
	return parseConcepts(string(data))
})

func parseConcepts(text string) *concepts {
	c := &concepts{exact: map[string][]uint8{}, prefix: map[string][]prefixConcept{}}
	for _, line := range strings.Split(text, "\n") {
		name, list, ok := strings.Cut(line, ":")
		if !ok || strings.HasPrefix(line, "#") {
			continue
		}
		id := uint8(len(c.names))
		c.names = append(c.names, name)
		for _, w := range strings.Fields(list) {
			c.add(w, id)
		}
	}
	return c
}

func (c *concepts) add(word string, id uint8) {
	if p, ok := strings.CutSuffix(word, "*"); ok && len(p) >= 3 {
		c.prefix[p[:3]] = append(c.prefix[p[:3]], prefixConcept{p, id})
		return
	}
	for _, known := range c.exact[word] {
		if known == id {
			return
		}
	}
	c.exact[word] = append(c.exact[word], id)
}

// of appends the concepts of a word to list, of which those from start on are the word's.
func (c *concepts) of(word string, list []uint8, start int) []uint8 {
	list = append(list, c.exact[word]...)
	if len(word) < 3 {
		return list
	}
next:
	for _, p := range c.prefix[word[:3]] {
		if !strings.HasPrefix(word, p.prefix) {
			continue
		}
		for _, known := range list[start:] {
			if known == p.concept {
				continue next
			}
		}
		list = append(list, p.concept)
	}
	return list
}
