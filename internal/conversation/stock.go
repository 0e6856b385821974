package conversation

import (
	"math"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// What an owner has left is known only where somebody has said how full a jar was: the owner
// that it is new, or staff. Confirmed doses are taken off it; nothing is ever guessed.

// Offer is the question whether to put product aside.
type Offer struct {
	Product string    `json:"product"`
	Since   time.Time `json:"since"`
}

// When to offer to put product aside: for a flush within this time, and not again within
// the other. Our decisions.
const (
	stockSoon  = 45 * 24 * time.Hour
	stockApart = 60 * 24 * time.Hour
	offerLasts = 3 * 24 * time.Hour
)

// spoonsOf is a dose in level teaspoons; 0 where it can't be told in spoons.
func (t *turn) spoonsOf(d *Dose) float64 {
	switch {
	case d.Spoons > 0:
		return d.Spoons
	case d.Unit == water.LevelTeaspoon:
		return d.Amount
	}
	if p := t.w.shop.Products[d.Chemical]; d.Grams > 0 && p.GramsPerTeaspoon > 0 {
		return d.Grams / p.GramsPerTeaspoon
	}
	return 0
}

// takeFromJar takes a dose off a jar that is known. After an amount that nobody knows, what
// is left is not known either.
func (t *turn) takeFromJar(d *Dose) {
	left, ok := t.c.Tub.JarSpoons[d.Product]
	if !ok {
		return
	}
	if spoons := t.spoonsOf(d); spoons > 0 {
		t.c.Tub.JarSpoons[d.Product] = math.Max(0, left-spoons)
		return
	}
	delete(t.c.Tub.JarSpoons, d.Product)
}

// jarTold takes the owner's word that a jar of the flush product is new, or that it is empty.
func (t *turn) jarTold() bool {
	p := t.w.shop.Flush
	switch {
	case p.JarTeaspoons <= 0:
		return false
	case t.says1("choices.new_jar"):
		t.setJar(p.JarTeaspoons)
		t.note("The owner has a new jar of " + p.Name + ": " + english.amount(p.JarTeaspoons, water.LevelTeaspoon))
		t.sayCalendar("jar.new", "", time.Time{})
	case t.says1("choices.empty_jar"):
		t.setJar(0)
		t.note("The owner's jar of " + p.Name + " is empty")
		if t.c.Service == nil && t.mayOffer() {
			t.offer("stock.none")
			return true
		}
		t.sayCalendar("jar.empty", "", time.Time{})
	default:
		return false
	}
	return true
}

// setJar keeps how many level teaspoons of the flush product the owner has.
func (t *turn) setJar(spoons float64) {
	put(&t.c.Tub.JarSpoons, t.w.shop.Flush.Name, spoons)
	t.c.Calendar.Refused, t.c.Calendar.Offered = false, time.Time{}
}

// FlushesLeft is how many whole flushes a jar of this product holds for the conversation's
// tub; ok is false where what is left, the volume or the label's rate is not known.
func FlushesLeft(c *Conversation, flush *Product) (n int, ok bool) {
	left, known := c.Tub.JarSpoons[flush.Name]
	rate := water.LabelRate{Teaspoons: flush.Teaspoons, PerUSGal: flush.PerUSGal, JarTeaspoons: flush.JarTeaspoons}
	dose, err := rate.Dose(c.Tub.VolumeUSGal)
	if !known || err != nil || dose <= 0 {
		return 0, false
	}
	return int(math.Floor(left/dose + 1e-9)), true
}

// offerAtEnd offers product at the end of a service, where a flush is due soon.
func (t *turn) offerAtEnd() {
	for _, d := range DueChores(&t.c) {
		if d.Chore == ChoreFlush {
			t.offerStock(d.At)
			return
		}
	}
}

// offerStock asks once whether to put product aside for the flush after the next, or for the
// next where the jar does not hold it.
func (t *turn) offerStock(due time.Time) {
	left, known := FlushesLeft(&t.c, &t.w.shop.Flush)
	if !known || left > 1 || due.After(t.now.Add(stockSoon)) || !t.mayOffer() {
		return
	}
	key := "stock.one"
	if left == 0 {
		key = "stock.none"
	}
	t.offer(key)
}

// mayOffer tells whether the question would be no nagging, and the only one.
func (t *turn) mayOffer() bool {
	calendar := &t.c.Calendar
	return t.c.Consent.Asking == nil && !calendar.Refused && (calendar.Offered.IsZero() || t.now.Sub(calendar.Offered) > stockApart) &&
		t.c.Hold == nil && !t.c.OptedOut && t.openCase(putAside) == nil
}

func (t *turn) offer(key string) {
	t.c.Calendar.Stock, t.c.Calendar.Offered = &Offer{Product: t.w.shop.Flush.Name, Since: t.now}, t.now
	t.sayCalendar(key, "", time.Time{})
}

// putAside is the cause of a case that asks staff to put product aside.
const putAside = "put_aside"

// answerStock takes a yes or no to the offer. Anything else ends it: it is asked once.
func (t *turn) answerStock(m understand.Meaning) bool {
	offer := t.c.Calendar.Stock
	if offer == nil {
		return false
	}
	t.c.Calendar.Stock = nil
	switch {
	case t.c.Service != nil || t.now.Sub(offer.Since) > offerLasts:
		return false
	case m.Intent == understand.Yes:
		t.handOver(putAside, safety.Technician, false)
		t.opened = false // it waits in the queue: nobody need be told when the shop opens
		t.note("Put aside for the owner: a jar of " + offer.Product)
		t.sayCalendar("stock.yes", "", time.Time{})
	case t.refuses(m):
		t.c.Calendar.Refused = true
		t.sayCalendar("stock.no", "", time.Time{})
	default:
		return false
	}
	return true
}
