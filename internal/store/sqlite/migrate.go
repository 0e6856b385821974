package sqlite

import (
	"embed"
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
		step := fmt.Sprintf("BEGIN IMMEDIATE;\n%s\nPRAGMA user_version = %d;\nCOMMIT;", text, i+1)
		if err := c.script(step); err != nil {
			return fmt.Errorf("migration %s: %w", steps[i].Name(), err)
		}
	}
	return nil
}
