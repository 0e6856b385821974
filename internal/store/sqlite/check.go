package sqlite

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
)

// ErrDamaged says that a file is not as a store leaves it.
var ErrDamaged = errors.New("the file is damaged")

// Check reads the whole file and looks whether it is sound: the pages by SQLite's own
// check, the records by what must hold between them. It returns ErrDamaged with all that
// it finds. It runs beside the serving, and takes seconds for each gigabyte.
func (s *Store) Check(ctx context.Context) error {
	return s.read(ctx, func(r *reader) error { return r.check(ctx) })
}

// Check checks the file at path, also one that is being served from.
func Check(ctx context.Context, path string) error {
	c, err := connect(dsn(path, "rw", writersCache))
	if err != nil {
		return fmt.Errorf("check %s: %w", path, err)
	}
	return errors.Join(c.check(ctx), c.close())
}

// invariant is a query for the number of records that break a rule.
type invariant struct{ rule, query string }

// invariants lists what must hold between the tables after every commit.
func invariants() []invariant {
	count := func(column, of string) invariant {
		return invariant{"the shop's count of " + column + " is right", "SELECT count(*) FROM shop s WHERE " + column + " <> (" + of + ")"}
	}
	return []invariant{
		count("conversations", "SELECT count(*) FROM conversation WHERE shop = s.num"),
		count("turns", "SELECT s.erased + coalesce(sum(version), 0) FROM conversation WHERE shop = s.num"),
		count("outbox", "SELECT count(*) FROM outbox WHERE shop = s.num"),
		count("reminders", "SELECT count(*) FROM reminder WHERE shop = s.num"),
		count("handovers", "SELECT count(*) FROM handover WHERE shop = s.num AND closed IS NULL"),
		{"each commit has its place on the board", "SELECT abs((SELECT count(*) FROM touch) - (SELECT coalesce(sum(version), 0) FROM conversation) - (SELECT coalesce(sum(erased), 0) FROM shop))"},
		{"what waits in the outbox is a queued line", `SELECT count(*) FROM outbox o LEFT JOIN line l ON l.num = o.num AND l.conversation = o.conversation
			WHERE l.delivery IS NOT 'queued'`},
		{"the outbox knows whom a line is for", `SELECT count(*) FROM outbox o JOIN line l ON l.num = o.num
			WHERE o.recipient <> coalesce(json_extract(l.body, '$.to'), '')`},
		{"what is queued waits in the outbox", `SELECT count(*) FROM line l WHERE delivery = 'queued'
			AND NOT EXISTS (SELECT 1 FROM outbox WHERE num = l.num)`},
		{"the oldest of a conversation's outbox to a recipient, and no other, may go", `SELECT count(*) FROM
			(SELECT place, row_number() OVER (PARTITION BY conversation, recipient ORDER BY num) AS turn FROM outbox)
			WHERE (place IS NOT NULL) <> (turn = 1)`},
		{"a conversation counts its marks", `WITH n (conversation, marks) AS
			(SELECT conversation, count(*) FROM mark GROUP BY conversation)
			SELECT count(*) FROM conversation c LEFT JOIN n ON n.conversation = c.num
			WHERE spilled <> coalesce(n.marks, 0) OR length(c.marks) % 12 <> 0`},
		{"a conversation lists its reminders", `WITH n (conversation, pending) AS
			(SELECT conversation, count(*) FROM reminder GROUP BY conversation)
			SELECT count(*) FROM conversation c LEFT JOIN n ON n.conversation = c.num
			WHERE length(reminders) - length(replace(reminders, char(10), '')) <> coalesce(n.pending, 0)`},
		{"each conversation can be found", "SELECT abs((SELECT count(*) FROM conversation) - (SELECT count(*) FROM sought JOIN conversation USING (num)))"},
		{"a conversation's last line is its own", `SELECT count(*) FROM conversation c JOIN line l ON l.num IN (c.line, c.said) WHERE l.conversation <> c.num`},
		{"each line is in its conversation's chain", `SELECT count(*) FROM
			(SELECT num, prev, lag(num, 1, 0) OVER (PARTITION BY conversation ORDER BY num) AS before FROM line)
			WHERE prev <> before AND (before <> 0 OR prev >= num)`}, // the first may follow one that was trimmed
	}
}

func (c *conn) check(ctx context.Context) error {
	var found []error
	err := c.rows(func(v []driver.Value) error {
		if said := text(v[0]); said != "ok" {
			found = append(found, fmt.Errorf("%w: %s", ErrDamaged, said))
		}
		return ctx.Err()
	}, "PRAGMA integrity_check")
	if err != nil {
		return fmt.Errorf("integrity check: %w", err)
	}
	for _, i := range invariants() {
		n, _, err := c.number(i.query)
		if err = errors.Join(err, ctx.Err()); err != nil {
			return fmt.Errorf("check whether %s: %w", i.rule, err)
		}
		if n != 0 {
			found = append(found, fmt.Errorf("%w: it is not so that %s: %d exceptions", ErrDamaged, i.rule, n))
		}
	}
	return errors.Join(found...)
}
