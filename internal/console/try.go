package console

import (
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/understand"
)

// Decider decides a turn and changes nothing, as conversation.World does. The page on
// which a text is tried asks it what would be said.
type Decider interface {
	Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects)
}

// mostTried bounds a text that is tried, in letters: ten texts.
const mostTried = 1600

// triedTub is the tub that a tried text is about: what is said depends on it.
var triedTub = conversation.Tub{VolumeUSGal: 400, VolumeBy: "staff", Sanitizer: "chlorine"}

// tryView is the page on which a text is tried.
type tryView struct {
	Text, Language, At, Asked, Trouble string
	Flows                              []tryFlow
	Kinds                              []option
	Answer                             *tried
}

type tryFlow struct {
	Title  string
	States []option
}

// option is one of a list to choose from.
type option struct{ Value, Words string }

// askedKinds are what can be said to have been asked.
func askedKinds() []option {
	return []option{
		{"", "what the step asks"}, {"readings", "a test"}, {"volume", "how much water"}, {"done", "done?"}, {"yes_no", "yes or no"},
		{"time", "a time"}, {"language", "the language"}, {"nothing", "nothing"},
	}
}

func (s *site) tryPage(g *gin.Context) { s.showTry(g, http.StatusOK, s.newTry(g)) }

// newTry reads the form, and is the empty page where there is none.
func (s *site) newTry(g *gin.Context) tryView {
	v := tryView{Text: g.PostForm("text"), Language: g.PostForm("language"), At: g.PostForm("at"), Asked: g.PostForm("asked"), Kinds: askedKinds()}
	for _, name := range s.Flows.Names() {
		f, _ := s.Flows.Flow(name)
		if f.Kind != flow.ServiceKind {
			continue
		}
		tf := tryFlow{Title: f.Title}
		for _, state := range f.States {
			if !state.End {
				tf.States = append(tf.States, option{f.Name + "/" + state.Name, f.Title + ": " + lower(plain(state.Name))})
			}
		}
		v.Flows = append(v.Flows, tf)
	}
	return v
}

func (s *site) showTry(g *gin.Context, status int, v tryView) {
	s.show(g, status, triedPage, s.tool(g, "Try a text", v))
}

// tryText understands a text and tells what would be said. Nothing is sent or kept.
func (s *site) tryText(g *gin.Context) {
	v := s.newTry(g)
	switch {
	case strings.TrimSpace(v.Text) == "":
		v.Trouble = "Write a text to try."
	case utf8.RuneCountInString(v.Text) > mostTried || !utf8.ValidString(v.Text):
		v.Trouble = "That is too long to be a text: at most 1600 characters."
	case !oneOf(v.Kinds, v.Asked) || v.Language != "" && v.Language != "en" && v.Language != "es" || !v.knows(v.At):
		v.Trouble = "Choose from the lists."
	}
	if v.Trouble != "" {
		s.showTry(g, http.StatusUnprocessableEntity, v)
		return
	}
	v.Answer = s.tried(v)
	s.showTry(g, http.StatusOK, v)
}

func oneOf(list []option, value string) bool {
	for _, o := range list {
		if o.Value == value {
			return true
		}
	}
	return false
}

// knows tells whether a step is on offer; "" is that nothing runs.
func (v *tryView) knows(at string) bool {
	for _, f := range v.Flows {
		if oneOf(f.States, at) {
			return true
		}
	}
	return at == ""
}

// standing is a made-up conversation that stands where the form says.
func (s *site) standing(v tryView, now time.Time) conversation.Conversation {
	const nobody = "+15555550100"
	c := conversation.Conversation{
		Shop: s.Shop.Key, ID: nobody, Tub: triedTub,
		Owner:  conversation.Owner{Language: v.Language, Addresses: []string{nobody}, TimeZone: s.Shop.TimeZone, Region: s.Shop.Region},
		LastIn: now.Add(-time.Minute), LastOut: now.Add(-time.Minute),
	}
	if c.Owner.Language == "" {
		c.Owner.Language = s.Shop.Language
	}
	if name, state, ok := strings.Cut(v.At, "/"); ok {
		c.Service = &conversation.Service{ID: "try", Flow: name, State: state, Started: now.Add(-time.Hour), Since: now.Add(-time.Minute)}
		if s.Decider != nil { // entered as after a hand-back, so that what the step asks is asked
			c, _ = s.Decider.Decide(c, conversation.Event{ID: "try-1", Kind: conversation.StaffAct, Staff: conversation.StaffAction{Act: conversation.HandBack, By: "try"}}, now)
		}
	}
	if v.Asked != "" {
		c.Asked = conversation.Asked{Kind: understand.Asked(v.Asked)}
		if c.Asked.Kind == understand.AskedReadings {
			c.Asked.Readings = []understand.Quantity{understand.FreeChlorine, understand.PH, understand.TotalAlkalinity}
		}
	}
	return c
}

// hearingOf is the context in which a text of the conversation is understood.
func (s *site) hearingOf(c *conversation.Conversation, language string) understand.Context {
	h := understand.Context{Language: language, Asked: c.Asked.Kind, AskedReadings: c.Asked.Readings, Proposed: c.Asked.Proposed}
	if h.Asked == "" {
		h.Asked = understand.AskedNothing
	}
	for _, name := range c.Asked.Choices {
		h.Choices = append(h.Choices, understand.Choice{Name: name})
	}
	if c.Service != nil {
		if f, ok := s.Flows.Flow(c.Service.Flow); ok {
			if state, ok := f.State(c.Service.State); ok {
				h.Step = state.Step
			}
		}
	}
	return h
}
