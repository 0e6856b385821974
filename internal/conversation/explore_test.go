package conversation_test

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// decider is what is explored: the world, or the world with a fault put into it.
type decider func(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects)

// texts is what the explored owner can say, one wording for each thing that can be meant.
// The understanding of many wordings is measured elsewhere.
var texts = []string{
	"flush my pipes", "done", "yes", "no", "1", "2", "3", "375 gallons", "4 7.4 100 100", "1 8.0 100 100", "15 7.4 100 100",
	"too much foam", "it won't come off, it has set hard", "no water comes out of the jets", "go back", "can't finish today",
	"I used the wrong product", "there is a leak under the tub", "I want to talk to a person", "STOP", "START", "blargh",
	"the water is cloudy", "4 7.4 100 108",
}

// brief is enough to get everywhere once.
var brief = []string{"flush my pipes", "done", "yes", "no", "1", "375 gallons", "4 7.4 100 100", "15 7.4 100", "STOP", "I want to talk to a person"}

// dangers are hazards by severity, in one wording each.
var dangers = map[string]safety.Severity{
	"she can't breathe, there was a cloud of gas when he poured it": safety.Emergency,
	"it splashed in my eyes and it burns":                           safety.Emergency,
	"my son drank some of the granules":                             safety.Emergency,
	"I got an electric shock from the water":                        safety.Emergency,
	"he is unconscious in the tub":                                  safety.Emergency,
	"her hair is stuck in the drain and she can't get loose":        safety.Emergency,
	"the control panel is on fire":                                  safety.Emergency,
	"I don't want to live anymore":                                  safety.Emergency,
	"I mixed the chlorine with the acid by mistake":                 safety.PersonSoon,
	"we all got a rash after soaking":                               safety.PersonSoon,
	"the drain cover is broken":                                     safety.PersonSoon,
	"the breaker trips again every time I switch the tub on":        safety.PersonSoon,
	"my wife got too hot in the tub, she is confused and fainted":   safety.Emergency,
	"my toddler fell in the tub":                                    safety.Emergency,
	"I am pregnant, is it ok for me to use the tub":                 safety.PersonSoon,
	"water temp 110 F":                                              safety.PersonSoon,
}

// dangersInSpanish are the same hazards as a Spanish owner tells them.
var dangersInSpanish = map[string]safety.Severity{
	"no puedo respirar, salió un gas cuando eché el producto":     safety.Emergency,
	"me cayó cloro en los ojos y me arde mucho":                   safety.Emergency,
	"mi hijo se tragó unos granulos de cloro":                     safety.Emergency,
	"me dio un toque eléctrico al tocar el agua":                  safety.Emergency,
	"mi esposo está inconsciente en la tina":                      safety.Emergency,
	"se le atoró el pelo en el desagüe y no se puede soltar":      safety.Emergency,
	"sale humo de la tina, hay fuego en el panel":                 safety.Emergency,
	"ya no quiero vivir":                                          safety.Emergency,
	"mezclé el cloro con el ácido por error":                      safety.PersonSoon,
	"a todos nos dio sarpullido después de usar la tina":          safety.PersonSoon,
	"la tapa del desagüe está rota":                               safety.PersonSoon,
	"el breaker se baja cada vez que prendo la tina":              safety.PersonSoon,
	"mi esposa se acaloró mucho en la tina y está muy confundida": safety.Emergency,
	"mi niño chiquito se cayó en la tina":                         safety.Emergency,
	"estoy embarazada, ¿puedo usar la tina?":                      safety.PersonSoon,
	"temperatura del agua 110 F":                                  safety.PersonSoon,
}

// textsInSpanish are what the explored owner can say in Spanish.
var textsInSpanish = []string{
	"LAVADO", "listo", "si", "no", "1", "2", "3", "1400 litros", "4 7.4 100 100", "1 8.0 100 100", "15 7.4 100 100",
	"sale mucha espuma", "no sale agua por los jets", "regresar", "no puedo terminar hoy", "hay una fuga debajo de la tina",
	"quiero hablar con una persona", "ALTO", "INICIO", "el agua se ve turbia",
}

