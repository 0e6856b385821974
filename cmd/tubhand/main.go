// Command tubhand is a text-message assistant that walks hot-tub owners through
// services. Run it without arguments to see what it can do.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, release := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, release) // a second signal ends the program at once
	os.Exit(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Getenv))
}

// streams are what a subcommand reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
	env      func(string) string
}

// command is a subcommand. Its run returns the exit status: 0, 1 where what it was
// given was bad or something failed, 2 on wrong usage.
type command struct {
	name, does string
	run        func(ctx context.Context, args []string, s streams) int
}

// commands lists the subcommands in the order of the usage text.
func commands() []command {
	return []command{
		{"demo", "see it work: a pretend phone beside the staff's page, on this machine alone", func(ctx context.Context, args []string, s streams) int {
			return runDemo(ctx, args, s.out, s.err)
		}},
		{"serve", "answer a shop's owners: takes texts from its gateways and sends through them", func(ctx context.Context, args []string, s streams) int {
			return runServe(ctx, args, s)
		}},
		{"shop", "check shop files; show what is made of a gateway's callbacks", func(ctx context.Context, args []string, s streams) int {
			return runShop(ctx, args, s)
		}},
		{"account", "say who may sign in to a shop's staff pages; make the first account", func(ctx context.Context, args []string, s streams) int {
			return runAccount(ctx, args, s)
		}},
		{"owner", "give an owner everything that is kept of them, or erase it", func(ctx context.Context, args []string, s streams) int {
			return runOwner(ctx, args, s)
		}},
		{"backup", "copy a store while it is served from, or check a copy", func(ctx context.Context, args []string, s streams) int {
			return runBackup(ctx, args, s)
		}},
		{"move", "copy everything from one store into another, and compare", func(ctx context.Context, args []string, s streams) int {
			return runMove(ctx, args, s)
		}},
		{"bench", "measure what this machine can do", func(ctx context.Context, args []string, s streams) int {
			return runBench(ctx, args, s)
		}},
		{"rehearse", "play scripted conversations and check what they expect", func(_ context.Context, args []string, s streams) int {
			return runRehearse(args, s.in, s.out, s.err)
		}},
		{"flows", "check, draw or list the flows", func(_ context.Context, args []string, s streams) int {
			return runFlows(args, s.out, s.err)
		}},
		{"understand", "tell what a text means, as JSON", func(_ context.Context, args []string, s streams) int {
			return runUnderstand(args, s.in, s.out, s.err)
		}},
		{"water", "work out water chemistry, as JSON", func(_ context.Context, args []string, s streams) int {
			return runWater(args, s.in, s.out, s.err)
		}},
		{"train", "for developers: fit the classifiers of understand to labelled texts", func(_ context.Context, args []string, s streams) int {
			return runTrain(args, s.out, s.err)
		}},
		{"evaluate", "for developers: compare understanding with labelled texts", func(_ context.Context, args []string, s streams) int {
			return runEvaluate(args, s.out, s.err)
		}},
		{"health", "ask a running server whether it is well", func(ctx context.Context, args []string, s streams) int {
			return runHealth(ctx, args, s)
		}},
	}
}

// run picks the subcommand and gives the exit status.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer, env func(string) string) int {
	if len(args) == 0 {
		usage(stderr)
		return 2
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		usage(stdout)
		return 0
	}
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(ctx, args[1:], streams{stdin, stdout, stderr, env})
		}
	}
	fmt.Fprintf(stderr, "tubhand: there is no %q\n\n", args[0])
	usage(stderr)
	return 2
}

func usage(w io.Writer) {
	fmt.Fprint(w, "tubhand walks hot-tub owners through services by text message.\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  tubhand %-11s %s\n", c.name, c.does)
	}
	fmt.Fprint(w, "\nEach tells its options with -h.\n")
}
