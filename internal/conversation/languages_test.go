package conversation_test

import (
	"io/fs"
	"path"
	"sort"
	"strings"
	"testing"
	"text/template/parse"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
	"tubhand/templates"
)

// written reads one language's files: "flow/key" to the text as written.
func written(t *testing.T, language string) map[string]string {
	t.Helper()
	files, err := fs.Glob(templates.FS, language+"/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	all := map[string]string{}
	for _, file := range files {
		src, err := fs.ReadFile(templates.FS, file)
		require.NoError(t, err)
		var keys map[string]string
		require.NoError(t, yaml.Unmarshal(src, &keys), file)
		for key, text := range keys {
			all[strings.TrimSuffix(path.Base(file), ".yaml")+"/"+key] = text
		}
	}
	return all
}

func languages(t *testing.T) []string {
	t.Helper()
	entries, err := fs.ReadDir(templates.FS, ".")
	require.NoError(t, err)
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

// variables lists the words that a text fills in, each once, and the values that its
// conditions compare with.
func variables(t *testing.T, name, text string) []string {
	t.Helper()
	trees, err := parse.Parse(name, text, "", "", map[string]any{"eq": true})
	require.NoError(t, err)
	found := map[string]bool{}
	var walk func(n parse.Node)
	branch := func(pipe *parse.PipeNode, list, other *parse.ListNode) {
		walk(pipe)
		walk(list)
		if other != nil {
			walk(other)
		}
	}
	walk = func(n parse.Node) {
		switch n := n.(type) {
		case *parse.ListNode:
			for _, each := range n.Nodes {
				walk(each)
			}
		case *parse.ActionNode:
			walk(n.Pipe)
		case *parse.PipeNode:
			for _, c := range n.Cmds {
				for _, a := range c.Args {
					walk(a)
				}
			}
		case *parse.FieldNode:
			found["."+strings.Join(n.Ident, ".")] = true
		case *parse.StringNode:
			found[n.Quoted] = true
		case *parse.IfNode:
			branch(n.Pipe, n.List, n.ElseList)
		case *parse.WithNode:
			branch(n.Pipe, n.List, n.ElseList)
		case *parse.RangeNode:
			branch(n.Pipe, n.List, n.ElseList)
		}
	}
	walk(trees[name].Root)
	return sorted(found)
}

func sorted[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for key := range m {
		keys = append(keys, key)
	}
	sort.Strings(keys)
	return keys
}

// TestVariablesAreFound holds the walk over the parse tree that the next test leans on.
func TestVariablesAreFound(t *testing.T) {
	text := `{{if eq .Next "pump"}}{{.Dose}}{{else}}{{.Why}}{{end}} and {{with .Drain}}({{.}}){{end}}`
	require.Equal(t, []string{`"pump"`, ".Dose", ".Drain", ".Next", ".Why"}, variables(t, "x", text))
	require.Empty(t, variables(t, "x", "plain words"))
}

// TestEveryLanguageSaysTheSame: each language has each text of English and no other,
// and fills the same words into it. What owners may answer may differ.
func TestEveryLanguageSaysTheSame(t *testing.T) {
	english := written(t, "en")
	for _, language := range languages(t) {
		these := written(t, language)
		for name, text := range english {
			if strings.Contains(name, "/choices.") {
				continue
			}
			require.Contains(t, these, name, "%s lacks a text", language)
			require.Equal(t, variables(t, name, text), variables(t, name, these[name]), "%s in %s: %s", name, language, these[name])
		}
		for name := range these {
			if !strings.Contains(name, "/choices.") {
				require.Contains(t, english, name, "%s has a text that English lacks", language)
			}
		}
	}
}

// TestEveryChoiceHasWords: owners can answer each choice in words of their language, and
// no word means two things that are asked together.
func TestEveryChoiceHasWords(t *testing.T) {
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	for _, language := range languages(t) {
		these := written(t, language)
		for _, name := range set.Names() {
			f, _ := set.Flow(name)
			for _, s := range f.States {
				meant := map[string]string{}
				for _, choice := range s.Ask.Choice {
					words := choiceWords(these, name, choice)
					require.NotEmpty(t, words, "%s %s: no words for %s", language, name, choice)
					for word := range strings.SplitSeq(words, ",") {
						word = strings.TrimSpace(word)
						require.NotEmpty(t, word, "%s: %s", language, words)
						require.Empty(t, meant[word], "%s: %q means %s too", language, word, choice)
						meant[word] = choice
					}
				}
			}
		}
	}
}
