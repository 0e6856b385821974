package console

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"net/http"
	"regexp"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/store"
)

// The feed of what is coming, for calendar programs: read-only, at an address that only who
// was given it knows. A manager makes it, makes it anew and ends it.

const (
	feedPage  = "feed"
	feedKind  = "calendar_feed" // documents, by the hash of the address's secret
	feedWeeks = 12
)

// feedRecord is what is kept of a feed: the secret itself is not.
type feedRecord struct {
	By   string    `json:"by"`
	Made time.Time `json:"made"`
}

type feedView struct {
	Weeks   int
	Address string // shown once, when it was made
	By      string
	Made    moment
}

// feedSecret is how crypto/rand.Text writes a secret, with what calendar programs like to
// see at an address's end.
var feedSecret = regexp.MustCompile(`^([A-Z2-7]{26})\.ics$`)

func feedKey(secret string) string {
	sum := sha256.Sum256([]byte("calendar feed " + secret))
	return hex.EncodeToString(sum[:])
}

func (s *site) feedPage(g *gin.Context) { s.showFeed(g, "") }

func (s *site) showFeed(g *gin.Context, address string) {
	v := feedView{Weeks: feedWeeks, Address: address}
	all, err := s.feeds(g.Request.Context())
	if err != nil {
		s.failed(g, "look for the feed", err)
		return
	}
	for _, d := range all {
		var r feedRecord
		if json.Unmarshal(d.Value, &r) == nil {
			v.By, v.Made = s.staffName(r.By), s.moment(r.Made)
		}
	}
	s.show(g, http.StatusOK, feedPage, s.still(g, "Calendar feed", v))
}

func (s *site) feeds(ctx context.Context) ([]store.Document, error) {
	return s.Store.Documents(ctx, s.Shop.Key, feedKind, "", store.MostListed, s.Clock.Now())
}

// newFeed makes an address. Those before it end.
func (s *site) newFeed(g *gin.Context) {
	ctx, secret := g.Request.Context(), rand.Text()
	value, err := json.Marshal(feedRecord{By: s.me(g).Key, Made: s.Clock.Now()})
	if err == nil {
		err = s.dropFeeds(ctx)
	}
	if err == nil {
		err = s.Store.PutDocument(ctx, s.Shop.Key, store.Document{Kind: feedKind, Key: feedKey(secret), Value: value}, s.Clock.Now())
	}
	if err == nil {
		err = s.Desk.Note(ctx, s.me(g).Key, "made a calendar feed", "", "")
	}
	if err != nil {
		s.failed(g, "make a feed", err)
		return
	}
	s.showFeed(g, s.origin(g)+s.base+"feed/"+secret+".ics")
}

func (s *site) endFeed(g *gin.Context) {
	err := s.dropFeeds(g.Request.Context())
	if err == nil {
		err = s.Desk.Note(g.Request.Context(), s.me(g).Key, "ended the calendar feed", "", "")
	}
	if err != nil {
		s.failed(g, "end the feed", err)
		return
	}
	g.Redirect(http.StatusSeeOther, s.base+"feed")
}

func (s *site) dropFeeds(ctx context.Context) error {
	all, err := s.feeds(ctx)
	for _, d := range all {
		if gone := s.Store.DeleteDocument(ctx, s.Shop.Key, feedKind, d.Key, s.Clock.Now()); gone != nil && !errors.Is(gone, store.ErrNotFound) {
			err = errors.Join(err, gone)
		}
	}
	return err
}

// feed answers a calendar program. What is no secret of a feed is not there, whatever it
// looks like.
func (s *site) feed(g *gin.Context) {
	match := feedSecret.FindStringSubmatch(g.Param("key"))
	if match == nil {
		g.String(http.StatusNotFound, "There is no such feed.")
		return
	}
	ctx := g.Request.Context()
	switch _, err := s.Store.Document(ctx, s.Shop.Key, feedKind, feedKey(match[1]), s.Clock.Now()); {
	case errors.Is(err, store.ErrNotFound):
		g.String(http.StatusNotFound, "There is no such feed.")
		return
	case err != nil:
		s.Log.Error("console", "doing", "look for the feed", "error", err)
		g.String(http.StatusInternalServerError, "Something went wrong on our side. Please try again.")
		return
	}
	patience := time.NewTimer(dueWait)
	defer patience.Stop()
	select {
	case <-s.due.open(s.Console):
		g.Data(http.StatusOK, "text/calendar; charset=utf-8", writeFeed(s.Shop.Name, s.feedEvents(), s.Clock.Now()))
	case <-patience.C:
		g.Header("Retry-After", "30")
		g.String(http.StatusServiceUnavailable, "The tubs are still being read. Please try again in half a minute.")
	case <-ctx.Done():
	}
}
