package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"

	"tubhand/internal/clock"
	"tubhand/internal/mailbox"
	"tubhand/internal/phone"
	"tubhand/internal/rights"
	"tubhand/internal/shop"
)

const ownerUsage = `usage: tubhand owner export SHOP.yaml ADDRESS [--data DIR | --redis URL]
       tubhand owner erase SHOP.yaml ADDRESS [--force] [--data DIR | --redis URL]

What an owner may ask for. Export writes everything that is kept of the owner with a
number or an e-mail address, as JSON. Erase removes it in one step: transcript, log, tub,
reminders, cases, addresses; what stays is that they have opted out, if so, as a keyed hash,
and how much was erased. It is refused while an emergency is open, unless forced. Both are
written into the staff's log. Backups are not reached: what was erased is in those until
they are thrown away.
The store is named as for serve, with --data or --redis. With --data end the server first.

`

// ownerOptions are what was asked of the subcommand.
type ownerOptions struct {
	verb, file, address, data string
	force                     bool
	redis                     redisOptions
}

// byOwnerCommand is who did it, in the shop's log. It has a space, as no account's key has.
const byOwnerCommand = "tubhand owner"

// runOwner is the subcommand owner. It gives 0, 1 where something failed, 2 on wrong usage.
func runOwner(ctx context.Context, args []string, s streams) int {
	o, code := parseOwner(args, s)
	if code >= 0 {
		return code
	}
	if err := serveOwner(ctx, o, s); err != nil {
		fmt.Fprintln(s.err, "tubhand owner:", err)
		return 1
	}
	return 0
}

// parseOwner reads the words and flags; a code of 0 or more is the exit status to end with.
func parseOwner(args []string, s streams) (o ownerOptions, code int) {
	flags := flag.NewFlagSet("owner", flag.ContinueOnError)
	flags.SetOutput(s.err)
	flags.Usage = func() { fmt.Fprint(s.err, ownerUsage); flags.PrintDefaults() }
	flags.BoolVar(&o.force, "force", false, "erase although an emergency is open")
	flags.StringVar(&o.data, "data", "tubhand-data", "`folder` that the store lives in")
	o.redis.flags(flags)
	words, code := mixed(flags, args)
	if code >= 0 {
		return o, code
	}
	if len(words) == 3 && (words[0] == "export" && !o.force || words[0] == "erase") {
		o.verb, o.file, o.address = words[0], words[1], words[2]
		if o.redis.address == "" || !given(flags, "data") {
			return o, -1
		}
		fmt.Fprintln(s.err, "tubhand owner: --data and --redis exclude each other; a store is in one place")
		return o, 2
	}
	flags.Usage()
	return o, 2
}

func serveOwner(ctx context.Context, o ownerOptions, s streams) (err error) {
	file, err := loadShop(o.file)
	if err != nil {
		return err
	}
	address, err := ownerAddress(o.address, file)
	if err != nil {
		return err
	}
	st, err := openThere(ctx, o.redis, o.data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	register, err := openRegister(st, []*shop.File{file}, clock.System(), shop.Vault{Env: s.env, File: os.ReadFile})
	if err != nil {
		return err
	}
	desk := rights.New(rights.Config{Store: st, Shop: file.Shop.Key, Clock: clock.System(), Register: register})
	var answer any
	if o.verb == "export" {
		answer, err = desk.Export(ctx, byOwnerCommand, address)
	} else {
		answer, err = desk.Erase(ctx, address, rights.Erasing{By: byOwnerCommand, Force: o.force})
	}
	switch {
	case errors.Is(err, rights.ErrEmergency):
		return fmt.Errorf("%s: %w; see to it first, or say --force", address, err)
	case err != nil:
		return fmt.Errorf("%s: %w", address, err)
	}
	out := json.NewEncoder(s.out)
	out.SetIndent("", "  ")
	return out.Encode(answer)
}

// ownerAddress reads a number or an e-mail address as people write them.
func ownerAddress(text string, file *shop.File) (string, error) {
	if mailbox.Is(text) {
		return mailbox.Parse(text)
	}
	n, err := phone.Parse(text, file.Shop.Region)
	if err != nil {
		return "", fmt.Errorf("%q: %w; write a number like +15415550142, or an e-mail address", text, err)
	}
	return n.E164, nil
}
