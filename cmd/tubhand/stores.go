package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	goredis "github.com/redis/go-redis/v9"

	"tubhand/internal/store"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/sqlite"
)

// redisOptions say where a Redis store is and what is asked of it.
type redisOptions struct {
	address  string // "" for none
	level    string // required of each server; "" for any
	replicas int    // that must confirm each turn
}

// flags defines the flags that set the options.
func (o *redisOptions) flags(flags *flag.FlagSet) {
	flags.StringVar(&o.address, "redis", "", "`address` of Redis, instead of --data; @FILE reads it from a file")
	flags.Func("redis-keeps", "refuse a Redis that keeps less than this of a crash: `always` or everysec", func(v string) error {
		if v != redis.LevelAlways && v != redis.LevelEverySecond {
			return errors.New("it is always or everysec")
		}
		o.level = v
		return nil
	})
	flags.IntVar(&o.replicas, "redis-replicas", 0, "how many replicas must confirm each turn before it is acknowledged")
}

// mixed parses flags that stand before, between or behind the words, and gives the words; a
// code of 0 or more is the exit status to end with.
func mixed(flags *flag.FlagSet, args []string) (words []string, code int) {
	for {
		if err := flags.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, 0
			}
			return nil, 2
		}
		if flags.NArg() == 0 {
			return words, -1
		}
		words, args = append(words, flags.Arg(0)), flags.Args()[1:]
	}
}

// given tells whether a flag stood on the command line.
func given(flags *flag.FlagSet, name string) (yes bool) {
	flags.Visit(func(f *flag.Flag) { yes = yes || f.Name == name })
	return yes
}

// lookAgain is how often work is looked for that other servers may have left.
const lookAgain = time.Second

// openStore opens the store that the options name, and tells what it keeps. Look is how
// often to look for others' work; 0 where there are no others.
func openStore(ctx context.Context, o serveOptions, log *slog.Logger) (s store.Store, look time.Duration, err error) {
	if o.redis.address != "" {
		s, err := openRedis(ctx, o.redis, log)
		return s, lookAgain, err
	}
	s, err = openFolder(o.data)
	return s, 0, err
}

// openThere opens the store that is there, for a command beside the server; none is made.
func openThere(ctx context.Context, redis redisOptions, folder string) (store.Store, error) {
	if redis.address != "" {
		return openRedis(ctx, redis, slog.New(slog.DiscardHandler))
	}
	if _, err := os.Stat(filepath.Join(folder, "tubhand.db")); err != nil {
		return nil, fmt.Errorf("there is no store in %s: %w; name its folder with --data", folder, err)
	}
	return openFolder(folder)
}

// openFolder opens the store in a folder, which it makes where it is not there.
func openFolder(folder string) (store.Store, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	s, err := sqlite.Open(filepath.Join(folder, "tubhand.db"), sqlite.Options{})
	if err != nil {
		return nil, err
	}
	return s, nil
}

// openRedis opens a store in Redis and tells in the log what each of its servers promises.
func openRedis(ctx context.Context, o redisOptions, log *slog.Logger) (store.Store, error) {
	goredis.SetLogger(clientLog{log})
	address, err := o.where()
	if err != nil {
		return nil, err
	}
	s, err := redis.Open(ctx, address, redis.Options{Level: o.level, Replicas: o.replicas})
	if err != nil {
		return nil, err
	}
	servers, err := s.Durability(ctx)
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	for _, one := range servers {
		plain, fix := one.Says()
		attrs := []any{"server", one.Address, "version", one.Version, "keeps", plain, "replicas", one.Replicas, "confirm", o.replicas}
		if fix != "" {
			log.Warn("redis may lose what was acknowledged", append(attrs, "fix", fix)...)
		} else {
			log.Info("redis", attrs...)
		}
	}
	return s, nil
}

// where is the address, read from its file where it is in one.
func (o redisOptions) where() (string, error) {
	file, ok := strings.CutPrefix(o.address, "@")
	if !ok {
		return o.address, nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return "", fmt.Errorf("address of Redis: %w", err)
	}
	return strings.TrimSpace(string(text)), nil
}

// clientLog takes what the client library has to say of its connections; errors that
// matter come back from the store as well.
type clientLog struct{ log *slog.Logger }

func (l clientLog) Printf(_ context.Context, format string, v ...any) {
	l.log.Debug("redis client", "said", fmt.Sprintf(format, v...))
}
