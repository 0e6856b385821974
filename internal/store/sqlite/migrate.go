package sqlite

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrate brings the tables up to date, each step in a transaction with the version
// that it leads to. A file from a newer program is refused.
func migrate(c *conn) error {
	steps, err := fs.ReadDir(migrations, "migrations")
	if err != nil {
		return err
	}
	version, _, err := c.number("PRAGMA user_version")
	if err != nil {
		return err
	}
	if version > int64(len(steps)) {
		return fmt.Errorf("the file has tables of version %d, this program knows %d; use a newer tubhand", version, len(steps))
	}
	for i := int(version); i < len(steps); i++ {
		text, err := fs.ReadFile(migrations, "migrations/"+steps[i].Name())
		if err != nil {
			return err
		}
		if err := step(c, string(text), i+1); err != nil {
			return fmt.Errorf("migration %s: %w", steps[i].Name(), err)
		}
	}
	return nil
}

// step runs one migration to the version that it leads to, with what SQL can't do of it.
func step(c *conn, text string, version int) (err error) {
	if err := c.script("BEGIN IMMEDIATE;\n" + text); err != nil {
		return err
	}
	if version == acrossVersion {
		err = fillSought(c)
	}
	if err == nil {
		err = c.script(fmt.Sprintf("PRAGMA user_version = %d;\nCOMMIT;", version))
	}
	if err != nil {
		return errors.Join(err, c.script("ROLLBACK"))
	}
	return nil
}
