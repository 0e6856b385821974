package redis

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	goredis "github.com/redis/go-redis/v9"
)

// What a server does for a write before it answers.
const (
	LevelNone        = "none"     // nothing: a crash can cost minutes, or everything
	LevelEverySecond = "everysec" // on the disk within a second or two
	LevelAlways      = "always"   // on the disk
	LevelUnknown     = "unknown"  // it does not let itself be asked
)

// Server is what one master says of itself.
type Server struct {
	Address, Version string
	Level            string
	Replicas         int    // connected now
	MaxMemory        int64  // bytes; 0 for no limit
	Eviction         string // maxmemory-policy; "" when it does not say
}

// Durability asks each master what it does for a write, in the order of their addresses.
func (s *Store) Durability(ctx context.Context) ([]Server, error) {
	var mu sync.Mutex
	var servers []Server
	ask := func(ctx context.Context, c *goredis.Client) error {
		one, err := askServer(ctx, c)
		mu.Lock()
		defer mu.Unlock()
		servers = append(servers, one)
		return err
	}
	var err error
	if s.link.cluster != nil {
		err = s.link.cluster.ForEachMaster(ctx, ask)
	} else if one, ok := s.link.client.(*goredis.Client); ok {
		err = ask(ctx, one)
	}
	if err != nil {
		return nil, fmt.Errorf("redis store: ask how writes are kept: %w", err)
	}
	slices.SortFunc(servers, func(a, b Server) int { return strings.Compare(a.Address, b.Address) })
	return servers, nil
}

func askServer(ctx context.Context, c *goredis.Client) (Server, error) {
	one := Server{Address: c.Options().Addr, Level: LevelUnknown}
	info, err := c.Info(ctx).Result()
	if err != nil {
		return one, err
	}
	for line := range strings.Lines(info) {
		switch name, value, _ := strings.Cut(strings.TrimSpace(line), ":"); name {
		case "redis_version":
			one.Version = value
		case "connected_slaves":
			one.Replicas, _ = strconv.Atoi(value)
		case "maxmemory":
			one.MaxMemory, _ = strconv.ParseInt(value, 10, 64)
		case "maxmemory_policy":
			one.Eviction = value
		}
	}
	appendOnly, err1 := c.ConfigGet(ctx, "appendonly").Result()
	fsync, err2 := c.ConfigGet(ctx, "appendfsync").Result()
	if errors.Join(err1, err2) != nil {
		return one, nil // hosted servers keep their settings to themselves
	}
	switch {
	case appendOnly["appendonly"] != "yes":
		one.Level = LevelNone
	case fsync["appendfsync"] == LevelAlways || fsync["appendfsync"] == LevelEverySecond:
		one.Level = fsync["appendfsync"]
	default:
		one.Level = LevelNone // left to the operating system
	}
	return one, nil
}

// Says is what a server's settings mean, in one plain sentence, and a warning where they
// cost turns; "" for none.
func (s Server) Says() (plain, warning string) {
	plain = map[string]string{
		LevelAlways:      "each acknowledged turn is on its disk",
		LevelEverySecond: "a crash can cost the acknowledged turns of the last second or two",
		LevelNone:        "a crash can cost all turns since its last snapshot",
		LevelUnknown:     "it does not say when turns are on its disk",
	}[s.Level]
	var wrong []string
	switch s.Level {
	case LevelNone:
		wrong = append(wrong, "turn on appendonly with appendfsync always")
	case LevelEverySecond:
		wrong = append(wrong, "set appendfsync always to keep every acknowledged turn")
	case LevelUnknown:
		wrong = append(wrong, "ask its operator for appendonly yes and appendfsync always")
	}
	if s.evicts() {
		wrong = append(wrong, "set maxmemory-policy noeviction: "+s.Eviction+" deletes records when memory is full")
	}
	return plain, strings.Join(wrong, "; ")
}

func (s Server) evicts() bool { return s.Eviction != "" && s.Eviction != "noeviction" }

// require refuses servers that keep less than was asked for.
func (s *Store) require(ctx context.Context) error {
	level, replicas := s.options.Level, s.options.Replicas
	if level == "" && replicas == 0 {
		return nil
	}
	servers, err := s.Durability(ctx)
	if err != nil {
		return err
	}
	for _, one := range servers {
		_, fix := one.Says()
		switch {
		case one.Replicas < replicas:
			return fmt.Errorf("redis store: %s has %d replicas, and %d are to confirm each turn; add replicas or ask for fewer", one.Address, one.Replicas, replicas)
		case level != "" && one.evicts():
			return fmt.Errorf("redis store: %s deletes records when its memory is full; %s", one.Address, fix)
		case level == LevelAlways && one.Level != LevelAlways,
			level == LevelEverySecond && one.Level != LevelAlways && one.Level != LevelEverySecond:
			return fmt.Errorf("redis store: %s keeps writes at the level %q, and %q is required; %s", one.Address, one.Level, level, fix)
		}
	}
	return nil
}
