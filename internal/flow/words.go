package flow

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// String puts a guard in plain words: "band is soak and water_temp_f is known".
func (g *Guard) String() string {
	switch {
	case g == nil:
		return "always"
	case len(g.All) > 0:
		return joined(g.All, " and ")
	case len(g.Any) > 0:
		return joined(g.Any, " or ")
	case g.Not != nil:
		return "not (" + g.Not.String() + ")"
	case g.Known != "":
		return g.Known + " is known"
	case len(g.Is) > 0:
		return pairs(g.Is, "is")
	}
	verbs := map[string]string{"above": "over", "at_least": "at least", "below": "under", "at_most": "at most"}
	for _, c := range g.comparisons() {
		if len(c.against) > 0 {
			return pairs(c.against, verbs[c.key])
		}
	}
	return "never"
}

func joined(guards []Guard, word string) string {
	parts := make([]string, len(guards))
	for i := range guards {
		parts[i] = guards[i].String()
		if len(guards[i].All)+len(guards[i].Any) > 1 {
			parts[i] = "(" + parts[i] + ")"
		}
	}
	return strings.Join(parts, word)
}

func pairs[V any](values map[string]V, verb string) string {
	var parts []string
	for _, name := range slices.Sorted(maps.Keys(values)) {
		parts = append(parts, fmt.Sprintf("%s %s %v", name, verb, values[name]))
	}
	return strings.Join(parts, " and ")
}

// String puts a tub's physical state in plain words.
func (t Tub) String() string {
	return fmt.Sprintf("power %s, water %s, filters %s, product %s",
		t.Power, plainWords(t.Water), plainWords(t.Filters), t.Product)
}

func plainWords(name string) string { return strings.ReplaceAll(name, "_", " ") }

// waitsFor puts what a state waits for in plain words.
func (s *State) waitsFor() string {
	var parts []string
	switch a := s.Ask; {
	case a.Done:
		parts = append(parts, "asks for done")
	case a.YesNo:
		parts = append(parts, "asks yes or no")
	case a.Volume:
		parts = append(parts, "asks for the volume")
	case a.Time:
		parts = append(parts, "asks for a time")
	case len(a.Readings) > 0:
		parts = append(parts, "asks for "+strings.Join(a.Readings, ", "))
	case len(a.Choice) > 0:
		parts = append(parts, "asks "+strings.Join(a.Choice, ", "))
	}
	for i := range s.Timers {
		parts = append(parts, "waits "+s.Timers[i].words())
	}
	if s.End {
		parts = append(parts, "the end")
	}
	return strings.Join(parts, "; ")
}

// words are what a timer waits for: "30m from product_in".
func (t *Timer) words() string {
	text := plainWords(t.After)
	if t.From != "" {
		text += " from " + t.From
	}
	return text
}

// tags are what else matters about a state, in plain words.
func (s *State) tags() []string {
	var tags []string
	if s.Dose != "" {
		tags = append(tags, "doses "+plainWords(s.Dose))
	}
	if s.Brief {
		tags = append(tags, "brief")
	}
	if s.Soakable {
		tags = append(tags, "soaking allowed")
	}
	if s.Return != "" {
		tags = append(tags, "returns to "+s.Return)
	}
	for i := range s.On {
		t := &s.On[i]
		if t.Call != "" {
			tags = append(tags, "may call "+t.Call)
		}
		if t.HandOver != nil && t.HandOver.Hold {
			tags = append(tags, "may hold for a person")
		}
	}
	return unique(tags)
}

// unique keeps the first of each text.
func unique(texts []string) []string {
	var kept []string
	for _, text := range texts {
		if !slices.Contains(kept, text) {
			kept = append(kept, text)
		}
	}
	return kept
}
