package memory

import "container/heap"

// agenda is pending work in the order of its places (milliseconds, or less for what
// was never tried), and of its arrival where places are equal.
type agenda[T any] struct {
	items []*entry[T]
	made  int64
}

// entry is one piece of work; at is its index in the heap, -1 when it is not there.
type entry[T any] struct {
	place int64
	made  int64
	at    int
	work  T
}

// entryOf wraps work that is not on an agenda yet.
func entryOf[T any](work T) *entry[T] { return &entry[T]{at: -1, work: work} }

// put places an entry, or moves it when it is there already.
func (a *agenda[T]) put(e *entry[T], place int64) {
	e.place = place
	if e.at >= 0 {
		heap.Fix((*queue[T])(a), e.at)
		return
	}
	if e.made == 0 {
		a.made++
		e.made = a.made
	}
	heap.Push((*queue[T])(a), e)
}

// remove takes an entry off; one that is not there is left alone.
func (a *agenda[T]) remove(e *entry[T]) {
	if e.at >= 0 {
		heap.Remove((*queue[T])(a), e.at)
	}
}

// first is the entry with the lowest place, or nil.
func (a *agenda[T]) first() *entry[T] {
	if len(a.items) == 0 {
		return nil
	}
	return a.items[0]
}

// claim moves up to n entries with a place not after now to a later place, and
// returns them in order.
func (a *agenda[T]) claim(now, later int64, n int) []*entry[T] {
	var out []*entry[T]
	for len(out) < n {
		e := a.first()
		if e == nil || e.place > now {
			break
		}
		a.remove(e)
		out = append(out, e)
	}
	for _, e := range out {
		a.put(e, later)
	}
	return out
}

// queue is the agenda as container/heap wants it.
type queue[T any] agenda[T]

func (q *queue[T]) Len() int { return len(q.items) }

func (q *queue[T]) Less(i, j int) bool {
	a, b := q.items[i], q.items[j]
	return a.place < b.place || a.place == b.place && a.made < b.made
}

func (q *queue[T]) Swap(i, j int) {
	q.items[i], q.items[j] = q.items[j], q.items[i]
	q.items[i].at, q.items[j].at = i, j
}

func (q *queue[T]) Push(x any) {
	e := x.(*entry[T])
	e.at = len(q.items)
	q.items = append(q.items, e)
}

func (q *queue[T]) Pop() any {
	last := len(q.items) - 1
	e := q.items[last]
	q.items[last] = nil
	q.items = q.items[:last]
	e.at = -1
	return e
}
