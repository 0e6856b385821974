// Package redis is the store for shops that outgrow one machine: any number of tubhand
// processes over one Redis server or a Redis Cluster. A shop lives in one partition,
// which is one hash tag; a turn is one script there, so that state, transcript, outbox,
// reminders, handovers and mark are written all or nothing. Leases are in Redis too: the
// work of a process that died is taken over when they have run out.
//
// What an acknowledged turn survives is the server's to say; see Durability. With
// appendfsync always a single server keeps what package store promises. A cluster
// replicates behind its answers: a failover can lose the last acknowledged turns, and
// Options.Replicas makes that unlikely, not impossible.
package redis

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/feed"
	"tubhand/internal/store/internal/record"
)

// Options are what a store is opened with. The zero value is good.
type Options struct {
	// Name is what all keys begin with; "" is tubhand.
	Name string
	// Partitions is fixed when the first process opens the store, and kept there; 0 is 64.
	Partitions int
	// Level is the durability that each server must have, or the store does not open:
	// LevelAlways, LevelEverySecond, or "" for any.
	Level string
	// Replicas is how many must confirm each write before it is acknowledged (WAIT).
	Replicas int
	// Patience is how long to wait for them, at most 1.5 seconds; 0 is one second.
	Patience time.Duration
}

// Store is the store. Open makes one.
type Store struct {
	layout  layout
	link    link
	scripts scripts
	shops   sync.Map // *shopKeys by shop
	filled  sync.Map // shops whose conversations can all be found
	options Options
	publish string // SPUBLISH, or PUBLISH for a server that lacks it

	gate    sync.RWMutex // held by who submits a call
	closed  bool
	calls   chan *call
	workers sync.WaitGroup
	closing chan struct{}
	ended   sync.WaitGroup // what runs beside the workers

	due, outbox *horizon
	hub         feed.Hub
	ears        ears

	made   string // names this process in nonces
	nonces atomic.Int64
}

var _ store.Store = (*Store)(nil)

// atOnce is how many pipelines are on their way at a time: while the server syncs one, the
// next is written and the one before is read.
const atOnce = 3

// Open connects to the servers at an address, as Parse reads it, and makes the store
// ready. The error says what is wrong and what to do.
func Open(ctx context.Context, address string, o Options) (*Store, error) {
	if o.Name == "" {
		o.Name = "tubhand"
	}
	if o.Patience == 0 {
		o.Patience = time.Second
	}
	o.Patience = min(o.Patience, readTimeout/2)
	if strings.ContainsAny(o.Name, "{}") {
		return nil, fmt.Errorf("redis store: the name %q has a brace in it, which marks the partition in a key", o.Name)
	}
	client, cluster, err := connect(address)
	if err != nil {
		return nil, err
	}
	s := &Store{
		link: link{client: client, cluster: cluster, replicas: o.Replicas, patience: o.Patience}, options: o,
		scripts: newScripts(), calls: make(chan *call, 4*most), closing: make(chan struct{}),
	}
	if err := s.begin(ctx, address); err != nil {
		return nil, errors.Join(err, client.Close())
	}
	return s, nil
}

// begin looks at the servers and starts the work.
func (s *Store) begin(ctx context.Context, address string) (err error) {
	if err := s.link.client.Ping(ctx).Err(); err != nil {
		return fmt.Errorf("redis store: no answer from %s; does the server run, and is that its address? %w", redacted(address), err)
	}
	if s.layout, err = s.findLayout(ctx); err != nil {
		return err
	}
	if s.publish, err = s.findPublish(ctx); err != nil {
		return err
	}
	if err := s.require(ctx); err != nil {
		return err
	}
	var unique [6]byte
	if _, err := rand.Read(unique[:]); err != nil {
		return err
	}
	s.made = hex.EncodeToString(unique[:])
	s.due, s.outbox = newHorizon(s.layout.partitions), newHorizon(s.layout.partitions)
	for range atOnce {
		s.workers.Add(1)
		go s.work()
	}
	s.ended.Go(s.forget)
	return nil
}

// layoutVersion is that of the keys. A store of another is refused.
const layoutVersion = "1"

