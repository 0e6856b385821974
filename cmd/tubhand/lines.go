package main

import (
	"bufio"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
)

// longestLine bounds one line of a batch, in bytes; a text message is far shorter.
const longestLine = 1 << 20

// linesCommand is a subcommand that answers JSON objects, each with one line of JSON.
type linesCommand struct {
	name, what, usage string // usage "": the flags' own
	// answer answers one object; a bad one gets its fault as the answer, and returned.
	answer func(text []byte) ([]byte, error)
}

// run answers one object from stdin, or with --batch one a line, in the order in which
// they come. It returns the exit status: 0, 1 where a line was bad, 2 on wrong usage.
func (c linesCommand) run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet(c.name, flag.ContinueOnError)
	flags.SetOutput(stderr)
	if c.usage != "" {
		flags.Usage = func() { fmt.Fprint(stderr, c.usage) }
	}
	many := flags.Bool("batch", false, "read JSON Lines, answer each in order")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if flags.NArg() > 0 {
		fmt.Fprintf(stderr, "%s: unexpected argument %q; %s come from standard input\n", c.name, flags.Arg(0), c.what)
		return 2
	}
	if *many {
		return c.lines(stdin, stdout, stderr)
	}
	return c.one(stdin, stdout, stderr)
}

func (c linesCommand) one(stdin io.Reader, stdout, stderr io.Writer) int {
	text, err := io.ReadAll(io.LimitReader(stdin, longestLine))
	if err != nil {
		fmt.Fprintf(stderr, "%s: reading standard input: %v\n", c.name, err)
		return 1
	}
	answer, fault := c.answer(bytes.TrimSpace(text))
	if _, err := fmt.Fprintf(stdout, "%s\n", answer); err != nil {
		fmt.Fprintf(stderr, "%s: writing the answer: %v\n", c.name, err)
		return 1
	}
	if fault != nil {
		fmt.Fprintf(stderr, "%s: %v\n", c.name, fault)
		return 1
	}
	return 0
}

// lines answers line by line. What is written is flushed whenever no more input waits,
// so that a caller may converse line by line.
func (c linesCommand) lines(stdin io.Reader, stdout, stderr io.Writer) int {
	in := bufio.NewReaderSize(stdin, 64<<10)
	out := bufio.NewWriter(stdout)
	status := 0
	for number := 1; ; number++ {
		line, readErr := readLine(in)
		if line = bytes.TrimSpace(line); len(line) > 0 {
			answer, fault := c.answer(line)
			if fault != nil {
				fmt.Fprintf(stderr, "%s: line %d: %v\n", c.name, number, fault)
				status = 1
			}
			out.Write(answer)
			out.WriteByte('\n')
		}
		if in.Buffered() == 0 || readErr != nil {
			if err := out.Flush(); err != nil {
				fmt.Fprintf(stderr, "%s: writing answers: %v\n", c.name, err)
				return 1
			}
		}
		if errors.Is(readErr, io.EOF) {
			return status
		}
		if readErr != nil {
			fmt.Fprintf(stderr, "%s: line %d: %v\n", c.name, number, readErr)
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
