package console

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
)

// Rehearser plays scripted conversations with what the program would really say. Nothing
// of it is sent or kept.
type Rehearser interface {
	// Rehearsals lists what can be played, in the order to show it in.
	Rehearsals() []Rehearsal
	// Play plays one by its name. ErrNoRehearsal when there is none of that name.
	Play(ctx context.Context, name string) (Played, error)
}

// ErrNoRehearsal is returned for a rehearsal that is not there.
var ErrNoRehearsal = errors.New("no such rehearsal")

// Rehearsal is one scripted conversation.
type Rehearsal struct {
	Name  string
	About string // what it shows, in a line
	Lang  string // the owner's language, "en" or "es"
}

// Played is a rehearsal as it went.
type Played struct {
	Rehearsal
	Scenes  []Scene
	Trouble string // what broke it off; "" where it came to its end
}

// The kinds of scenes.
const (
	SceneOwner     = "owner"     // the owner's words
	SceneAssistant = "assistant" // the assistant's
	SceneStaff     = "staff"     // a person's of the shop
	ScenePage      = "page"      // a member of staff is called
	SceneCase      = "case"      // a case for a person is opened
	SceneLog       = "log"       // something is taken down
	SceneExpect    = "expect"    // what the script expects here
)

// Scene is one thing that happened.
type Scene struct {
	At    time.Time // in the owner's own zone
	Kind  string    // one of the above
	Who   string    // SceneStaff, ScenePage: their name
	Texts []string  // what was said or done; of SceneExpect what was expected, one each
	Found string    // SceneExpect: what was found instead; "" where all is as expected
}

// longestPlay is how long a rehearsal may take.
const longestPlay = 10 * time.Second

// rehearsalsView lists the rehearsals.
type rehearsalsView struct {
	Find  string
	List  []Rehearsal
	Total int
}

func (s *site) rehearsals(g *gin.Context) {
	v := rehearsalsView{Find: shorten(g.Query("find"), 60)}
	if s.Rehearser != nil {
		all := s.Rehearser.Rehearsals()
		v.Total = len(all)
		for _, r := range all {
			if hasAll(r.Name+" "+r.About+" "+languageWords(r.Lang), v.Find) {
				v.List = append(v.List, r)
			}
		}
	}
	s.show(g, http.StatusOK, rehearsalsPage, s.tool(g, "Rehearsals", v))
}

// hasAll tells whether each word of a query occurs in a text, without regard to case.
func hasAll(text, query string) bool {
	text = strings.ToLower(text)
	for _, word := range strings.Fields(strings.ToLower(query)) {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

// playedView is a rehearsal as it is read.
type playedView struct {
	Played
	Scenes       []sceneView
	Held, Failed int
}

type sceneView struct {
	Scene
	Clock string // "" where it is the same as before
	Later string // how much time went by before it; "" for little
	Head  string
	Class string
}

func (s *site) rehearsal(g *gin.Context) {
	if s.Rehearser == nil {
		s.problem(g, http.StatusNotFound, "This server has no rehearsals.")
		return
	}
	ctx, done := context.WithTimeout(g.Request.Context(), longestPlay)
	defer done()
	played, err := s.Rehearser.Play(ctx, g.Query("name"))
	switch {
	case errors.Is(err, ErrNoRehearsal):
		s.problem(g, http.StatusNotFound, "There is no rehearsal of that name.")
		return
	case errors.Is(err, context.DeadlineExceeded):
		s.problem(g, http.StatusServiceUnavailable, "Others are playing rehearsals. Try again in a moment.")
		return
	case err != nil:
		s.failed(g, "play a rehearsal", err)
		return
	}
	s.show(g, http.StatusOK, playedPage, s.tool(g, "Rehearsal", newPlayed(played)))
}

func newPlayed(p Played) playedView {
	v := playedView{Played: p}
	var last time.Time
	for _, scene := range p.Scenes {
		sv := sceneView{Scene: scene, Clock: scene.At.Format("Mon 3:04 pm")}
		if !last.IsZero() {
			if sv.Clock == last.Format("Mon 3:04 pm") {
				sv.Clock = ""
			}
			if gap := scene.At.Sub(last); gap >= 5*time.Minute {
				sv.Later = span(gap) + " later"
			}
		}
		last = scene.At
		sv.Head, sv.Class = scene.words()
		if scene.Kind == SceneExpect && scene.Found == "" {
			v.Held++
		} else if scene.Kind == SceneExpect {
			v.Failed++
		}
		v.Scenes = append(v.Scenes, sv)
	}
	return v
}

// words name who speaks in a scene, and the class of its line as in a conversation.
func (s *Scene) words() (head, class string) {
	switch s.Kind {
	case SceneOwner:
		return "Owner", "line-in"
	case SceneAssistant:
		return "Tub helper", "line-out"
	case SceneStaff:
		return s.Who, "line-staff"
	case ScenePage:
		return "Call to " + s.Who, "line-page"
	case SceneCase:
		return "For a person", "line-note"
	case SceneExpect:
		if s.Found != "" {
			return "Not as expected", "expect failed"
		}
		return "As expected", "expect"
	}
	return "Taken down", "line-note"
}
