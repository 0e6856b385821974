package conversation_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
	"tubhand/internal/understand"
)

// TestEveryWordForAChoiceIsTakenForIt: what the templates list as an answer to a choice is
// understood as that choice where it is asked, as are its number and the word in capitals.
func TestEveryWordForAChoiceIsTakenForIt(t *testing.T) {
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	for _, language := range languages(t) {
		these := written(t, language)
		for _, name := range set.Names() {
			f, _ := set.Flow(name)
			for _, s := range f.States {
				var choices []understand.Choice
				for _, choice := range s.Ask.Choice {
					c := understand.Choice{Name: choice}
					for word := range strings.SplitSeq(choiceWords(these, name, choice), ",") {
						c.Words = append(c.Words, strings.TrimSpace(word))
					}
					choices = append(choices, c)
				}
				for i, c := range choices {
					words := append([]string{string(rune('1' + i))}, c.Words...)
					for _, word := range words {
						for _, said := range []string{word, strings.ToUpper(word), word + "."} {
							m := understand.Understand(said, understand.Context{Language: language, Asked: understand.AskedChoice, Choices: choices, Step: s.Step})
							require.Equal(t, c.Name, m.Choice, "%s %s/%s: %q", language, name, s.Name, said)
						}
					}
				}
			}
		}
	}
}

// choiceWords are the words for a choice: the flow's own, or else those of every flow.
func choiceWords(these map[string]string, flow, choice string) string {
	if own, ok := these[flow+"/choices."+choice]; ok {
		return own
	}
	return these["common/choices."+choice]
}
