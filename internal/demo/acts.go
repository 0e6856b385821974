package demo

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/gin-gonic/gin"
)

// mostText bounds an owner's text, in characters.
const mostText = 1600

var (
	tokenForm  = regexp.MustCompile(`^[A-Za-z0-9]{16,64}$`)
	numberForm = regexp.MustCompile(`^\+1541555(01\d\d)$`)
)

// pretend tells whether an address is one of the demo's: a 555-01xx number, which no
// telephone has.
func pretend(address string) bool { return numberForm.MatchString(address) }

// firstNew is the number of the first new owner; the invented ones come before it.
const firstNew = "+15415550150"

// written is the way a number is written here.
func written(address string) string {
	if !pretend(address) {
		return address
	}
	return "(541) 555-" + numberForm.FindStringSubmatch(address)[1]
}

// text takes an owner's text from the pretend phone.
func (p *Page) text(g *gin.Context) {
	if err := g.Request.ParseForm(); err != nil {
		p.problem(g, http.StatusUnprocessableEntity, "That text is too long; nothing was sent.")
		return
	}
	owner, token, words := g.PostForm("owner"), g.PostForm("token"), g.PostForm("quick")
	if words == "" {
		words = g.PostForm("text")
	}
	switch {
	case !pretend(owner):
		p.problem(g, http.StatusUnprocessableEntity, "That is no number of the demo.")
	case !tokenForm.MatchString(token):
		p.problem(g, http.StatusUnprocessableEntity, "The form came without its number. Reload the page and try again.")
	case !utf8.ValidString(words):
		p.problem(g, http.StatusUnprocessableEntity, "The text has broken characters in it; nothing was sent.")
	case utf8.RuneCountInString(words) > mostText:
		p.problem(g, http.StatusUnprocessableEntity, fmt.Sprintf("A text holds at most %d characters; nothing was sent.", mostText))
	case strings.TrimSpace(words) == "":
		p.problem(g, http.StatusUnprocessableEntity, "There is no text to send yet.")
	default:
		if err := p.hear(g.Request.Context(), "pocket:"+token, owner, words, language(g)); err != nil {
			p.failed(g, "handle a text", err)
			return
		}
		p.back(g, owner)
	}
}

func language(g *gin.Context) string {
	if l := g.PostForm("language"); l == "en" || l == "es" {
		return l
	}
	return ""
}

func (p *Page) back(g *gin.Context, owner string) {
	to := "/?owner=" + url.QueryEscape(owner)
	if l := language(g); l != "" {
		to += "&language=" + l
	}
	g.Redirect(http.StatusSeeOther, to)
}

// begin gives the phone to a new owner, with the next number that nobody has.
func (p *Page) begin(g *gin.Context) {
	people, err := p.people(g.Request.Context())
	if err != nil {
		p.failed(g, "list owners", err)
		return
	}
	for n := 150; n < 200; n++ {
		address := fmt.Sprintf("+1541555%04d", n)
		if !slices.ContainsFunc(people, func(c choice) bool { return c.Address == address }) {
			p.back(g, address)
			return
		}
	}
	p.problem(g, http.StatusConflict, "All the demo's numbers are in use. Start it again for fresh ones.")
}

// farthest is how far one jump may go.
const farthest = 400 * 24 * time.Hour

// jump moves the clock to the time that the button showed, so that a second press does
// nothing more.
func (p *Page) jump(g *gin.Context) {
	owner := g.PostForm("owner")
	to, err := time.Parse(time.RFC3339Nano, g.PostForm("to"))
	if !pretend(owner) || err != nil || to.Sub(p.Clock.Now()) > farthest {
		p.problem(g, http.StatusUnprocessableEntity, "There is no such time to jump to.")
		return
	}
	if err := p.jumpTo(g.Request.Context(), to); err != nil {
		p.failed(g, "jump", err)
		return
	}
	p.back(g, owner)
}

// patience is how long a jump waits for one reminder to be handled.
const patience = 5 * time.Second

// jumpTo goes from reminder to reminder until the time is reached, so that each fires
// at its own time. The dispatcher fires them; a jump waits until it has.
func (p *Page) jumpTo(ctx context.Context, to time.Time) error {
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	changes := p.Store.Watch(ctx, p.Shop.Key)
	for {
		owner, due, err := p.earliest(ctx)
		if err != nil {
			return err
		}
		if owner == "" || due.After(to) {
			p.Clock.JumpTo(to)
			return nil
		}
		p.Clock.JumpTo(due)
		late := time.NewTimer(patience)
		for p.pending(ctx, owner, due) {
			select {
			case _, open := <-changes:
				if !open {
					return errors.New("the store is closing")
				}
			case <-late.C:
				return fmt.Errorf("a reminder of %s was not handled in %s", strings.TrimPrefix(owner, "+"), patience)
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		late.Stop()
	}
}

// earliest finds the next reminder of all owners; "" when there is none.
func (p *Page) earliest(ctx context.Context) (owner string, due time.Time, err error) {
	cards, err := p.Store.View(ctx, p.Shop.Key).Board(500)
	if err != nil {
		return "", due, fmt.Errorf("board: %w", err)
	}
	for i := range cards {
		at := cards[i].NextDue
		if !at.IsZero() && (owner == "" || at.Before(due)) {
			owner, due = cards[i].State.ID, at
		}
	}
	return owner, due, nil
}

// pending tells whether a reminder of the owner due at or before a time is still there.
func (p *Page) pending(ctx context.Context, owner string, due time.Time) bool {
	reminders, err := p.Store.View(ctx, p.Shop.Key).Reminders(owner)
	return err == nil && len(reminders) > 0 && !reminders[0].Due.After(due)
}

// wait words a duration on the phone.
func wait(d time.Duration) string {
	minutes := int(d.Round(time.Minute) / time.Minute)
	switch {
	case minutes < 1:
		return "in a moment"
	case minutes < 60:
		return fmt.Sprintf("in %d min", minutes)
	case minutes < 36*60 && minutes%60 == 0:
		return fmt.Sprintf("in %d h", minutes/60)
	case minutes < 36*60:
		return fmt.Sprintf("in %d h %d min", minutes/60, minutes%60)
	}
	return fmt.Sprintf("in %d days", (minutes+12*60)/(24*60))
}
