package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"net/url"
	"strings"
	"text/tabwriter"

	"tubhand/internal/clock"
	"tubhand/internal/shop"
	"tubhand/internal/staff"
	"tubhand/internal/store"
)

const accountUsage = `usage: tubhand account add SHOP.yaml --name NAME [--key KEY] [--role manager|staff|viewer]
       tubhand account list SHOP.yaml
       tubhand account reset SHOP.yaml --key KEY
       tubhand account remove SHOP.yaml --key KEY

Who may sign in to a shop's staff pages. Add and reset print a link, good for three days
and once, with which the person chooses a passkey or a password. A manager adds further
accounts on the staff pages; this command is for the first one, and for a shop whose
managers are all locked out. KEY is what is typed to sign in; left out, it is that of the
person of this name in the shop file, or made of the name.
The store is named as for serve, with --data or --redis. With --data end the server first.

`

// accountOptions are what was asked of the subcommand.
type accountOptions struct {
	verb, file, name, key, role, data, url string
	redis                                  redisOptions
}

// byCommand is who did it, in the shop's log. It has a space, as no account's key has.
const byCommand = "tubhand account"

// runAccount is the subcommand account. It gives 0, 1 where something failed, 2 on wrong
// usage.
func runAccount(ctx context.Context, args []string, s streams) int {
	o, code := parseAccount(args, s)
	if code >= 0 {
		return code
	}
	if err := manageAccounts(ctx, o, s); err != nil {
		fmt.Fprintln(s.err, "tubhand account:", err)
		return 1
	}
	return 0
}

// parseAccount reads the words and flags; a code of 0 or more is the exit status to end with.
func parseAccount(args []string, s streams) (o accountOptions, code int) {
	flags := flag.NewFlagSet("account", flag.ContinueOnError)
	flags.SetOutput(s.err)
	flags.Usage = func() { fmt.Fprint(s.err, accountUsage); flags.PrintDefaults() }
	flags.StringVar(&o.name, "name", "", "the person's `name`")
	flags.StringVar(&o.key, "key", "", "what is typed to sign in: small letters, digits, - and _")
	flags.StringVar(&o.role, "role", string(staff.Manager), "`role`: manager, staff (answers owners) or viewer (changes nothing)")
	flags.StringVar(&o.data, "data", "tubhand-data", "`folder` that the store lives in")
	flags.StringVar(&o.url, "console-url", "http://localhost:8081", "what staff type to reach the pages, for the link")
	o.redis.flags(flags)
	words, code := mixed(flags, args)
	if code >= 0 {
		return o, code
	}
	if len(words) == 2 {
		o.verb, o.file = words[0], words[1]
	}
	switch {
	case o.verb == "list", o.verb == "add" && o.name != "", (o.verb == "reset" || o.verb == "remove") && o.key != "":
		if o.redis.address != "" && given(flags, "data") {
			fmt.Fprintln(s.err, "tubhand account: --data and --redis exclude each other; a store is in one place")
			return o, 2
		}
		return o, -1
	}
	flags.Usage()
	return o, 2
}

func manageAccounts(ctx context.Context, o accountOptions, s streams) (err error) {
	file, err := loadShop(o.file)
	if err != nil {
		return err
	}
	st, err := accountStore(ctx, o)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	desk, err := staff.New(staff.Config{Store: st, Shop: file.Shop.Key, Name: file.Shop.Name, Clock: clock.System()})
	if err != nil {
		return err
	}
	link := ""
	switch o.verb {
	case "list":
		return listAccounts(ctx, desk, s)
	case "add":
		key := keyOf(o, file)
		if link, err = desk.Add(ctx, byCommand, key, o.name, staff.Role(o.role)); err == nil {
			fmt.Fprintf(s.out, "%s signs in as %s. Open this link within three days to choose how; it is good once:\n", o.name, key)
		}
	case "reset":
		if link, err = desk.Reset(ctx, byCommand, o.key); err == nil {
			fmt.Fprintf(s.out, "%s is signed out everywhere and has no passkey or password any more. Open this link within three days; it is good once:\n", o.key)
		}
	case "remove":
		if err = desk.Remove(ctx, byCommand, o.key); err == nil {
			fmt.Fprintf(s.out, "%s is removed.\n", o.key)
		}
	}
	if err == nil && link != "" {
		fmt.Fprintf(s.out, "%s/staff/%s/set-up?code=%s\n", strings.TrimSuffix(o.url, "/"), file.Shop.Key, url.QueryEscape(link))
	}
	return err
}

// keyOf is the key of a new account.
func keyOf(o accountOptions, file *shop.File) string {
	if o.key != "" {
		return o.key
	}
	for _, p := range file.Shop.Staff {
		if strings.EqualFold(p.Name, o.name) {
			return p.Key // so that what they do by text and on the pages is the same person's
		}
	}
	return staff.KeyFor(o.name)
}

// accountStore opens the store. The first account may make one.
func accountStore(ctx context.Context, o accountOptions) (store.Store, error) {
	if o.verb == "add" && o.redis.address == "" {
		return openFolder(o.data)
	}
	return openThere(ctx, o.redis, o.data)
}

func listAccounts(ctx context.Context, desk *staff.Desk, s streams) error {
	all, err := desk.Accounts(ctx)
	if err != nil {
		return err
	}
	table := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "KEY\tNAME\tROLE\tSIGNS IN WITH\tLAST")
	for _, a := range all {
		var with []string
		if n := len(a.Passkeys); n > 0 {
			with = append(with, fmt.Sprintf("%d passkeys", n))
		}
		if a.Password {
			with = append(with, "password and code")
		}
		if !a.Ready() {
			with = append(with, "not set up yet")
		}
		last := "never"
		if !a.Last.IsZero() {
			last = a.Last.UTC().Format("2006-01-02 15:04 UTC")
		}
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\n", a.Key, a.Name, a.Role, strings.Join(with, ", "), last)
	}
	return table.Flush()
}
