package flow

import (
	"fmt"
	"strings"
)

// Mermaid draws a flow as a Mermaid state diagram (stateDiagram-v2), which many
// editors and code hosts show as a picture.
func Mermaid(f *Flow) string {
	var b strings.Builder
	fmt.Fprintf(&b, "---\ntitle: %q\n---\nstateDiagram-v2\n", mermaidText(f.Title))
	for _, s := range f.States {
		lines := []string{s.Name}
		if waits := s.waitsFor(); waits != "" {
			lines = append(lines, waits)
		}
		lines = append(lines, s.tags()...)
		lines = append(lines, s.Tub.String())
		fmt.Fprintf(&b, "    state \"%s\" as %s\n", mermaidText(strings.Join(lines, "<br/>")), mermaidID(s.Name))
	}
	fmt.Fprintf(&b, "    [*] --> %s\n", mermaidID(f.Start))
	for _, w := range f.graph() {
		fmt.Fprintf(&b, "    %s --> %s: %s\n", mermaidID(f.States[w.from].Name), mermaidID(f.States[w.to].Name),
			mermaidText(strings.Join(w.labels, ", or ")))
	}
	for _, s := range f.States {
		if s.End {
			fmt.Fprintf(&b, "    %s --> [*]\n", mermaidID(s.Name))
		}
	}
	if lines := f.everywhere(); len(lines) > 0 {
		fmt.Fprintf(&b, "    note left of %s\n        In every state:\n", mermaidID(f.Start))
		for _, line := range lines {
			fmt.Fprintf(&b, "        %s\n", mermaidText(line))
		}
		b.WriteString("    end note\n")
	}
	return b.String()
}

// mermaidID keeps a state's name from being taken for one of Mermaid's own words.
func mermaidID(name string) string { return "s_" + name }

// mermaidText leaves out what Mermaid takes for syntax.
func mermaidText(text string) string {
	return strings.NewReplacer(`"`, "'", ":", " -", ";", ",", "#", "", "\n", " ").Replace(text)
}
