package conversation

import (
	"time"

	"tubhand/internal/safety"
)

// Shop is what Decide needs to know of a business. It is loaded from the shop file and
// never changes while the program runs.
type Shop struct {
	Key      string
	Name     string
	Phone    string // for people to call, as written
	TimeZone string // IANA name
	Region   string // ISO 3166 country
	Language string
	Line     string // the number that messages go out from
	Gateway  string // the gateway that messages go out through
	Mail     string // the shop's e-mail address; "" where it answers none
	Secret   []byte // keys what nobody may guess, such as codes for linking addresses; none: nothing is linked
	Staff    []Person
	Hours    []OpenHours
	OnCall   []Pager // who is paged, in this order
	Paging   Paging
	Flush    Product                    // the flush product
	Products map[string]Product         // by chemical, as in package water
	Limits   map[string]safety.Narrower // bounds of readings that the shop has tightened, by quantity
	Drain    string                     // what the city asks of drained water; "" for the usual figures
	Consent  ConsentRules
}

// Person is a member of staff.
type Person struct {
	Key  string
	Name string
}

// Pager is a member of staff who can be paged.
type Pager struct {
	Key     string
	Address string      // an E.164 number or an e-mail address
	Hours   []OpenHours // when they are on call; none: always
}

// Paging says how long a page may stay unclaimed. The zero value takes what is usual.
type Paging struct {
	Next      time.Duration // then the next person on call is paged, and after the last one all
	Again     time.Duration // then all are paged again
	Emergency time.Duration // an emergency pages all at once, and again after this
}

// OpenHours are one day's opening hours in the shop's time zone.
type OpenHours struct {
	Weekday int // 0 is Sunday
	Open    int // minutes after midnight
	Close   int
}

// Product is something that the shop sells, with its label's figures. What the label
// does not tell stays 0 and is never guessed.
type Product struct {
	Name             string
	Chemical         string  // as in package water; "" for the flush product
	Teaspoons        float64 // label rate: level teaspoons ...
	PerUSGal         float64 // ... per this many US gallons
	JarTeaspoons     float64 // level teaspoons in a full jar
	GramsPerTeaspoon float64 // density, from the label
}

// StaffName gives the name behind a staff key, or "the shop".
func (s *Shop) StaffName(key string) string {
	for _, p := range s.Staff {
		if p.Key == key {
			return p.Name
		}
	}
	return "the shop"
}