// findLayout reads how the keys are laid out, or lays that down in an empty store.
func (s *Store) findLayout(ctx context.Context) (layout, error) {
	partitions := s.options.Partitions
	if partitions == 0 {
		partitions = 64
	}
	key := s.options.Name + ":layout"
	if err := s.link.client.SetNX(ctx, key, layoutVersion+" "+strconv.Itoa(partitions), 0).Err(); err != nil {
		return layout{}, fmt.Errorf("redis store: write %s: %w", key, err)
	}
	found, err := s.link.client.Get(ctx, key).Result()
	if err != nil {
		return layout{}, fmt.Errorf("redis store: read %s: %w", key, err)
	}
	version, number, _ := strings.Cut(found, " ")
	n, err := strconv.Atoi(number)
	if version != layoutVersion || err != nil || n < 1 {
		return layout{}, fmt.Errorf("redis store: %s holds %q, which this program does not know; use a newer tubhand", key, found)
	}
	return layout{s.options.Name, n}, nil
}

// findPublish tells whether the servers know sharded channels (Redis 7).
func (s *Store) findPublish(ctx context.Context) (string, error) {
	err := s.link.client.SPublish(ctx, s.layout.base(0)+"hello", "").Err()
	if err == nil {
		return "SPUBLISH", nil
	}
	if strings.Contains(strings.ToLower(err.Error()), "unknown command") {
		return "PUBLISH", nil
	}
	return "", fmt.Errorf("redis store: publish: %w", err)
}

// forget has all partitions asked again from time to time, for what other processes wrote.
func (s *Store) forget() {
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-s.closing:
			return
		case <-tick.C:
			s.due.forget()
			s.outbox.forget()
		}
	}
}

func (s *Store) nonce() string {
	return s.made + strconv.FormatInt(s.nonces.Add(1), 36)
}

// Load implements store.Store. Nearly every conversation goes by its owner's first address,
// so that what the address leads to and the conversation of that name are asked for at once.
func (s *Store) Load(ctx context.Context, shop, address string) (conversation.Conversation, error) {
	hash := s.shopKeys(shop).hash
	reply, err := s.do(ctx, &call{words: []any{"HMGET", hash, "a" + address, "s" + address}})
	if err != nil {
		return conversation.Conversation{}, err
	}
	found := texts(reply)
	if len(found) != 2 || found[0] == "" {
		return conversation.Conversation{}, store.ErrNotFound
	}
	written := found[1]
	if found[0] != address {
		reply, err := s.do(ctx, &call{words: []any{"HGET", hash, "s" + found[0]}})
		if err != nil {
			return conversation.Conversation{}, err
		}
		written, _ = reply.(string)
	}
	c, _, err := state(written)
	return c, err
}

// shopKeys are the keys of a shop, put together once.
func (s *Store) shopKeys(shop string) *shopKeys {
	if k, ok := s.shops.Load(shop); ok {
		return k.(*shopKeys)
	}
	k := s.layout.shop(shop)
	s.shops.Store(shop, &k)
	return &k
}

// state reads a conversation and when it changed, as commit.lua writes them: version, time
// and body, one a line.
func state(written string) (c conversation.Conversation, changed time.Time, err error) {
	version, rest, _ := strings.Cut(written, "\n")
	at, body, _ := strings.Cut(rest, "\n")
	v, err1 := strconv.ParseInt(version, 10, 64)
	ms, err2 := strconv.ParseInt(at, 10, 64)
	if err := errors.Join(err1, err2); err != nil {
		return c, changed, fmt.Errorf("redis: a conversation is not as it was written: %w", err)
	}
	c, err = record.State(body, v)
	return c, record.Time(ms), err
}

// Close implements store.Store.
func (s *Store) Close() error {
	s.gate.Lock()
	if s.closed {
		s.gate.Unlock()
		return nil
	}
	s.closed = true
	close(s.calls)
	close(s.closing)
	s.gate.Unlock()
	s.workers.Wait()
	s.hub.Close()
	s.ears.close()
	s.ended.Wait()
	return s.link.client.Close()
}
