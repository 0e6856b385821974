package sqlite

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// Backup writes a copy of one moment to a new file at path, while serving goes on. The
// copy is a store of its own: Open it to restore. An existing file is never written over.
func (s *Store) Backup(ctx context.Context, path string) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	return Backup(ctx, s.path, path)
}

// Backup copies the store at from to a new file at to, also while another process serves
// from it. The copy has its name only when it is whole and on the disk.
func Backup(ctx context.Context, from, to string) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("back up %s to %s: %w", from, to, err)
		}
	}()
	if _, err := os.Stat(to); err == nil {
		return errors.New("there is a file of that name; choose another")
	}
	if _, err := os.Stat(from); err != nil {
		return err
	}
	part := to + ".part"
	if err := os.Remove(part); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if err := vacuumInto(ctx, from, part); err != nil {
		return errors.Join(err, os.RemoveAll(part))
	}
	if err := syncFile(part); err != nil {
		return err
	}
	if err := os.Rename(part, to); err != nil {
		return err
	}
	return syncFile(filepath.Dir(to))
}

func vacuumInto(ctx context.Context, from, to string) error {
	c, err := connect(dsn(from, "rw", writersCache))
	if err != nil {
		return err
	}
	_, err = c.c.(driver.ExecerContext).ExecContext(ctx, "VACUUM INTO ?", []driver.NamedValue{{Ordinal: 1, Value: to}})
	return errors.Join(err, c.close())
}

// syncFile waits until a file, or a folder's list of names, is on the disk.
func syncFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
