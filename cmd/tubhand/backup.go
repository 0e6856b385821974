package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"

	"tubhand/internal/store/sqlite"
)

const backupUsage = `usage: tubhand backup [--data DIR] FILE   copy the store in DIR to a new FILE, and check the copy
       tubhand backup --check FILE          check a copy, or the tubhand.db that is served from

A copy is of one moment, and may be made while tubhand serves from DIR. To restore, put it
into an empty folder under the name tubhand.db and serve with --data from there. A store in
Redis is copied with Redis's own means.

`

// runBackup is the subcommand backup. It gives 0, 1 where the copy failed or a file is
// damaged, 2 on wrong usage.
func runBackup(ctx context.Context, args []string, s streams) int {
	flags := flag.NewFlagSet("backup", flag.ContinueOnError)
	flags.SetOutput(s.err)
	flags.Usage = func() { fmt.Fprint(s.err, backupUsage); flags.PrintDefaults() }
	data := flags.String("data", "tubhand-data", "`folder` of the store that is copied")
	check := flags.Bool("check", false, "copy nothing; look whether FILE is sound")
	switch err := flags.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return 0
	case err != nil:
		return 2
	case flags.NArg() != 1 || *check && given(flags, "data"):
		flags.Usage()
		return 2
	}
	file := flags.Arg(0)
	if !*check {
		if err := sqlite.Backup(ctx, filepath.Join(*data, "tubhand.db"), file); err != nil {
			fmt.Fprintln(s.err, "tubhand backup:", err)
			return 1
		}
	}
	return checkFile(ctx, file, s)
}

// checkFile reads a whole file and says whether it is sound.
func checkFile(ctx context.Context, file string, s streams) int {
	info, err := os.Stat(file)
	if err == nil {
		err = sqlite.Check(ctx, file)
	}
	if err != nil {
		fmt.Fprintf(s.err, "tubhand backup: %s: %v\n", file, err)
		return 1
	}
	fmt.Fprintf(s.out, "%s is sound: %.1f MB\n", file, float64(info.Size())/1e6)
	return 0
}
