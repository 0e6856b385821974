package sqlite

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"

	modernc "modernc.org/sqlite"
)

// conn is one connection for one goroutine. It speaks to the driver without
// database/sql between: half of a turn's time would go into that layer's checks.
type conn struct {
	c     driver.Conn
	stmts map[string]*stmt // prepared, by their text
}

// stmt is a prepared statement with its arguments' memory.
type stmt struct {
	text  string
	exec  driver.StmtExecContext
	query driver.StmtQueryContext
	close func() error
	args  []driver.NamedValue
	row   []driver.Value
}

func connect(dsn string) (*conn, error) {
	c, err := (&modernc.Driver{}).Open(dsn)
	if err != nil {
		return nil, err
	}
	return &conn{c: c, stmts: make(map[string]*stmt)}, nil
}

func (c *conn) close() error {
	var errs []error
	for _, s := range c.stmts {
		errs = append(errs, s.close())
	}
	return errors.Join(append(errs, c.c.Close())...)
}

// prepared returns the statement for a text, preparing it at its first use.
func (c *conn) prepared(text string) (*stmt, error) {
	if s := c.stmts[text]; s != nil {
		return s, nil
	}
	d, err := c.c.Prepare(text)
	if err != nil {
		return nil, fmt.Errorf("prepare %q: %w", text, err)
	}
	s := &stmt{text: text, exec: d.(driver.StmtExecContext), query: d.(driver.StmtQueryContext), close: d.Close}
	c.stmts[text] = s
	return s, nil
}

// exec runs a statement and returns how many rows it changed. Arguments are int64,
// string or nil, as the driver wants them.
func (c *conn) exec(text string, args ...driver.Value) (int64, error) {
	s, err := c.prepared(text)
	if err != nil {
		return 0, err
	}
	r, err := s.exec.ExecContext(context.Background(), s.bind(args))
	if err != nil {
		return 0, fmt.Errorf("%q: %w", s.text, err)
	}
	return r.RowsAffected()
}

// script runs statements that are not worth preparing.
func (c *conn) script(text string) error {
	_, err := c.c.(driver.ExecerContext).ExecContext(context.Background(), text, nil)
	if err != nil {
		return fmt.Errorf("%.60q: %w", text, err)
	}
	return nil
}

// rows runs a query and calls each for every row; the row is only good until each
// returns. Values are int64, string or nil.
func (c *conn) rows(each func(row []driver.Value) error, text string, args ...driver.Value) (err error) {
	s, err := c.prepared(text)
	if err != nil {
		return err
	}
	r, err := s.query.QueryContext(context.Background(), s.bind(args))
	if err != nil {
		return fmt.Errorf("%q: %w", s.text, err)
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	if s.row == nil {
		s.row = make([]driver.Value, len(r.Columns()))
	}
	for {
		switch err := r.Next(s.row); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return fmt.Errorf("%q: %w", s.text, err)
		}
		if err := each(s.row); err != nil {
			return err
		}
	}
}

// errEnough ends a query that has found what it looked for.
var errEnough = errors.New("enough")

// walk is rows for a query that each may end with errEnough.
func (c *conn) walk(each func(row []driver.Value) error, text string, args ...driver.Value) error {
	err := c.rows(each, text, args...)
	if errors.Is(err, errEnough) {
		return nil
	}
	return err
}

// number runs a query for one number; ok is false when there is no row or it is null.
func (c *conn) number(text string, args ...driver.Value) (n int64, ok bool, err error) {
	err = c.rows(func(row []driver.Value) error {
		n, ok = row[0].(int64)
		return nil
	}, text, args...)
	return n, ok, err
}

func (s *stmt) bind(args []driver.Value) []driver.NamedValue {
	s.args = s.args[:0]
	for i, a := range args {
		s.args = append(s.args, driver.NamedValue{Ordinal: i + 1, Value: a})
	}
	return s.args
}
