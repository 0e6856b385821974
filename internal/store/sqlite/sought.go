package sqlite

import (
	"database/sql/driver"
	"errors"
	"fmt"
	"hash/fnv"
	"strconv"
	"strings"
	"unicode/utf8"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// acrossVersion is the version of the tables that began to keep what conversations are found by.
const acrossVersion = 5

// sumOf stands for a text; never 0, which stands for none.
func sumOf(text string) int64 {
	h := fnv.New64a()
	h.Write([]byte(text))
	return int64(h.Sum64() | 1)
}

// putSought writes what a conversation is found by, where that has changed.
func (w *writer) putSought(sh *tally, r *row, p *written) error {
	sum := sumOf(p.sought)
	if sum == r.sought {
		return nil
	}
	if r.sought != 0 {
		if err := w.eraseSought(r.num); err != nil {
			return err
		}
	}
	r.sought = sum
	return putSought(w.c, sh.num, r.num, p.sought)
}

func putSought(c *conn, shop, num int64, text string) error {
	if _, err := c.exec("INSERT INTO sought (num, shop, text) VALUES (?, ?, ?)", num, shop, text); err != nil {
		return err
	}
	_, err := c.exec("INSERT INTO found (rowid, text) VALUES (?, ?)", num, text)
	return err
}

// eraseSought takes a conversation's text out. The index must be told what it was.
func (w *writer) eraseSought(num int64) error {
	_, err := w.c.exec("INSERT INTO found (found, rowid, text) SELECT 'delete', num, text FROM sought WHERE num = ?", num)
	if err == nil {
		_, err = w.c.exec("DELETE FROM sought WHERE num = ?", num)
	}
	return err
}

// fillSought writes what the conversations of an older file are found by.
func fillSought(c *conn) error {
	for last := int64(0); ; {
		type one struct {
			num, shop int64
			text      string
		}
		var page []one
		err := c.rows(func(v []driver.Value) error {
			state, err := record.State(text(v[2]), 0)
			page = append(page, one{integer(v[0]), integer(v[1]), record.Sought(&state)})
			return err
		}, "SELECT num, shop, state FROM conversation WHERE num > ? ORDER BY num LIMIT 500", last)
		if err != nil || len(page) == 0 {
			return err
		}
		for _, o := range page {
			if err := putSought(c, o.shop, o.num, o.text); err != nil {
				return err
			}
			if _, err := c.exec("UPDATE conversation SET sought = ? WHERE num = ?", sumOf(o.text), o.num); err != nil {
				return err
			}
		}
		last = page[len(page)-1].num
	}
}

// lookedThrough bounds how many conversations a query is held against that the index of
// three letters can't answer.
const lookedThrough = 10000

// Find implements store.Across. Words of three letters and more are looked up in the index;
// shorter ones are held against the texts.
func (v view) Find(query string, n int, after string) (cards []store.Card, next string, err error) {
	before := int64(1) << 62
	if after != "" {
		if before, err = strconv.ParseInt(after, 10, 64); err != nil {
			return nil, "", fmt.Errorf("%w: go on after %.40q; give what an earlier answer said", store.ErrRefused, after)
		}
	}
	err = v.s.read(v.ctx, func(r *reader) (err error) {
		if err := r.script("BEGIN"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, r.script("COMMIT")) }()
		nums, last, err := r.sought(record.Words(query), v.shop, before, record.Limit(n, 500))
		if err != nil {
			return err
		}
		if last > 0 {
			next = strconv.FormatInt(last, 10)
		}
		cards, err = r.cards(nums)
		return err
	})
	return cards, next, err
}

// sought finds up to n conversations begun before a number, the last first; last is where
// to go on, 0 at the end.
func (r *reader) sought(words []string, shop string, before int64, n int) (nums []int64, last int64, err error) {
	statement, args := soughtQuery(words, shop, before)
	looked, met := 0, int64(0)
	err = r.walk(func(row []driver.Value) error {
		if len(nums) == n || looked == lookedThrough {
			last = met
			return errEnough
		}
		looked++
		met = integer(row[0])
		if integer(row[1]) != 0 {
			nums = append(nums, met)
		}
		return nil
	}, statement, args...)
	return nums, last, err
}

func (r *reader) cards(nums []int64) (cards []store.Card, err error) {
	for _, num := range nums {
		err := r.rows(func(row []driver.Value) error {
			one, err := card(row)
			cards = append(cards, one)
			return err
		}, `SELECT c.state, c.version, c.changed, c.reminders, l.body, l.delivery
			FROM conversation c LEFT JOIN line l ON l.num = c.said WHERE c.num = ?`, num)
		if err != nil {
			return nil, err
		}
	}
	return cards, nil
}

// soughtQuery selects candidates, those begun last first: their numbers, and whether words
// that the index does not know occur.
func soughtQuery(words []string, shop string, before int64) (string, []driver.Value) {
	var long, short []string
	for _, w := range words {
		if utf8.RuneCountInString(w) >= 3 {
			long = append(long, `"`+strings.ReplaceAll(w, `"`, `""`)+`"`)
		} else {
			short = append(short, w)
		}
	}
	args, holds := []driver.Value{}, "1"
	for _, w := range short {
		holds += " AND instr(s.text, ?) > 0"
		args = append(args, w)
	}
	const ofShop = " AND s.shop = (SELECT num FROM shop WHERE key = ?) "
	if len(long) == 0 {
		return "SELECT s.num, " + holds + " FROM sought s WHERE s.num < ?" + ofShop + "ORDER BY s.num DESC", append(args, before, shop)
	}
	return "SELECT f.rowid, " + holds + " FROM found f CROSS JOIN sought s ON s.num = f.rowid WHERE f.text MATCH ? AND f.rowid < ?" +
		ofShop + "ORDER BY f.rowid DESC", append(args, strings.Join(long, " "), before, shop)
}