// place is what tells one situation of a conversation from another.
func place(c *conversation.Conversation, now time.Time) string {
	hold := "free"
	if c.Hold != nil {
		hold = "held"
		if c.Hold.By != "" {
			hold = "taken"
		}
	}
	s := c.Service
	if s == nil {
		return fmt.Sprint("nothing ", hold, c.OptedOut, c.Tub.VolumeUSGal > 0, c.Tub.Sanitizer)
	}
	caller := ""
	if s.Caller != nil {
		caller = s.Caller.Flow + "/" + s.Caller.State
	}
	fresh := 0
	for _, m := range c.Tub.Readings {
		if now.Sub(m.At) <= 2*time.Hour && !m.At.Before(c.Tub.LastAddition.Add(15*time.Minute)) {
			fresh++
		}
	}
	facts := slices.Sorted(maps.Keys(s.Facts))
	return fmt.Sprint(s.Flow, "/", s.State, " ", caller, hold, c.OptedOut, c.Tub.VolumeUSGal > 0, c.Tub.Sanitizer, facts,
		len(s.Advised), len(s.Added), min(s.Rounds, 2), fresh > 0, c.Asked.Kind)
}

// explored is what an exploration came to.
type explored struct {
	say                    []string
	fear                   map[string]safety.Severity
	delicate               map[string][]string
	places, turns, dangers int
	steps                  map[string]int // flows' states gone on from, and how often
	faults                 []string
}

// node is a situation with one way to get there.
type node struct {
	walk walk
	path []string
}

// explore goes to every place that can be reached, and in each tries every danger.
func explore(w *conversation.World, decide decider, say []string, limit int) explored {
	first := newWalk(w)
	first.decide = decide
	return exploreFrom(first, say, dangers, limit)
}

// exploreFrom explores all that follows from a beginning.
func exploreFrom(first *walk, say []string, fear map[string]safety.Severity, limit int) explored {
	e := explored{say: say, fear: fear, delicate: delicate(first.w)}
	seen := map[string]bool{place(&first.c, first.now): true}
	frontier := []node{{walk: *first}}
	e.steps = make(map[string]int)
	for len(frontier) > 0 && e.places < limit && len(e.faults) == 0 {
		i := e.rarest(frontier)
		n := frontier[i]
		frontier = slices.Delete(frontier, i, i+1)
		e.steps[stepOf(&n)]++
		e.places++
		e.tryDangers(n)
		e.tryHandBacks(n)
		for _, next := range e.successors(n) {
			e.turns++
			if fault := faultOf(&n.walk, &next.walk); fault != "" {
				e.faults = append(e.faults, fault+": "+strings.Join(next.path, " > "))
			}
			if key := place(&next.walk.c, next.walk.now); !seen[key] {
				seen[key] = true
				frontier = append(frontier, next)
			}
		}
	}
	return e
}

// stepOf names the flow's state that a situation is in.
func stepOf(n *node) string {
	s := n.walk.c.Service
	if s == nil {
		return ""
	}
	return s.Flow + "/" + s.State
}

// rarest finds the situation whose step was gone on from least often, the oldest of
// those: so that a bounded exploration gets to the end of a service, and does not spend
// itself on the side ways of its first steps.
func (e *explored) rarest(frontier []node) int {
	best := 0
	for i := range frontier {
		if e.steps[stepOf(&frontier[i])] < e.steps[stepOf(&frontier[best])] {
			best = i
		}
	}
	return best
}

// successors are all that can happen next.
func (e *explored) successors(n node) []node {
	var out []node
	add := func(what string, do func(k *walk)) {
		k := n.walk
		k.pending = slices.Clone(k.pending)
		k.out, k.fx = nil, conversation.Effects{}
		do(&k)
		out = append(out, node{walk: k, path: append(slices.Clone(n.path), what)})
	}
	for _, text := range e.say {
		add(text, func(k *walk) { k.text(text) })
	}
	if len(n.walk.pending) > 0 {
		add("time passes", func(k *walk) { k.fire() })
	}
	add("half an hour", func(k *walk) { k.now = k.now.Add(30 * time.Minute); k.text("4 7.4 100 100") })
	for _, act := range []string{conversation.Claim, conversation.HandBack, conversation.CloseIt} {
		if len(n.walk.c.Open) > 0 || n.walk.c.Hold != nil {
			add("staff "+act, func(k *walk) {
				k.do(conversation.Event{Kind: conversation.StaffAct, Staff: conversation.StaffAction{Act: act, By: "dana"}})
			})
		}
	}
	return out
}

