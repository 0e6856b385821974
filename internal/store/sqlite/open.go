// Package sqlite is the store in one file on the machine's own disk: SQLite in the
// process, WAL, synchronous=FULL. One goroutine writes; it takes all turns that wait,
// writes them in one transaction and answers after the one sync that makes them
// durable. Reading goes over connections of its own and never waits for writing.
//
// What it promises: a turn that was acknowledged survives a crash of the process, and a
// power cut on a disk that honours a sync. What it does not: a second process serving
// from the same file (refused), or a disk that lies.
package sqlite

import (
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"sync"

	modernc "modernc.org/sqlite"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/feed"
)

// Options tune a store. The zero value is right for serving.
type Options struct {
	Readers  int // connections for reading at a time; 0 is 4
	MaxGroup int // turns in one transaction at most; 0 is 256
	MaxPages int // size limit of the file in pages of 4 KiB; 0 is none
}

// Store is the store. Open makes one. It implements store.Store.
type Store struct {
	path    string
	lock    *conn
	writer  *writer
	keeper  *keeper
	readers chan *reader
	asks    chan *ask
	loaded  chan error // of each loader, when it has ended
	loading int        // loaders that have not
	hub     feed.Hub
	shared  shared

	gate    sync.RWMutex // guards closed against senders on the writer's channel
	closed  bool
	closing chan struct{}
	ended   sync.Once
	err     error // of Close
}

var _ store.Store = (*Store)(nil)

// ErrDisk says that the disk, or a limit set on the file, did not let a turn be written.
// The turn is not there; once there is room again, turns are taken again.
var ErrDisk = errors.New("the disk did not take it")

// ErrInUse says that another program, or this one, serves from the file already.
var ErrInUse = errors.New("in use")

// Open opens the file at path for serving, creating it and bringing its tables up to
// date. A file that is being served from already is refused with ErrInUse.
func Open(path string, o Options) (s *Store, err error) {
	s = &Store{path: path, closing: make(chan struct{})}
	s.shared.states = newStates()
	half := s
	defer func() {
		if err != nil {
			err = fmt.Errorf("open store %s: %w", path, errors.Join(err, half.release(len(half.readers))))
		}
	}()
	if s.lock, err = lockFile(path); err != nil {
		return nil, err
	}
	quickSync()
	w, err := connect(dsn(path, "rwc", writersCache))
	if err != nil {
		return nil, err
	}
	s.writer = newWriter(w, &s.hub, &s.shared, o)
	if err = migrate(w); err != nil {
		return nil, err
	}
	// What goes is overwritten in pages that are written anyway, so that what was erased is
	// not read out of the gaps; see Store.EraseConversation.
	if _, _, err = w.number("PRAGMA secure_delete = FAST"); err != nil {
		return nil, err
	}
	if o.MaxPages > 0 {
		if err = w.script(fmt.Sprintf("PRAGMA max_page_count = %d", o.MaxPages)); err != nil {
			return nil, err
		}
	}
	if err = s.writer.begin(); err != nil {
		return nil, err
	}
	if err = s.openReaders(max(o.Readers, 0)); err != nil {
		return nil, err
	}
	if err = s.openLoaders(); err != nil {
		return nil, err
	}
	if s.keeper, err = newKeeper(path, s.writer); err != nil {
		return nil, err
	}
	go s.writer.run()
	go s.keeper.run()
	return s, nil
}

func (s *Store) openReaders(n int) error {
	if n == 0 {
		n = 4
	}
	s.readers = make(chan *reader, n)
	for range n {
		c, err := connect(dsn(s.path, "rw", smallCache) + "&_pragma=query_only(1)")
		if err != nil {
			return err
		}
		s.readers <- &reader{c}
	}
	return nil
}

// What a connection may keep of the file in memory, in KiB. The writer's is all its own;
// the others' are dropped whenever something was written, so that much would not help.
const (
	writersCache = 32 << 10
	smallCache   = 2 << 10
)

// dsn names the file and sets up a connection with so much memory for pages. Checkpoints
// are the keeper's work, so that no turn pays for one.
func dsn(path, mode string, cache int) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		abs = path
	}
	q := url.Values{
		"mode": {mode},
		"_pragma": {
			"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(FULL)",
			"wal_autocheckpoint(0)", "temp_store(MEMORY)", fmt.Sprintf("cache_size(-%d)", cache),
		},
		"_dqs": {"0"},
	}
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs), RawQuery: q.Encode()}).String()
}

// quickSync has SQLite wait for a file's data and size, not for its times as well, where
// the system can tell these apart. It is for the whole process, and loses nothing.
func quickSync() {
	if _, err := modernc.Fdatasync(true); errors.Is(err, modernc.ErrFdatasyncUnavailable) {
		return // then SQLite goes on waiting for both
	}
}

// lockFile holds an exclusive lock beside the file for as long as its connection lives,
// so also a killed process leaves none behind.
func lockFile(path string) (*conn, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	c, err := connect((&url.URL{Scheme: "file", Path: filepath.ToSlash(abs) + ".lock", RawQuery: "mode=rwc"}).String())
	if err != nil {
		return nil, err
	}
	if err := c.script("BEGIN EXCLUSIVE"); err != nil {
		err = errors.Join(err, c.close())
		if isBusy(err) {
			return nil, fmt.Errorf("%w: another tubhand serves from this file; end it first or name another data folder", ErrInUse)
		}
		return nil, err
	}
	return c, nil
}

// Close implements store.Store.
func (s *Store) Close() error {
	s.ended.Do(func() {
		s.gate.Lock()
		s.closed = true
		s.gate.Unlock()
		close(s.closing)
		s.keeper.end()
		close(s.writer.jobs)
		<-s.writer.done
		s.hub.Close()
		s.err = s.release(cap(s.readers))
	})
	return s.err
}

// release closes what is open, waiting for n readers to come back; the lock goes last.
func (s *Store) release(n int) error {
	errs := s.endLoaders()
	for range n {
		errs = append(errs, (<-s.readers).close())
	}
	if s.keeper != nil {
		errs = append(errs, s.keeper.c.close())
	}
	if s.writer != nil {
		errs = append(errs, s.writer.close())
	}
	if s.lock != nil {
		errs = append(errs, s.lock.close())
	}
	return errors.Join(errs...)
}
