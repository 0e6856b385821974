package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"

	"tubhand/flows"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/rehearse"
	"tubhand/internal/shop"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// runRehearse plays scripted conversations and checks what they expect.
func runRehearse(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("rehearse", flag.ContinueOnError)
	fs.SetOutput(stderr)
	asJSON := fs.Bool("json", false, "one JSON object per event")
	fs.Usage = func() {
		fmt.Fprintln(stderr, "usage: tubhand rehearse [--json] SCRIPT.yaml ...\nPlays scripted conversations; with no script it reads one from standard input.")
	}
	files, err := parseMixed(fs, args)
	if err != nil {
		return 2
	}
	if len(files) == 0 {
		files = []string{"-"}
	}
	code := 0
	for _, file := range files {
		if err := rehearseFile(file, *asJSON, stdin, stdout); err != nil {
			fmt.Fprintf(stderr, "%s: %v\n", file, err)
			code = 1
		}
	}
	return code
}

// parseMixed parses flags that may stand before, between or after the files.
func parseMixed(fs *flag.FlagSet, args []string) (files []string, err error) {
	for {
		if err := fs.Parse(args); err != nil {
			return nil, fmt.Errorf("parse flags: %w", err)
		}
		if fs.NArg() == 0 {
			return files, nil
		}
		files = append(files, fs.Arg(0))
		args = fs.Args()[1:]
	}
}

func rehearseFile(file string, asJSON bool, stdin io.Reader, stdout io.Writer) error {
	src, err := readBounded(file, stdin)
	if err != nil {
		return err
	}
	script, err := rehearse.Parse(file, src)
	if err != nil {
		return err
	}
	in, err := shopOf(script.Shop)
	if err != nil {
		return err
	}
	flowSet, err := flow.Load(flows.FS)
	if err != nil {
		return fmt.Errorf("load flows: %w", err)
	}
	words, err := wording.Load(templates.FS)
	if err != nil {
		return fmt.Errorf("load templates: %w", err)
	}
	tell := tellPlain(stdout, script)
	if asJSON {
		tell = tellJSON(stdout)
	}
	player, err := rehearse.New(script, in, flowSet, words, tell)
	if err != nil {
		return err
	}
	err = player.Play(context.Background())
	if !asJSON && err == nil {
		fmt.Fprintf(stdout, "%24s as expected\n\n", "-----")
	}
	return err
}

func tellPlain(stdout io.Writer, script *rehearse.Script) func(rehearse.Event) {
	if script.About != "" {
		fmt.Fprintf(stdout, "# %s\n", script.About)
	}
	printer := &rehearse.Printer{W: stdout}
	return printer.Print
}

func tellJSON(stdout io.Writer) func(rehearse.Event) {
	encoder := json.NewEncoder(stdout)
	encoder.SetEscapeHTML(false)
	return func(e rehearse.Event) {
		// A reader that went away ends the program by its own signal.
		_ = encoder.Encode(e)
	}
}

// shopOf gives the shop a script names: "demo" or a shop file.
func shopOf(name string) (conversation.Shop, error) {
	if name == "" || name == "demo" {
		return shop.Demo().Shop, nil
	}
	src, err := os.ReadFile(name)
	if err != nil {
		return conversation.Shop{}, fmt.Errorf("shop: %w", err)
	}
	f, err := shop.Load(name, src)
	if err != nil {
		return conversation.Shop{}, err
	}
	return f.Shop, nil
}

// readBounded reads a script, or standard input for "-".
func readBounded(file string, stdin io.Reader) ([]byte, error) {
	in := stdin
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			return nil, errors.Unwrap(err)
		}
		defer f.Close()
		in = f
	}
	src, err := io.ReadAll(io.LimitReader(in, rehearse.MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read script: %w", err)
	}
	return src, nil
}
