package console

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/flow"
)

// flowsView lists what can be run.
type flowsView struct{ Services, Troubles []flowLine }

// flowLine is a flow in one line.
type flowLine struct{ Name, Title, About string }

func (s *site) flowList(g *gin.Context) {
	var v flowsView
	for _, name := range s.Flows.Names() {
		f, _ := s.Flows.Flow(name)
		line := flowLine{Name: name, Title: f.Title, About: flowAbout(f)}
		if f.Kind == flow.TroubleKind {
			v.Troubles = append(v.Troubles, line)
		} else {
			v.Services = append(v.Services, line)
		}
	}
	s.show(g, http.StatusOK, flowsPage, s.tool(g, "Services", v))
}

// flowAbout tells in a line what a flow is like: how long, how it begins, what it doses and
// when a person is called.
func flowAbout(f *flow.Flow) string {
	about := plural(len(f.States), "step", "steps")
	if start, ok := f.State(f.Start); ok {
		if asks := askWords(start.Ask); asks != "" {
			about += ", begins with a question: " + asks
		} else {
			about += ", begins with " + lower(plain(start.Name))
		}
	}
	if doses := flowDoses(f); len(doses) > 0 {
		about += "; advises " + strings.Join(doses, ", ")
	}
	if n := len(flowCauses(f)); n > 0 {
		about += "; " + plural(n, "reason", "reasons") + " to call a person"
	}
	return about
}

func flowDoses(f *flow.Flow) (doses []string) {
	for _, s := range f.States {
		if d := lower(plain(s.Dose)); d != "" && !slices.Contains(doses, d) {
			doses = append(doses, d)
		}
	}
	return doses
}

// flowCauses lists why a flow calls a person, sorted.
func flowCauses(f *flow.Flow) (causes []string) {
	add := func(ways []flow.Transition) {
		for i := range ways {
			if h := ways[i].HandOver; h != nil {
				causes = append(causes, h.Cause)
			}
		}
	}
	add(f.Always)
	for _, s := range f.States {
		add(s.Skip)
		add(s.On)
		for i := range s.Timers {
			if h := s.Timers[i].HandOver; h != nil {
				causes = append(causes, h.Cause)
			}
		}
		if silence := f.SilenceOf(s); silence != nil && silence.Cause != "" {
			causes = append(causes, silence.Cause)
		}
	}
	slices.Sort(causes)
	return slices.Compact(causes)
}

// flowView is one flow: its picture and the same in words.
type flowView struct {
	Name, Title, About string
	Trouble            bool
	Causes             []string
	Always             []wayView
	States             []stateOutline
}

// stateOutline is one step of a flow in words.
type stateOutline struct {
	Name, Words, Step string
	Asks, Advises     string
	Tub               string
	Silence           string
	Start, End, Soak  bool
	Skips, Ways       []wayView
}

// wayView is one way on: what leads there, what happens on it.
type wayView struct {
	When, If, Then string
	To, ToWords    string // "": it stays
}

func (s *site) flowPage(g *gin.Context) {
	f, ok := s.Flows.Flow(g.Query("name"))
	if !ok {
		s.problem(g, http.StatusNotFound, "There is no service of that name.")
		return
	}
	v := flowView{Name: f.Name, Title: f.Title, About: flowAbout(f), Trouble: f.Kind == flow.TroubleKind, Always: s.ways(f.Always)}
	for _, cause := range flowCauses(f) {
		v.Causes = append(v.Causes, plain(cause))
	}
	for _, state := range f.States {
		v.States = append(v.States, s.outline(f, state))
	}
	s.show(g, http.StatusOK, flowPage, s.tool(g, f.Title, v))
}

func (s *site) outline(f *flow.Flow, state *flow.State) stateOutline {
	o := stateOutline{
		Name: state.Name, Words: plain(state.Name), Asks: askWords(state.Ask), Advises: lower(plain(state.Dose)),
		Start: state.Name == f.Start, End: state.End, Soak: state.Soakable,
		Skips: s.ways(state.Skip), Ways: s.ways(state.On), Tub: tubWords(state.Tub),
	}
	if state.Step != "" {
		o.Step = stepWords(state.Step)
	}
	for i := range state.Timers {
		w := s.way(&state.Timers[i].Transition)
		w.When = timerWords(&state.Timers[i])
		o.Ways = append(o.Ways, w)
	}
	if silence := f.SilenceOf(state); silence != nil && !state.End {
		o.Silence = silenceWords(silence)
	}
	return o
}

