package demo

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/smstext"
)

// view is what the page shows.
type view struct {
	Options
	Now      string // the demo's time: "Sat Jun 13, 10:40 am"
	NowAt    string
	Owner    string // the number in hand
	Name     string
	Number   string
	Language string
	People   []choice
	Slips    []slip
	Next     *next
	HourOn   string
	Needs    int // people who wait for someone at the shop
	Token    string
	Quick    []string
	StaffURL string // this owner's conversation in the staff view; "" before the first text
}

// choice is an owner to pick.
type choice struct {
	Address, Words string
	Now            bool
}

// slip is one text on the phone.
type slip struct {
	ID, Text, Time, Day, By string
	Mine                    bool
	Parts                   int
}

// next is the next reminder of the owner in hand.
type next struct{ At, Clock, In string }

// mostLines is how far back the phone shows.
const mostLines = 200

func (p *Page) show(g *gin.Context) {
	v, err := p.look(g.Request.Context(), g.Query("owner"), g.Query("language"))
	if err != nil {
		p.failed(g, "read the phone", err)
		return
	}
	var out bytes.Buffer
	if err := p.page.Execute(&out, v); err != nil {
		p.failed(g, "draw the phone", err)
		return
	}
	g.Data(http.StatusOK, "text/html; charset=utf-8", out.Bytes())
}

// look reads what the page shows of one owner; without a number the first one.
func (p *Page) look(ctx context.Context, owner, language string) (*view, error) {
	now := p.Clock.Now().In(p.zone)
	v := &view{Options: p.Options, Now: now.Format("Mon Jan 2, 3:04 pm"), NowAt: now.Format(time.RFC3339), Language: language, HourOn: now.Add(time.Hour).Format(time.RFC3339), Token: rand.Text()}
	people, err := p.people(ctx)
	if err != nil {
		return nil, err
	}
	open, err := p.Store.View(ctx, p.Shop.Key).Handovers(false, 500)
	if err != nil {
		return nil, fmt.Errorf("handovers: %w", err)
	}
	v.Needs = len(open)
	if !pretend(owner) {
		owner = people[0].Address
	}
	v.Owner, v.Name, v.Number, v.People = owner, "New owner", written(owner), people
	known := false
	for i := range people {
		people[i].Now = people[i].Address == owner
		known = known || people[i].Now
	}
	if !known {
		v.People = append(v.People, choice{owner, "New owner, " + written(owner), true})
		v.Quick = []string{"hi, I want to flush my pipes"}
		return v, nil
	}
	v.StaffURL = p.Staff + "conversation?with=" + url.QueryEscape(owner)
	return v, p.lookAt(ctx, v, now)
}

// lookAt reads the conversation of an owner who has texted before.
func (p *Page) lookAt(ctx context.Context, v *view, now time.Time) error {
	shop := p.Store.View(ctx, p.Shop.Key)
	conv, err := shop.Conversation(v.Owner)
	if err != nil {
		return fmt.Errorf("conversation: %w", err)
	}
	lines, err := shop.Transcript(v.Owner, mostLines)
	if err != nil {
		return fmt.Errorf("transcript: %w", err)
	}
	reminders, err := shop.Reminders(v.Owner)
	if err != nil {
		return fmt.Errorf("reminders: %w", err)
	}
	if conv.Owner.Name != "" {
		v.Name = conv.Owner.Name
	}
	v.Slips, v.Quick = p.slips(lines), quick(&conv)
	if len(reminders) > 0 {
		due := reminders[0].Due.In(p.zone)
		v.Next = &next{At: due.Format(time.RFC3339Nano), Clock: due.Format("3:04 pm"), In: wait(due.Sub(now))}
		if due.YearDay() != now.YearDay() {
			v.Next.Clock = due.Format("Mon 3:04 pm")
		}
	}
	return nil
}

// slips are the lines that an owner's phone gets to see: no notes, no calls for staff,
// nothing that was held back.
func (p *Page) slips(lines []conversation.Line) []slip {
	var out []slip
	day := ""
	for _, l := range lines {
		mine := l.Direction == conversation.In
		theirs := l.Direction == conversation.Out || l.Direction == conversation.Staff
		if !mine && !theirs || l.Delivery == "dropped" || l.Delivery == "failed" {
			continue
		}
		at := l.At.In(p.zone)
		s := slip{ID: l.ID, Text: l.Text, Time: at.Format("3:04 pm"), Mine: mine, By: p.Shop.Name, Parts: smstext.Count(l.Text).Parts}
		if mine {
			s.By = "You"
		}
		if d := at.Format("Mon Jan 2"); d != day {
			day, s.Day = d, d
		}
		out = append(out, s)
	}
	return out
}

// quick are replies to tap, for what was asked last.
func quick(conv *conversation.Conversation) []string {
	switch conv.Asked.Kind {
	case "done":
		return []string{"DONE", "WHY", "BACK", "PERSON"}
	case "yes_no", "confirm":
		return []string{"YES", "NO", "WHY", "PERSON"}
	case "volume":
		return []string{"375 gallons", "1400 liters", "WHY"}
	case "readings":
		return []string{"3 7.4 100", "4 7.4 100 101", "NO"}
	case "choice":
		out := make([]string, 0, 4)
		for i := range min(len(conv.Asked.Choices), 3) {
			out = append(out, string(rune('1'+i)))
		}
		return append(out, "WHY")
	}
	if conv.Service != nil {
		return []string{"HOW LONG", "FOAM", "DONE", "PERSON"}
	}
	return []string{"FLUSH", "PERSON", "HELP"}
}

func (p *Page) people(ctx context.Context) ([]choice, error) {
	cards, err := p.Store.View(ctx, p.Shop.Key).Board(500)
	if err != nil {
		return nil, fmt.Errorf("board: %w", err)
	}
	people := make([]choice, 0, len(cards))
	for i := range cards {
		c := choice{Address: cards[i].State.ID, Words: p.about[cards[i].State.ID]}
		if c.Words == "" {
			c.Words = "New owner, " + written(c.Address)
		}
		people = append(people, c)
	}
	slices.SortFunc(people, func(a, b choice) int { return strings.Compare(a.Address, b.Address) })
	if len(people) == 0 {
		people = []choice{{Address: firstNew, Words: "New owner, " + written(firstNew)}}
	}
	return people, nil
}
