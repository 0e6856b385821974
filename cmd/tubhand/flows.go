package main

import (
	"flag"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"

	"tubhand/flows"
	"tubhand/internal/flow"
	"tubhand/internal/wording"
	"tubhand/templates"
)

const flowsUsage = `usage: tubhand flows check [NAME ...]   explore flows (all when none is named) and prove what must hold
       tubhand flows draw NAME [--format svg|mermaid] [--here STATE]
       tubhand flows list
`

// runFlows checks, draws and lists the flows that the program brings along. It returns
// 0, 1 where a flow is broken or unknown, 2 on wrong usage.
func runFlows(args []string, stdout, stderr io.Writer) int {
	texts, err := wording.Load(templates.FS)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 1
	}
	return flowsCommand{files: flows.FS, has: texts.Has, out: stdout, err: stderr}.run(args)
}

// flowsCommand is `tubhand flows` over any flow files.
type flowsCommand struct {
	files    fs.FS
	has      flow.Wording
	out, err io.Writer
}

func (c flowsCommand) run(args []string) int {
	if len(args) == 0 {
		return c.misused()
	}
	switch args[0] {
	case "-h", "-help", "--help", "help":
		fmt.Fprint(c.out, flowsUsage)
		return 0
	case "check", "draw", "list":
	default:
		fmt.Fprintf(c.err, "tubhand flows: there is no %q\n", args[0])
		return c.misused()
	}
	set, err := flow.Load(c.files)
	if err != nil {
		fmt.Fprintln(c.err, err)
		return 1
	}
	switch args[0] {
	case "check":
		return c.check(set, args[1:])
	case "draw":
		return c.draw(set, args[1:])
	}
	if len(args) > 1 {
		return c.misused()
	}
	return c.list(set)
}

func (c flowsCommand) misused() int {
	fmt.Fprint(c.err, flowsUsage)
	return 2
}

// unknown says that a flow is not there and which are.
func (c flowsCommand) unknown(set *flow.Set, name string) int {
	fmt.Fprintf(c.err, "tubhand flows: no flow %q; there are: %s\n", name, strings.Join(set.Names(), ", "))
	return 1
}

func (c flowsCommand) list(set *flow.Set) int {
	for _, name := range set.Names() {
		f, _ := set.Flow(name)
		fmt.Fprintf(c.out, "%-20s %-8s %3d states  %s\n", name, f.Kind, len(f.States), f.Title)
	}
	return 0
}

// check proves each named flow, or all of them.
func (c flowsCommand) check(set *flow.Set, names []string) int {
	if slices.ContainsFunc(names, func(name string) bool { return strings.HasPrefix(name, "-") }) {
		return c.misused()
	}
	if len(names) == 0 {
		names = set.Names()
	}
	broken := 0
	for _, name := range names {
		if _, ok := set.Flow(name); !ok {
			return c.unknown(set, name)
		}
		report, err := flow.Check(set, name, c.has)
		if err != nil {
			fmt.Fprintln(c.err, err)
			return 1
		}
		c.tell(report)
		if !report.OK() {
			broken++
		}
	}
	if broken > 0 {
		fmt.Fprintf(c.err, "tubhand flows: %d of %d flows fail\n", broken, len(names))
		return 1
	}
	fmt.Fprintf(c.out, "%d flows hold.\n", len(names))
	return 0
}

// tell writes a report for people.
func (c flowsCommand) tell(r flow.Report) {
	fmt.Fprintf(c.out, "%s: explored %d abstract states by %d transitions\n", r.Flow, r.Nodes, r.Transitions)
	for _, proof := range r.Proofs {
		switch {
		case proof.Skipped != "":
			fmt.Fprintf(c.out, "  -     %s (not looked at: %s)\n", proof.Name, proof.Skipped)
		case proof.OK:
			fmt.Fprintf(c.out, "  holds %s\n", proof.Name)
		default:
			fmt.Fprintf(c.out, "  FAILS %s\n", proof.Name)
			for i, step := range proof.Counter {
				fmt.Fprintf(c.out, "        %2d. %s\n", i+1, step)
			}
		}
	}
	fmt.Fprintln(c.out)
}

// draw writes one flow's picture.
func (c flowsCommand) draw(set *flow.Set, args []string) int {
	flags := flag.NewFlagSet("flows draw", flag.ContinueOnError)
	flags.SetOutput(c.err)
	flags.Usage = func() { fmt.Fprint(c.err, flowsUsage) }
	format := flags.String("format", "svg", "svg or mermaid")
	here := flags.String("here", "", "the state to mark")
	names, err := parseMixed(flags, args)
	if err != nil || len(names) != 1 || *format != "svg" && *format != "mermaid" {
		return c.misused()
	}
	f, ok := set.Flow(names[0])
	if !ok {
		return c.unknown(set, names[0])
	}
	if _, ok := f.State(*here); *here != "" && !ok {
		fmt.Fprintf(c.err, "tubhand flows: %s has no state %q\n", f.Name, *here)
		return 1
	}
	if *format == "mermaid" {
		fmt.Fprint(c.out, flow.Mermaid(f))
		return 0
	}
	fmt.Fprint(c.out, flow.SVG(f, *here))
	return 0
}