// tryHandBacks hands the conversation back at every step that doses or lets people soak,
// and hears what the owner may say to that. Where that leads is not gone on from: staff
// may choose anything, which would have no end.
func (e *explored) tryHandBacks(n node) {
	s := n.walk.c.Service
	if s == nil || len(n.walk.c.Open) == 0 && n.walk.c.Hold == nil {
		return
	}
	for _, state := range e.delicate[s.Flow] {
		k := n.walk
		k.pending = slices.Clone(k.pending)
		before := k
		for _, what := range []string{"", "done", "yes"} {
			if what == "" {
				k.do(conversation.Event{Kind: conversation.StaffAct, Staff: conversation.StaffAction{Act: conversation.HandBack, By: "dana", State: state}})
			} else {
				k.text(what)
			}
			e.turns++
			if fault := faultOf(&before, &k); fault != "" {
				e.faults = append(e.faults, fault+": "+strings.Join(append(slices.Clone(n.path), "staff hand back at "+state, what), " > "))
			}
			before = k
		}
	}
}

// delicate lists, for each flow, the steps that dose or let people soak.
func delicate(w *conversation.World) map[string][]string {
	all := map[string][]string{}
	for _, name := range w.Flows().Names() {
		f, _ := w.Flows().Flow(name)
		for _, s := range f.States {
			if s.Dose != "" || s.Soakable {
				all[name] = append(all[name], s.Name)
			}
		}
	}
	return all
}

func (e *explored) tryDangers(n node) {
	for text, severity := range e.fear {
		k := n.walk
		k.pending = slices.Clone(k.pending)
		k.text(text)
		e.dangers++
		if fault := dangerFault(&n.walk, &k, severity); fault != "" {
			e.faults = append(e.faults, fault+": "+strings.Join(append(slices.Clone(n.path), text), " > "))
		}
	}
}

// dangerFault says what is wrong with the answer to a danger.
func dangerFault(before, k *walk, severity safety.Severity) string {
	said := k.said()
	answered := severity == safety.Emergency || !before.c.OptedOut
	// Told in this turn, or being told already, or a person has it.
	paged := before.c.Danger != nil && len(before.c.Pages) > 0 || before.c.Hold != nil && before.c.Hold.By != "" ||
		slices.ContainsFunc(k.fx.Lines, func(l conversation.Line) bool { return l.Class == conversation.ClassPage })
	opened := slices.ContainsFunc(k.fx.Handovers, func(h conversation.Handover) bool {
		return safety.Severity(h.Severity).Rank() >= severity.Rank()
	})
	switch {
	case answered && said == "":
		return "no safety text"
	case severity == safety.Emergency && !strings.Contains(said, "911") && !strings.Contains(said, "988"):
		return "no emergency number in " + said
	case strings.Contains(said, "DONE") || strings.Contains(said, "LISTO") || strings.Contains(said, "teaspoon") || strings.Contains(said, "cucharadita"):
		return "a service step in the safety text " + said
	case !opened:
		return "no handover"
	case severity == safety.Emergency && !paged:
		return "nobody was paged"
	case k.c.Hold == nil:
		return "the service goes on"
	}
	return ""
}

// faultOf says what is wrong with a turn.
func faultOf(before, after *walk) string {
	said := after.said()
	c := &after.c
	switch {
	case cleared(said) && !fitToSoak(c, after.now):
		return "soaking without fresh readings in range"
	case cleared(said) && (!c.Tub.Cloudy.IsZero() || !c.Tub.Ill.IsZero()):
		return "soaking in cloudy water, or where somebody fell ill"
	case before.c.OptedOut && c.OptedOut && said != "" && after.out[0].Class != conversation.ClassSafety:
		return "said after an opt-out: " + said
	case !before.c.OptedOut && c.OptedOut && len(after.out) > 1:
		return "more than one confirmation: " + said
	case advised(after) && unsafe(c, after.now):
		return "a dose in the band of a person: " + said
	case advised(after) && c.Tub.VolumeUSGal <= 0:
		return "a dose for an unknown volume: " + said
	case before.c.Hold != nil && before.c.Hold.By != "" && c.Hold != nil && c.OptedOut == before.c.OptedOut && said != "" && after.heard() && c.Danger == before.c.Danger:
		return "spoke while a person has the conversation: " + said
	}
	return ""
}

