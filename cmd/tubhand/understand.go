package main

import (
	"bufio"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"

	"tubhand/internal/understand/batch"
)

// longestLine bounds one line of a batch, in bytes; a text message is far shorter.
const longestLine = 1 << 20

// runUnderstand tells what owners' texts mean: one JSON object from stdin, or with
// --batch one a line, answered in the same order as they come. It returns the exit
// status: 0, 1 where a line was bad, 2 on wrong usage.
func runUnderstand(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("understand", flag.ContinueOnError)
	flags.SetOutput(stderr)
	many := flags.Bool("batch", false, "read JSON Lines, answer each in order")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if flags.NArg() > 0 {
		fmt.Fprintf(stderr, "understand: unexpected argument %q; texts come from standard input\n", flags.Arg(0))
		return 2
	}
	if *many {
		return understandLines(stdin, stdout, stderr)
	}
	return understandOne(stdin, stdout, stderr)
}

func understandOne(stdin io.Reader, stdout, stderr io.Writer) int {
	data, err := io.ReadAll(io.LimitReader(stdin, longestLine))
	if err != nil {
		fmt.Fprintf(stderr, "understand: reading standard input: %v\n", err)
		return 1
	}
	answer, fault := batch.Line(bytes.TrimSpace(data))
	fmt.Fprintf(stdout, "%s\n", answer)
	if fault != nil {
		fmt.Fprintf(stderr, "understand: %v\n", fault)
		return 1
	}
	return 0
}

// understandLines answers line by line. What is written is flushed whenever no more
// input waits, so that a caller may converse line by line.
func understandLines(stdin io.Reader, stdout, stderr io.Writer) int {
	in := bufio.NewReaderSize(stdin, 64<<10)
	out := bufio.NewWriter(stdout)
	status := 0
	for number := 1; ; number++ {
		line, readErr := readLine(in)
		if len(bytes.TrimSpace(line)) > 0 {
			answer, fault := batch.Line(line)
			if fault != nil {
				fmt.Fprintf(stderr, "understand: line %d: %v\n", number, fault)
				status = 1
			}
			out.Write(answer)
			out.WriteByte('\n')
		}
		if in.Buffered() == 0 || readErr != nil {
			if err := out.Flush(); err != nil {
				fmt.Fprintf(stderr, "understand: writing answers: %v\n", err)
				return 1
			}
		}
		if errors.Is(readErr, io.EOF) {
			return status
		}
		if readErr != nil {
			fmt.Fprintf(stderr, "understand: line %d: %v\n", number, readErr)
			return 1
		}
	}
}

// readLine reads one line of any length, of which no more than longestLine is kept.
func readLine(in *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := in.ReadSlice('\n')
		if len(line) < longestLine {
			line = append(line, part...)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, err
		}
	}
}
