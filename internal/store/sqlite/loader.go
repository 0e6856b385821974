package sqlite

import (
	"context"
	"database/sql/driver"

	"tubhand/internal/store"
)

// loader reads conversations for turns, on a connection of its own. It takes all that are
// asked for and reads them in one transaction: beginning one means two locks on the file,
// and, since somebody has written meanwhile, to read the upper pages of the indexes anew.
type loader struct {
	c     *conn
	asks  <-chan *ask
	group []*ask
}

// ask is a search for one conversation.
type ask struct {
	by    string // an address or an id, as from says
	from  string // where to look, with a condition on the shop and on by
	shop  int64
	id    string // what was found; num is 0 when nothing was
	state string
	row   row
	err   error
	done  chan struct{}
}

const (
	byAddress = "address a JOIN conversation c ON c.num = a.conversation WHERE a.shop = ? AND a.address = ?"
	byID      = "conversation c WHERE c.shop = ? AND c.id = ?"
)

// loaders is how many loaders there are: one reads while another waits for the disk.
const loaders = 2

// mostAsks bounds a transaction of a loader, so that it holds up no checkpoint for long.
const mostAsks = 64

func (l *loader) run(done chan<- error) {
	for a := range l.asks {
		l.group = append(l.group[:0], a)
		l.gather()
		_, err := l.c.exec("BEGIN")
		for _, a := range l.group {
			if a.err = err; err == nil {
				a.err = l.read(a)
			}
		}
		if err == nil {
			_, err = l.c.exec("COMMIT")
		}
		for _, a := range l.group {
			if a.err == nil {
				a.err = err
			}
			close(a.done)
		}
	}
	done <- l.c.close()
}

// gather takes what waits already.
func (l *loader) gather() {
	for len(l.group) < mostAsks {
		select {
		case a, ok := <-l.asks:
			if !ok {
				return
			}
			l.group = append(l.group, a)
		default:
			return
		}
	}
}

func (l *loader) read(a *ask) error {
	return l.c.rows(func(v []driver.Value) (err error) {
		a.id, a.state = text(v[10]), text(v[11])
		a.row, err = readRow(v)
		return err
	}, "SELECT "+rowColumns+", c.id, c.state FROM "+a.from, a.shop, a.by)
}

// ask has a loader search, and waits for it. Closing waits until nobody asks any more.
func (s *Store) ask(ctx context.Context, a *ask) error {
	if err := s.putAsk(ctx, a); err != nil {
		return err
	}
	<-a.done // it is on its way, and takes no longer than the disk
	return a.err
}

func (s *Store) putAsk(ctx context.Context, a *ask) error {
	s.gate.RLock()
	defer s.gate.RUnlock()
	if s.closed {
		return store.ErrClosed
	}
	select {
	case s.asks <- a:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (s *Store) openLoaders() error {
	s.asks = make(chan *ask, mostAsks)
	s.loaded = make(chan error, loaders)
	for range loaders {
		c, err := connect(dsn(s.path, "rw", smallCache) + "&_pragma=query_only(1)")
		if err != nil {
			return err
		}
		s.loading++
		l := &loader{c: c, asks: s.asks}
		go l.run(s.loaded)
	}
	return nil
}

// endLoaders lets the loaders end what they have, and closes their connections. Nobody
// asks any more.
func (s *Store) endLoaders() (errs []error) {
	if s.loading > 0 {
		close(s.asks)
	}
	for ; s.loading > 0; s.loading-- {
		errs = append(errs, <-s.loaded)
	}
	return errs
}
