package sqlite

import (
	"database/sql/driver"
	"sync"
)

// keeper moves what is in the write-ahead log into the file, on a connection of its own
// and beside the writing. Only when that does not catch up, because the log grows while
// it is being moved, does the writer pause between two groups for the rest.
type keeper struct {
	c    *conn
	w    *writer
	wake chan struct{}
	quit chan struct{}
	done chan struct{}
	once sync.Once
	jobs int // since the keeper was last woken; the writer's
}

const (
	jobsPerCheckpoint = 2048
	pagesToPause      = 16384 // 64 MiB
)

func newKeeper(path string, w *writer) (*keeper, error) {
	c, err := connect(dsn(path, "rw"))
	if err != nil {
		return nil, err
	}
	k := &keeper{c: c, w: w, wake: make(chan struct{}, 1), quit: make(chan struct{}), done: make(chan struct{})}
	w.after = k.note
	return k, nil
}

// note counts what was written. It is called by the writer.
func (k *keeper) note(jobs int) {
	if k.jobs += jobs; k.jobs < jobsPerCheckpoint {
		return
	}
	k.jobs = 0
	select {
	case k.wake <- struct{}{}:
	default:
	}
}

func (k *keeper) run() {
	defer close(k.done)
	for {
		select {
		case <-k.quit:
			return
		case <-k.wake:
		}
		// An error here loses nothing: what is not moved now is moved next time.
		pages, left, err := checkpoint(k.c)
		if err == nil && pages > pagesToPause && left > 0 {
			k.pause()
		}
	}
}

// pause has the writer move the rest between two groups, so that the log starts over.
func (k *keeper) pause() {
	j := &job{done: make(chan struct{}), outside: func(w *writer) error {
		_, _, err := checkpoint(w.c)
		return err
	}}
	select {
	case k.w.jobs <- j:
		<-j.done
	case <-k.quit:
	}
}

func (k *keeper) end() {
	k.once.Do(func() { close(k.quit) })
	<-k.done
}

// checkpoint moves what it can without waiting for anybody, and returns how many pages
// the log has and how many of them were not moved.
func checkpoint(c *conn) (pages, left int64, err error) {
	err = c.rows(func(row []driver.Value) error {
		pages = integer(row[1])
		left = pages - integer(row[2])
		return nil
	}, "PRAGMA wal_checkpoint(PASSIVE)")
	return pages, left, err
}