func cleared(said string) bool {
	return strings.Contains(said, "You can soak") || strings.Contains(said, "Ya pueden entrar")
}

func advised(k *walk) bool {
	return slices.ContainsFunc(k.fx.Log, func(l conversation.LogEntry) bool { return l.Kind == "advised" })
}

// fitToSoak judges anew what the conversation holds, without the code under test.
func fitToSoak(c *conversation.Conversation, now time.Time) bool {
	spans := map[understand.Quantity][2]float64{"free_chlorine_ppm": {3, 5}, "ph": {7, 7.8}, "water_temp_f": {32, 104}}
	if c.Tub.Sanitizer == "bromine" {
		delete(spans, "free_chlorine_ppm")
		spans["bromine_ppm"] = [2]float64{4, 6}
	}
	for q, span := range spans {
		m, ok := c.Tub.Readings[q]
		if !ok || now.Sub(m.At) > 2*time.Hour || m.At.Before(c.Tub.LastAddition) || m.Value.Low < span[0] || m.Value.High > span[1] {
			return false
		}
	}
	return true
}

// unsafe finds a fresh reading of this water that is a person's.
func unsafe(c *conversation.Conversation, now time.Time) bool {
	m, ok := c.Tub.Readings["free_chlorine_ppm"]
	return ok && now.Sub(m.At) <= 2*time.Hour && m.At.After(c.Tub.Changed) && m.Value.High > 10
}

// TestEveryPlaceIsSafe explores and prints how far it got.
func TestEveryPlaceIsSafe(t *testing.T) {
	w := world(t)
	limit := 200
	if os.Getenv("TUBHAND_EXPLORE") == "all" {
		limit = 1 << 30
	}
	e := explore(w, w.Decide, texts, limit)
	t.Logf("explored %d places at %d steps, %d turns between them, %d dangers in them", e.places, len(e.steps), e.turns, e.dangers)
	require.Empty(t, e.faults)
	require.Greater(t, len(e.steps), 40)
}

// TestEveryPlaceIsSafeInSpanish explores what a Spanish owner can do.
func TestEveryPlaceIsSafeInSpanish(t *testing.T) {
	w := world(t)
	limit := 110
	if os.Getenv("TUBHAND_EXPLORE") == "all" {
		limit = 1 << 30
	}
	first := newWalk(w)
	first.c.Owner.Language = "es"
	e := exploreFrom(first, textsInSpanish, dangersInSpanish, limit)
	t.Logf("explored %d places at %d steps, %d turns between them, %d dangers in them", e.places, len(e.steps), e.turns, e.dangers)
	require.Empty(t, e.faults)
	require.Greater(t, len(e.steps), 40)
}

