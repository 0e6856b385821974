package sqlite

import (
	"context"
	"sync/atomic"

	"tubhand/internal/store"
)

// job is one caller's piece of writing. It runs inside the transaction of its group, or
// again alone when the group could not be written; so it must set its results anew
// each time.
type job struct {
	run     func(w *writer) error
	outside func(w *writer) error // instead of run: what cannot be in a transaction
	taken   atomic.Bool           // by the writer, or by a caller who gives up
	err     error
	done    chan struct{}
}

// do has the writer run a job and returns when its effect is durable. A caller whose
// ctx ends before the writer has begun takes the job back, and nothing is written;
// after that the result is waited for, since it is already on its way to the disk.
func (s *Store) do(ctx context.Context, run func(w *writer) error) error {
	j := &job{run: run, done: make(chan struct{})}
	if err := s.submit(ctx, j); err != nil {
		return err
	}
	select {
	case <-j.done:
		return j.err
	case <-ctx.Done():
		if j.taken.CompareAndSwap(false, true) {
			return ctx.Err()
		}
		<-j.done
		return j.err
	}
}

// doFlushed is do for jobs that read what turns of the same group have gathered.
func (s *Store) doFlushed(ctx context.Context, run func(w *writer) error) error {
	return s.do(ctx, func(w *writer) error {
		if err := w.flush(); err != nil {
			return err
		}
		return run(w)
	})
}

func (s *Store) submit(ctx context.Context, j *job) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.gate.RLock()
	defer s.gate.RUnlock()
	if s.closed {
		return store.ErrClosed
	}
	select {
	case s.writer.jobs <- j:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
