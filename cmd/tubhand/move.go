package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"tubhand/internal/store/move"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/sqlite"
)

const moveUsage = `usage: tubhand move --from PLACE --to PLACE

Copies all shops from one store into another, reads each conversation back and compares.
A PLACE is a folder, as serve --data takes it, or the address of Redis, as serve --redis
does. Stop all servers first. Broken off, it may be run again: what is there is compared,
not written twice. The source is left as it is. It ends with a report as JSON.

Marks of handled texts stay behind: a text that a gateway repeats from before the move
counts as a new one. So do addresses that an owner no longer names.

`

// runMove is the subcommand move. It gives 0, 1 where something failed or differs, 2 on
// wrong usage.
func runMove(ctx context.Context, args []string, s streams) int {
	flags := flag.NewFlagSet("move", flag.ContinueOnError)
	flags.SetOutput(s.err)
	flags.Usage = func() { fmt.Fprint(s.err, moveUsage); flags.PrintDefaults() }
	from := flags.String("from", "", "`place` to copy from")
	to := flags.String("to", "", "`place` to copy to: empty, or of an earlier run that was broken off")
	switch err := flags.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return 0
	case err != nil:
		return 2
	case flags.NArg() > 0 || *from == "" || *to == "":
		flags.Usage()
		return 2
	case *from == *to:
		fmt.Fprintln(s.err, "tubhand move: --from and --to are the same place")
		return 2
	}
	if err := moveStore(ctx, *from, *to, s); err != nil {
		fmt.Fprintln(s.err, "tubhand move:", err)
		return 1
	}
	return 0
}

// progress is after how many conversations it is told how far the move is.
const progress = 10_000

func moveStore(ctx context.Context, from, to string, s streams) (err error) {
	source, err := openPlace(ctx, from, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, source.Close()) }()
	target, err := openPlace(ctx, to, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, target.Close()) }()
	told := 0
	report, err := move.Run(ctx, source, target, func(r move.Report) {
		if r.Conversations/progress > told {
			told = r.Conversations / progress
			fmt.Fprintf(s.err, "%d conversations are there and the same\n", r.Conversations)
		}
	})
	if err != nil {
		return err
	}
	out := json.NewEncoder(s.out)
	out.SetIndent("", "  ")
	return out.Encode(report)
}

// openPlace opens a store in a folder or in Redis. Only a target may be made.
func openPlace(ctx context.Context, place string, target bool) (move.Store, error) {
	if strings.HasPrefix(place, "@") || strings.Contains(place, "://") {
		address, err := redisOptions{address: place}.where()
		if err != nil {
			return nil, err
		}
		s, err := redis.Open(ctx, address, redis.Options{})
		if err != nil {
			return nil, err
		}
		return s, nil
	}
	file := filepath.Join(place, "tubhand.db")
	if target {
		if err := os.MkdirAll(place, 0o700); err != nil {
			return nil, fmt.Errorf("data folder: %w", err)
		}
	} else if _, err := os.Stat(file); err != nil {
		return nil, fmt.Errorf("there is no store to copy from: %w", err)
	}
	s, err := sqlite.Open(file, sqlite.Options{})
	if err != nil {
		return nil, err
	}
	return s, nil
}
