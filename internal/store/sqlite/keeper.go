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

	// The writer's own.
	jobs  int // since the keeper was last woken
	every int // jobs after which it is
	limit int64
}

const (
	jobsPerCheckpoint = 4096  // some 10,000 pages
	pagesToPause      = 32768 // 128 MiB
	passes            = 4     // before a pause is thought of
	little            = 512   // pages that may be left when it is
)

func newKeeper(path string, w *writer) (*keeper, error) {
	c, err := connect(dsn(path, "rw", smallCache))
	if err != nil {
		return nil, err
	}
	k := &keeper{c: c, w: w, wake: make(chan struct{}, 1), quit: make(chan struct{}), done: make(chan struct{})}
	k.every, k.limit = jobsPerCheckpoint, pagesToPause
	w.after = k.note
	return k, nil
}

// note counts what was written. It is called by the writer.
func (k *keeper) note(jobs int) {
	if k.jobs += jobs; k.jobs < k.every {
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
		k.move()
	}
}

// move moves what there is. What comes meanwhile is moved in further passes, each with
// less to do, so that little is left should the writer have to pause. An error loses
// nothing: what is not moved now is moved next time.
func (k *keeper) move() {
	for range passes {
		pages, left, err := checkpoint(k.c)
		switch {
		case err != nil:
			return
		case left <= little && pages > k.limit:
			k.pause()
			return
		case left <= little:
			return
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
