package redis

import (
	"fmt"
	"hash/fnv"
	"net/url"
	"strconv"
	"strings"
)

// layout names keys. A shop lives wholly in one of a fixed number of partitions, and a
// partition is one hash tag: all that a turn touches is in one slot, and whoever looks
// for work looks at partitions, however many shops there are.
type layout struct {
	name       string
	partitions int
}

// partition is a number from 0 on.
type partition int

func (l layout) of(shop string) partition {
	h := fnv.New32a()
	h.Write([]byte(shop))
	return partition(h.Sum32() % uint32(l.partitions))
}

func (l layout) base(p partition) string {
	return fmt.Sprintf("%s:{p%02d}:", l.name, int(p))
}

func (l layout) due(p partition) string    { return l.base(p) + "due" }
func (l layout) outbox(p partition) string { return l.base(p) + "out" }
func (l layout) tried(p partition) string  { return l.base(p) + "tried" }

// shopKeys are the keys of one shop.
type shopKeys struct {
	part                      partition
	name                      string // the shop's
	hash, board, open, closed string
	channel                   string
	due, outbox, tried        string
	mark, lines, queue, logs  string // what an event's or a conversation's key begins with
	find, months, tally       string // tally: what a month's key begins with
}

func (l layout) shop(shop string) shopKeys {
	p := l.of(shop)
	base, name := l.base(p), url.QueryEscape(shop) // without ':', and so never another's
	key := func(kind string) string { return base + kind + ":" + name }
	return shopKeys{
		part: p, name: shop,
		hash: key("shop"), board: key("board"), open: key("open"), closed: key("closed"),
		channel: key("watch"),
		due:     l.due(p), outbox: l.outbox(p), tried: l.tried(p),
		mark: key("m") + ":", lines: key("l") + ":", queue: key("q") + ":", logs: key("g") + ":",
		find: key("find"), months: key("tallies"), tally: key("tally") + ":",
	}
}

// ownerOf is the conversation that a line's id begins with.
func ownerOf(line string) (string, bool) {
	i := strings.LastIndexByte(line, '.')
	return line[:max(i, 0)], i >= 0
}

func number(n int64) string { return strconv.FormatInt(n, 10) }
