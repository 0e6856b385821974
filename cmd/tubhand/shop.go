package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"

	"tubhand/internal/shop"
)

const shopUsage = `usage: tubhand shop check SHOP.yaml ... [--json]
       tubhand shop record SHOP.yaml [--gateway NAME] [--listen ADDR] [--save FOLDER] [--answer STATUS] [--json]
       tubhand shop replay SHOP.yaml [--gateway NAME] SAVED ... [--json]

check tells all that is wrong with shop files, or what was understood of them.
record shows each callback of a gateway and what the description makes of it. It handles none:
what comes meanwhile is lost to the shop, unless --answer 503 asks the gateway to send it again.
replay shows the same for callbacks that were saved, or written by hand.
`

// runShop is the subcommand shop. It returns 0, 1 where a file is wrong, 2 on wrong usage.
func runShop(ctx context.Context, args []string, s streams) int {
	if len(args) == 0 {
		fmt.Fprint(s.err, shopUsage)
		return 2
	}
	switch args[0] {
	case "-h", "-help", "--help", "help":
		fmt.Fprint(s.out, shopUsage)
		return 0
	case "check":
		return shopCheck(args[1:], s)
	case "record":
		return shopRecord(ctx, args[1:], s)
	case "replay":
		return shopReplay(args[1:], s)
	}
	fmt.Fprintf(s.err, "tubhand shop: there is no %q\n%s", args[0], shopUsage)
	return 2
}

// shopFlags makes the flags of a subcommand of shop.
func shopFlags(name string, s streams) *flag.FlagSet {
	flags := flag.NewFlagSet("shop "+name, flag.ContinueOnError)
	flags.SetOutput(s.err)
	flags.Usage = func() { fmt.Fprint(s.err, shopUsage); flags.PrintDefaults() }
	return flags
}

// checked is the answer about one file.
type checked struct {
	File     string    `json:"file"`
	OK       bool      `json:"ok"`
	Problems []problem `json:"problems,omitempty"`
	*shop.Summary
}

type problem struct {
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Field  string `json:"field,omitempty"`
	Text   string `json:"text"`
}

func shopCheck(args []string, s streams) int {
	flags := shopFlags("check", s)
	asJSON := flags.Bool("json", false, "write JSON, one object a file")
	files, code := mixed(flags, args)
	if code >= 0 {
		return code
	}
	if len(files) == 0 {
		flags.Usage()
		return 2
	}
	for _, name := range files {
		f, err := loadShop(name)
		if err != nil {
			code = 1
		}
		switch {
		case *asJSON:
			if json.NewEncoder(s.out).Encode(answerOn(name, f, err, s)) != nil {
				return 1
			}
		case err != nil:
			fmt.Fprintln(s.err, err)
		default:
			fmt.Fprint(s.out, inWords(name, f.Summary(vaultOf(s))))
		}
	}
	return max(code, 0)
}

// vaultOf is where secrets are read from: the environment, and files.
func vaultOf(s streams) shop.Vault { return shop.Vault{Env: s.env, File: os.ReadFile} }

func answerOn(name string, f *shop.File, err error, s streams) checked {
	out := checked{File: name, OK: err == nil}
	var all shop.Problems
	switch {
	case err == nil:
		summary := f.Summary(vaultOf(s))
		out.Summary = &summary
	case errors.As(err, &all):
		for _, p := range all {
			out.Problems = append(out.Problems, problem{p.Line, p.Column, p.Field, p.Text})
		}
	default:
		out.Problems = []problem{{Text: err.Error()}}
	}
	return out
}

// inWords writes a summary for people.
func inWords(name string, sum shop.Summary) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: good. This is what was understood:\n", name)
	for _, section := range sum.Understood {
		fmt.Fprintf(&b, "\n%s\n", section.About)
		for _, says := range section.Says {
			fmt.Fprintf(&b, "  - %s\n", says)
		}
	}
	if len(sum.Warnings) > 0 {
		b.WriteString("\nallowed, but know it\n")
	}
	for _, w := range sum.Warnings {
		fmt.Fprintf(&b, "  ! %s\n", w)
	}
	return b.String()
}