func (s *site) ways(list []flow.Transition) (out []wayView) {
	for i := range list {
		out = append(out, s.way(&list[i]))
	}
	return out
}

func (s *site) way(t *flow.Transition) wayView {
	w := wayView{When: plain(t.When), To: t.To, ToWords: plain(t.To)}
	if t.If != nil {
		w.If = strings.ReplaceAll(t.If.String(), "_", " ")
	}
	var then []string
	if t.Added != "" {
		then = append(then, "takes down that the "+lower(plain(t.Added))+" went in")
	}
	if t.HandOver != nil {
		then = append(then, "calls a person: "+lower(plain(t.HandOver.Cause))+", "+lower(severityWords(t.HandOver.Severity)))
	}
	if t.Call != "" {
		title := plain(t.Call)
		if f, ok := s.Flows.Flow(t.Call); ok {
			title = f.Title
		}
		then = append(then, "first deals with: "+lower(title))
	}
	if t.To == "" && len(then) == 0 {
		then = append(then, "answers and stays here")
	}
	w.Then = strings.Join(then, "; ")
	return w
}

// askWords tells what a step asks for; "" where it asks nothing.
func askWords(a flow.Ask) string {
	switch {
	case a.Done:
		return "done?"
	case a.YesNo:
		return "yes or no"
	case a.Volume:
		return "how much water the tub holds"
	case a.Time:
		return "a time"
	case len(a.Readings) > 0:
		return "a test: " + listWords(a.Readings)
	case len(a.Choice) > 0:
		return "one of " + listWords(a.Choice)
	}
	return ""
}

func listWords(names []string) string {
	out := make([]string, len(names))
	for i, name := range names {
		base, optional := strings.CutSuffix(name, "?")
		out[i] = strings.TrimSuffix(strings.ReplaceAll(base, "_", " "), " ppm")
		if optional {
			out[i] += " (may be left out)"
		}
	}
	return strings.Join(out, ", ")
}

func timerWords(t *flow.Timer) string {
	after := strings.ReplaceAll(t.After, "_", " ")
	if d, ok := t.Fixed(); ok {
		after = span(d)
	}
	if t.From != "" {
		after += " after " + strings.ReplaceAll(t.From, "_", " ")
	}
	return "When the wait is over (" + after + ")"
}

func silenceWords(silence *flow.Silence) string {
	var nudges []string
	for _, n := range silence.Nudge {
		nudges = append(nudges, span(time.Duration(n)))
	}
	words := ""
	if len(nudges) > 0 {
		words = "asks again after " + strings.Join(nudges, ", ") + "; "
	}
	return words + fmt.Sprintf("after %s a person looks", span(time.Duration(silence.Person)))
}

func tubWords(t flow.Tub) string {
	var parts []string
	for _, p := range [...][2]string{{"power", t.Power}, {"water", t.Water}, {"filters", t.Filters}} {
		if p[1] != "" && p[1] != "same" {
			parts = append(parts, p[0]+" "+strings.ReplaceAll(p[1], "_", " "))
		}
	}
	if t.Product == "in" {
		parts = append(parts, "flush product in the water")
	}
	return strings.Join(parts, ", ")
}

// lower makes the first letter small, but for names such as pH and words in capitals.
func lower(words string) string {
	if len(words) < 2 || words[1] >= 'A' && words[1] <= 'Z' {
		return words
	}
	return strings.ToLower(words[:1]) + words[1:]
}

// picturePolicy lets a drawing carry the style that it is drawn with, and nothing else: it
// is shown as a picture, which runs and loads nothing.
const picturePolicy = "default-src 'none'; style-src 'unsafe-inline'; sandbox"

// flowPicture draws a flow, with the state named by "here" marked.
func (s *site) flowPicture(g *gin.Context) {
	f, ok := s.Flows.Flow(g.Query("name"))
	if !ok {
		s.problem(g, http.StatusNotFound, "There is no service of that name.")
		return
	}
	g.Header("Content-Security-Policy", picturePolicy)
	g.Data(http.StatusOK, "image/svg+xml", []byte(flow.SVG(f, g.Query("here"))))
}

// tool is the frame of a page that stands still, with the style of the pages that show
// what the shop has and does.
func (s *site) tool(g *gin.Context, title string, page any) frame {
	f := s.frame(g, title, page)
	f.Live, f.Sheet = "", s.Asset(s.base, "tools.css")
	return f
}
