package main

import (
	"io"

	"tubhand/internal/understand/batch"
)

// runUnderstand tells what owners' texts mean, without state.
func runUnderstand(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return linesCommand{name: "understand", what: "texts", answer: batch.Line}.run(args, stdin, stdout, stderr)
}
