package redis

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"

	goredis "github.com/redis/go-redis/v9"

	"tubhand/internal/store"
)

// call is one command on its way. Those that wait together go in one pipeline: a network
// write, a sync of the server's log and a network read for all of them.
type call struct {
	script     *script // nil: words is a plain command
	keys, args []string
	words      []any
	write      bool

	taken atomic.Bool // by a worker, or by a caller who gives up
	reply any
	err   error
	done  chan struct{}
}

func (c *call) command(byHash bool) []any {
	if c.script == nil {
		return c.words
	}
	return c.script.command(byHash, c.keys, c.args)
}

// key is one of its keys; all are in one slot.
func (c *call) key() string {
	if c.script == nil {
		return fmt.Sprint(c.words[1])
	}
	return c.keys[0]
}

// run has a script run and gives its answer.
func (s *Store) run(ctx context.Context, sc *script, write bool, keys []string, args ...string) (any, error) {
	return s.do(ctx, &call{script: sc, keys: keys, args: args, write: write})
}

// do sends a call and waits. A caller whose ctx ends before a worker has it takes it back;
// after that the answer is waited for, since it is on its way.
func (s *Store) do(ctx context.Context, c *call) (any, error) {
	c.done = make(chan struct{})
	if err := s.submit(ctx, c); err != nil {
		return nil, err
	}
	select {
	case <-c.done:
	case <-ctx.Done():
		if c.taken.CompareAndSwap(false, true) {
			return nil, ctx.Err()
		}
		<-c.done
	}
	return c.reply, c.err
}

func (s *Store) submit(ctx context.Context, c *call) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.gate.RLock()
	defer s.gate.RUnlock()
	if s.closed {
		return store.ErrClosed
	}
	select {
	case s.calls <- c:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// all sends calls side by side and waits for each; the first error is the result.
func (s *Store) all(ctx context.Context, calls []*call) error {
	errs := make(chan error, len(calls))
	for _, c := range calls[min(1, len(calls)):] {
		go func() {
			_, err := s.do(ctx, c)
			errs <- err
		}()
	}
	var first error
	if len(calls) > 0 {
		_, first = s.do(ctx, calls[0])
	}
	for range len(calls) - 1 {
		if err := <-errs; first == nil {
			first = err
		}
	}
	return first
}

// most is how many calls go in one pipeline.
const most = 128

// work sends what waits until the channel is closed and empty.
func (s *Store) work() {
	defer s.workers.Done()
	for c := range s.calls {
		batch := s.gather([]*call{c})
		live := batch[:0]
		for _, c := range batch {
			if c.taken.CompareAndSwap(false, true) {
				live = append(live, c)
			}
		}
		s.exchange(live)
		for _, c := range live {
			c.err = explain(c.err)
			close(c.done)
		}
	}
}

// gather takes what waits already, without waiting for more.
func (s *Store) gather(batch []*call) []*call {
	for len(batch) < most {
		select {
		case c, ok := <-s.calls:
			if !ok {
				return batch
			}
			batch = append(batch, c)
		default:
			return batch
		}
	}
	return batch
}

// exchange sends calls and takes their answers; those whose script a server did not have
// are sent again with its text.
func (s *Store) exchange(calls []*call) {
	s.link.send(calls, true)
	var again []*call
	for _, c := range calls {
		if c.script != nil && goredis.HasErrorPrefix(c.err, "NOSCRIPT") {
			again = append(again, c)
		}
	}
	if len(again) > 0 {
		s.link.send(again, false)
	}
}

// explain makes an error of the server one of ours; "nothing there" is an empty answer.
func explain(err error) error {
	switch {
	case err == nil || errors.Is(err, goredis.Nil):
		return nil
	case strings.HasPrefix(err.Error(), "OOM "):
		return fmt.Errorf("redis: its memory is full, and it takes no more turns; raise maxmemory: %w", err)
	}
	return fmt.Errorf("redis: %w", err)
}
