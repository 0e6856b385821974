package shop

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/mailbox"
)

// keys gives a map's keys in order, so that the same file always gives the same shop.
func keys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func (c *check) staff(people map[string]person) []conversation.Person {
	var out []conversation.Person
	for _, k := range keys(people) {
		path := "$.staff." + k
		out = append(out, conversation.Person{Key: c.key(path, k), Name: c.said(path+".name", people[k].Name, 30)})
	}
	if len(out) == 0 {
		c.bad("$.staff", "is missing; somebody must be there to take over")
	}
	return out
}

func (c *check) onCall(w written) []conversation.Pager {
	var out []conversation.Pager
	hours := map[string][]conversation.OpenHours{}
	for _, k := range keys(w.Staff) {
		p := w.Staff[k]
		if p.Page != "" {
			c.pageAddress("$.staff."+k+".page", p.Page, w)
		}
		if len(p.OnCallHours) > 0 {
			hours[k] = c.hours("$.staff."+k+".on_call_hours", p.OnCallHours)
		}
	}
	for i, k := range w.OnCall {
		path := fmt.Sprintf("$.on_call[%d]", i)
		switch p, ok := w.Staff[k]; {
		case !ok:
			c.bad(path, "%q is not among the staff; write one of: %s", k, list(w.Staff))
		case p.Page == "":
			c.bad(path, "%q has no number to page; add page: to %s under staff", k, k)
		default:
			quiet := &check{tree: c.tree} // a bad number has been told above
			out = append(out, conversation.Pager{Key: k, Address: quiet.pageAddress(path, p.Page, w), Hours: hours[k]})
		}
	}
	if len(w.OnCall) == 0 {
		c.bad("$.on_call", "is missing; somebody must be paged in an emergency")
	}
	return out
}

// pageAddress is where someone is paged: a number, or an e-mail address where the shop has
// a mailbox.
func (c *check) pageAddress(path, text string, file written) string {
	if !mailbox.Is(text) {
		return c.number(path, text, file.Region)
	}
	if file.Mail == nil {
		c.bad(path, "is an e-mail address, and the shop has no mailbox to write from; add mail: or write a number")
	}
	return c.mailAddress(path, text)
}

var days = [...]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// paging reads how long a page may stay unclaimed; what is left out takes what is usual.
func (c *check) paging(p paging) conversation.Paging {
	return conversation.Paging{
		Next:      c.span("$.paging.next", p.Next),
		Again:     c.span("$.paging.again", p.Again),
		Emergency: c.span("$.paging.emergency", p.Emergency),
	}
}

func (c *check) span(path, text string) time.Duration {
	if text == "" {
		return 0
	}
	d, err := time.ParseDuration(text)
	if err != nil || d < time.Minute || d > 12*time.Hour {
		c.bad(path, "%q is no time from 1m to 12h; write one like 10m", text)
	}
	return d
}

func (c *check) hours(at string, byDay map[string]string) []conversation.OpenHours {
	var out []conversation.OpenHours
	for _, day := range keys(byDay) {
		path, text := at+"."+day, byDay[day]
		weekday := slices.Index(days[:], day)
		if weekday < 0 {
			c.bad(path, "is no day; write one of: %s", strings.Join(days[:], ", "))
			continue
		}
		if text == "closed" {
			continue
		}
		from, to, _ := strings.Cut(text, "-")
		opens, ok1 := minutes(from)
		closes, ok2 := minutes(to)
		if !ok1 || !ok2 || opens >= closes {
			c.bad(path, "%q is no span of hours; write one like 9:00-17:30, or closed", text)
		}
		out = append(out, conversation.OpenHours{Weekday: weekday, Open: opens, Close: closes})
	}
	if len(byDay) == 0 {
		c.bad(at, "is missing; write at least one day, like mon: 9:00-17:30")
	}
	slices.SortFunc(out, func(a, b conversation.OpenHours) int { return a.Weekday - b.Weekday })
	return out
}

// minutes reads a time of day; 24:00 is the day's end.
func minutes(s string) (int, bool) {
	s = strings.TrimSpace(s)
	if s == "24:00" {
		return 24 * 60, true
	}
	t, err := time.Parse("15:04", s)
	return t.Hour()*60 + t.Minute(), err == nil
}
