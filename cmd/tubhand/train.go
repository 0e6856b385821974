package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"tubhand/internal/understand"
	"tubhand/internal/understand/corpus"
	"tubhand/internal/understand/learn"
)

// runTrain fits the classifiers of internal/understand to labelled texts and writes
// their weights. It is for developers; `go generate ./internal/understand` runs it.
func runTrain(args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("train", flag.ContinueOnError)
	flags.SetOutput(stderr)
	texts := flags.String("texts", "testdata/understand/written", "folder of labelled texts, *.jsonl")
	out := flags.String("out", "internal/understand/model/texts.bin", "file to write the weights to")
	if code, ok := parsed(flags, args); !ok {
		return code
	}
	samples, err := readSamples(*texts)
	if err != nil {
		fmt.Fprintf(stderr, "train: %v\n", err)
		return 1
	}
	model, err := corpus.Train(samples, learn.Usual())
	if err != nil {
		fmt.Fprintf(stderr, "train: %v\n", err)
		return 1
	}
	if err := os.WriteFile(*out, model.Marshal(), 0o644); err != nil {
		fmt.Fprintf(stderr, "train: writing weights: %v\n", err)
		return 1
	}
	fmt.Fprintf(stdout, "trained on %d texts; %d kB\n", len(samples), len(model.Marshal())>>10)
	return 0
}

// runEvaluate prints how well labelled texts are understood: the totals, and with
// --detail precision, recall and confusion by label and every error. With --leave-out it
// trains anew without each writer in turn and understands that writer's texts.
func runEvaluate(args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("evaluate", flag.ContinueOnError)
	flags.SetOutput(stderr)
	texts := flags.String("texts", "testdata/understand/written", "folder of labelled texts, *.jsonl")
	detail := flags.Bool("detail", false, "list errors and confusion; never on held-out texts that are still to be used")
	leaveOut := flags.String("leave-out", "", "train without these writers' files in turn, as \"a b,c\": first a and b, then c; \"each\" for all")
	if code, ok := parsed(flags, args); !ok {
		return code
	}
	report, err := evaluate(*texts, *leaveOut)
	if err != nil {
		fmt.Fprintf(stderr, "evaluate: %v\n", err)
		return 1
	}
	if *detail {
		report.WriteErrors(stdout)
		report.WriteConfusion(stdout)
		fmt.Fprintln(stdout)
	}
	report.WriteTotals(stdout)
	return 0
}

// parsed parses flags; where it cannot, ok is false and the exit status is given.
func parsed(flags *flag.FlagSet, args []string) (code int, ok bool) {
	switch err := flags.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return 0, false
	case err != nil:
		return 2, false
	case flags.NArg() > 0:
		fmt.Fprintf(flags.Output(), "%s: unexpected argument %q\n", flags.Name(), flags.Arg(0))
		return 2, false
	}
	return 0, true
}

func evaluate(folder string, leaveOut string) (corpus.Report, error) {
	samples, err := readSamples(folder)
	if err != nil {
		return corpus.Report{}, err
	}
	switch leaveOut {
	case "":
		return corpus.Evaluate(understand.BuiltIn(), samples), nil
	case "each":
		return corpus.LeaveOut(samples, corpus.Writers(samples), learn.Usual())
	}
	var groups [][]string
	for _, group := range strings.Split(leaveOut, ",") {
		groups = append(groups, strings.Fields(group))
	}
	return corpus.LeaveOut(samples, groups, learn.Usual())
}

// readSamples reads every *.jsonl of a folder, in the order of their names.
func readSamples(folder string) ([]corpus.Sample, error) {
	names, err := filepath.Glob(filepath.Join(folder, "*.jsonl"))
	if err != nil {
		return nil, fmt.Errorf("listing texts: %w", err)
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("no *.jsonl in %s; run from the repository's root or name a folder with -texts", folder)
	}
	var out []corpus.Sample
	for _, name := range names {
		samples, err := readSampleFile(name)
		if err != nil {
			return nil, err
		}
		out = append(out, samples...)
	}
	return out, nil
}

func readSampleFile(name string) ([]corpus.Sample, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("reading texts: %w", err)
	}
	defer file.Close()
	return corpus.Read(filepath.Base(name), file)
}
