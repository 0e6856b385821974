package understand

import (
	"strings"

	"tubhand/internal/understand/words"
)

// facts are what the parsers already know about a text, as features.
func (in *input) facts(m *Meaning) []string {
	var out []string
	add := func(ok bool, name string) {
		if ok {
			out = append(out, name)
		}
	}
	add(len(m.Readings) > 0, "reads")
	add(len(m.Readings) > 1, "reads several")
	add(len(m.Readings) > 0 && len(m.Readings) >= len(in.ctx.AskedReadings), "reads all")
	_, heat := m.Readings[WaterTemp]
	add(heat, "reads temperature")
	add(m.Volume != nil, "volume")
	add(m.Volume != nil && m.Volume.Unknown, "volume unknown")
	add(m.Clarify, "clarify")
	add(strings.Contains(in.text, "?") || strings.Contains(in.text, "¿"), "asks")
	add(len(in.spans()) > 0, "duration")
	add(strings.Contains(in.text, "!"), "exclaims")
	add(m.Language == "es", "spanish")
	kinds := map[words.Kind]bool{}
	for _, t := range in.tokens {
		kinds[t.Kind] = true
	}
	add(kinds[words.Number], "number")
	add(kinds[words.Clock], "clock")
	add(kinds[words.Emoji] && !kinds[words.Word], "only pictographs")
	add(len(in.tokens) == 0, "empty")
	add(in.isShouting(), "shouts")
	return out
}

func (in *input) isShouting() bool {
	letters := 0
	for _, t := range in.tokens {
		if t.Kind != words.Word {
			continue
		}
		if t.Raw != strings.ToUpper(t.Raw) {
			return false
		}
		letters += len(t.Raw)
	}
	return letters > 3
}