// TestTheExplorationFindsFaults puts one fault at a time into the world: each must be found.
func TestTheExplorationFindsFaults(t *testing.T) {
	w := world(t)
	sound := explore(w, w.Decide, brief, 150)
	require.Empty(t, sound.faults, "the world has a fault of its own, so that nothing is shown")
	for name, break1 := range map[string]func(before conversation.Conversation, ev conversation.Event, c *conversation.Conversation, fx *conversation.Effects){
		"an emergency in one state reaches nobody": func(before conversation.Conversation, ev conversation.Event, c *conversation.Conversation, fx *conversation.Effects) {
			if before.Service != nil && before.Service.State == "wipe" {
				fx.Handovers = nil
			}
		},
		"an emergency pages nobody once the shop knows the tub": func(before conversation.Conversation, _ conversation.Event, _ *conversation.Conversation, fx *conversation.Effects) {
			if before.Tub.VolumeUSGal > 0 {
				fx.Lines = slices.DeleteFunc(fx.Lines, func(l conversation.Line) bool { return l.Class == conversation.ClassPage })
			}
		},
		"soaking is allowed when the heat-up ends": func(before conversation.Conversation, ev conversation.Event, _ *conversation.Conversation, fx *conversation.Effects) {
			if before.Service != nil && before.Service.State == "heating" && ev.Kind == conversation.ReminderDue {
				fx.Lines = append(fx.Lines, conversation.Line{Send: true, Direction: conversation.Out, Text: "It is warm. You can soak."})
			}
		},
		"staff can hand back to soaking": func(_ conversation.Conversation, ev conversation.Event, _ *conversation.Conversation, fx *conversation.Effects) {
			if ev.Staff.State == "soak_ok" {
				fx.Lines = append(fx.Lines, conversation.Line{Send: true, Direction: conversation.Out, Text: "You can soak."})
			}
		},
		"an opt-out is confirmed twice": func(before conversation.Conversation, _ conversation.Event, c *conversation.Conversation, fx *conversation.Effects) {
			if !before.OptedOut && c.OptedOut && before.Service != nil {
				fx.Lines = append(fx.Lines, conversation.Line{Send: true, Direction: conversation.Out, Class: conversation.ClassOptOut, Text: "Sorry to see you go."})
			}
		},
		"a safety text goes on with the service": func(before conversation.Conversation, _ conversation.Event, c *conversation.Conversation, fx *conversation.Effects) {
			if before.Danger == nil && c.Danger != nil && before.Service != nil {
				fx.Lines = append(fx.Lines, conversation.Line{Send: true, Direction: conversation.Out, Text: "Reply DONE when it is in."})
			}
		},
		"a danger does not hold the service": func(before conversation.Conversation, _ conversation.Event, c *conversation.Conversation, _ *conversation.Effects) {
			if before.Danger == nil && c.Danger != nil && before.Service != nil {
				c.Hold = nil
			}
		},
		"a volume is guessed": func(before conversation.Conversation, ev conversation.Event, c *conversation.Conversation, fx *conversation.Effects) {
			if before.Service != nil && before.Service.State == "volume" && ev.Text == "done" {
				fx.Log = append(fx.Log, conversation.LogEntry{Kind: "advised", Name: "flush_product", Dose: &conversation.Dose{}})
			}
		},
		"soaking is allowed in cloudy water": func(before conversation.Conversation, ev conversation.Event, _ *conversation.Conversation, fx *conversation.Effects) {
			if before.Service != nil && before.Service.State == "clear" && ev.Text == "no" {
				fx.Lines = append(fx.Lines, conversation.Line{Send: true, Direction: conversation.Out, Text: "You can soak."})
			}
		},
		"a reminder goes out after an opt-out": func(before conversation.Conversation, ev conversation.Event, c *conversation.Conversation, fx *conversation.Effects) {
			if before.OptedOut && c.OptedOut && ev.Kind == conversation.StaffAct {
				fx.Lines = append(fx.Lines, conversation.Line{Send: true, Direction: conversation.Out, Text: "Still there?"})
			}
		},
		"a dose follows an unsafe reading": func(before conversation.Conversation, ev conversation.Event, _ *conversation.Conversation, fx *conversation.Effects) {
			if strings.HasPrefix(ev.Text, "15 ") && before.Service != nil && before.Service.State == "strip" {
				fx.Log = append(fx.Log, conversation.LogEntry{Kind: "advised", Name: "balance", Dose: &conversation.Dose{}})
			}
		},
		"the assistant talks while a person has it": func(before conversation.Conversation, ev conversation.Event, c *conversation.Conversation, fx *conversation.Effects) {
			if before.Hold != nil && before.Hold.By != "" && ev.Text == "done" {
				fx.Lines = append(fx.Lines, conversation.Line{Send: true, Direction: conversation.Out, Text: "Good."})
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			broken := func(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
				next, fx := w.Decide(c, ev, now)
				break1(c, ev, &next, &fx)
				return next, fx
			}
			e := explore(w, broken, brief, 3000)
			require.NotEmpty(t, e.faults, "the fault was not found in %d places", e.places)
			t.Logf("found after %d places: %s", e.places, e.faults[0])
		})
	}
}
