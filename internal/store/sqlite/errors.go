package sqlite

import (
	"errors"
	"fmt"

	modernc "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"tubhand/internal/store/internal/record"
)

// code is the primary SQLite result code in an error, or 0.
func code(err error) int {
	var e *modernc.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

func isBusy(err error) bool { return code(err) == codes.SQLITE_BUSY }

// constraint tells whether a row was refused because its key is there already.
func constraint(err error) bool { return code(err) == codes.SQLITE_CONSTRAINT }

// onDisk gives errors that are the disk's their name.
func onDisk(err error) error {
	if hopeless(err) && !errors.Is(err, ErrDisk) {
		return fmt.Errorf("%w: %w", ErrDisk, err)
	}
	return err
}

// hopeless tells whether writing each job alone would fail as the group did.
func hopeless(err error) bool {
	switch code(err) {
	case codes.SQLITE_FULL, codes.SQLITE_IOERR, codes.SQLITE_CORRUPT, codes.SQLITE_NOTADB,
		codes.SQLITE_READONLY, codes.SQLITE_NOMEM, codes.SQLITE_CANTOPEN:
		return true
	}
	return false
}

func refusedLine(id string) error {
	return fmt.Errorf("%w: line %q is in the transcript already", record.ErrTurn, id)
}
