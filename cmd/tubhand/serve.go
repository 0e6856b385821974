package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/dispatch"
	"tubhand/internal/shop"
	"tubhand/internal/turn"
)

// serveOptions are the settings of the server.
type serveOptions struct {
	shops  []string // shop files
	data   string   // folder of the store, where it is not in Redis
	redis  redisOptions
	listen string
	staff  staffOptions
	smtp   smtpOptions
	clock  clock.Clock
	look   time.Duration                   // how often to look for work of other servers; set by the store
	vault  shop.Vault                      // the secrets that shop files name; set from the environment
	around func(turn.Decider) turn.Decider // wraps what decides a shop's turns, for tests; may be nil

	// senders carry messages instead of the gateways of the shop files, for measurements;
	// may be nil.
	senders func(shop, gateway string) (dispatch.Sender, bool)
}

const serveUsage = `usage: tubhand serve --shop SHOP.yaml [--shop ANOTHER.yaml ...] [--data DIR | --redis URL] [--listen ADDR] [--console ADDR]

Answers the owners of one or more shops. Gateways post texts to /in/sms/{gateway} and
delivery reports to /in/status/{gateway}. Mail for shops with a mailbox comes in by SMTP on
the address of --smtp, or is posted to /in/mail/{shop}. With --console, staff open /staff/{shop}/ on
that address, and sign in; make the first account with tubhand account. An address that
other machines reach needs a certificate, or a proxy that ends TLS.
With --redis, any number of servers share the work of the same shops: redis://HOST:PORT for
one server, redis-cluster://HOST:PORT,HOST:PORT,... for a cluster, @FILE to read the address
from a file. What Redis keeps of a crash is told at the start, and can be required.
/healthz, /readyz and /metrics are for whoever runs it. Set TUBHAND_LOG=debug for more
in the log, which goes to standard error.

`

// runServe is the subcommand serve.
func runServe(ctx context.Context, args []string, s streams) int {
	o, code := parseServe(args, s)
	if code >= 0 {
		return code
	}
	o.clock = clock.System()
	return serveShops(ctx, o, s)
}

// serveShops reads the shop files and serves until ctx ends; it gives the exit status.
func serveShops(ctx context.Context, o serveOptions, s streams) int {
	shops, err := loadShops(o.shops)
	if err != nil {
		fmt.Fprintln(s.err, err)
		return 1
	}
	if err := serve(ctx, o, shops, s); err != nil {
		fmt.Fprintln(s.err, "tubhand serve:", err)
		return 1
	}
	return 0
}

// parseServe reads the flags; a code of 0 or more is the exit status to end with.
func parseServe(args []string, s streams) (o serveOptions, code int) {
	flags := flag.NewFlagSet("serve", flag.ContinueOnError)
	flags.SetOutput(s.err)
	flags.Usage = func() { fmt.Fprint(s.err, serveUsage); flags.PrintDefaults() }
	flags.Func("shop", "shop `file`; may be given several times", func(v string) error {
		o.shops = append(o.shops, v)
		return nil
	})
	flags.StringVar(&o.data, "data", "tubhand-data", "`folder` that the store lives in; made when it is not there")
	o.redis.flags(flags)
	flags.StringVar(&o.listen, "listen", "127.0.0.1:8080", "`address` to take connections on; :8080 for all networks")
	o.staff.flags(flags)
	o.smtp.flags(flags)
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return o, 0
		}
		return o, 2
	}
	switch {
	case o.redis.address != "" && given(flags, "data"):
		fmt.Fprintln(s.err, "tubhand serve: --data and --redis exclude each other; a store is in one place")
	case o.redis.address == "" && (o.redis.level != "" || o.redis.replicas != 0):
		fmt.Fprintln(s.err, "tubhand serve: --redis-keeps and --redis-replicas go with --redis")
	case o.staff.wrong() != "":
		fmt.Fprintln(s.err, "tubhand serve:", o.staff.wrong())
	case o.smtp.wrong() != "":
		fmt.Fprintln(s.err, "tubhand serve:", o.smtp.wrong())
	case flags.NArg() > 0:
		fmt.Fprintf(s.err, "tubhand serve: unexpected %q; shop files are named with --shop\n", flags.Arg(0))
	case len(o.shops) == 0:
		flags.Usage()
	default:
		return o, -1
	}
	return o, 2
}

// loadShops reads all shop files and tells all that is wrong with them.
func loadShops(names []string) ([]*shop.File, error) {
	var files []*shop.File
	var wrong []error
	from := map[string]string{}
	for _, name := range names {
		f, err := loadShop(name)
		if err != nil {
			wrong = append(wrong, err)
			continue
		}
		if other, taken := from[f.Shop.Key]; taken {
			wrong = append(wrong, fmt.Errorf("%s: has the key %q, as %s has; give each shop its own", name, f.Shop.Key, other))
		}
		from[f.Shop.Key] = name
		files = append(files, f)
	}
	return files, errors.Join(wrong...)
}

func loadShop(name string) (*shop.File, error) {
	src, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("shop file: %w", err)
	}
	return shop.Load(name, src)
}

// address is what to type into a browser for a listener's address.
func address(listener string) string {
	if rest, ok := strings.CutPrefix(listener, "[::]:"); ok {
		return "http://localhost:" + rest
	}
	return "http://" + listener
}
