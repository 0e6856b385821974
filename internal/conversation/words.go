package conversation

import (
	"math"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// words gathers what texts may need to say now.
func (t *turn) words() *wording.Words {
	shop := &t.w.shop
	w := &wording.Words{
		Shop: shop.Name, Phone: shop.Phone, Name: first(t.c.Owner.Name), Drain: shop.Drain,
		Volume: volumeText(t.c.Tub.VolumeUSGal, t.c.Owner.Metric), Flush: shop.Flush.Name,
		Emergency: safety.LinesFor(t.c.Owner.Region).EmergencyIn(t.language()), Sanitizer: plainName(t.sanitizerQuantity()),
		Person: "someone", Hours: t.hoursText(), Time: strconv.Itoa(len(t.c.Asked.Choices)),
	}
	if dose, err := t.labelDose(); err == nil {
		w.FlushDose, w.JarLeft = spoonsText(dose), spoonsText(dose)
		w.Dose = w.FlushDose
	}
	t.serviceWords(w)
	return w
}

func (t *turn) serviceWords(w *wording.Words) {
	s := t.c.Service
	if s == nil {
		w.Waiting, _ = t.w.words.Say(t.language(), wording.Common, "nothing_running", w)
		return
	}
	if due := t.nextTimer(); !due.IsZero() {
		w.Until, w.Left = t.clock(due), spanText(due.Sub(t.now))
	}
	w.Next = s.Facts["drain_by"]
	w.Missing = t.missing()
	if _, state, ok := t.flow(); ok && state.Dose != "" {
		d := s.Advised[state.Dose]
		w.Product, w.Measure, w.Why = d.Product, d.Measure, d.Why
		if state.Dose == flushDose {
			w.Dose = d.Measure
		}
	}
	if w.Why == "" {
		w.Why = t.plan().why
	}
	w.Summary = t.summary()
	w.Waiting = t.waiting(w)
}

// waiting says which answer is waited for.
func (t *turn) waiting(w *wording.Words) string {
	key := "waiting.nothing"
	switch t.c.Asked.Kind {
	case understand.AskedDone, understand.AskedYesNo, understand.AskedVolume,
		understand.AskedReadings, understand.AskedChoice, understand.AskedConfirm:
		key = "waiting." + string(t.c.Asked.Kind)
	}
	text, _ := t.w.words.Say(t.language(), wording.Common, key, w)
	return text
}

// summary says what the fresh readings amount to.
func (t *turn) summary() string {
	verdict := t.judge()
	var off []string
	for _, f := range verdict.Findings {
		if f.Band == safety.Fix || f.Band == safety.Person {
			off = append(off, f.In(t.language()))
		}
	}
	if len(off) > 2 {
		off = off[:2]
	}
	switch {
	case len(off) > 0:
		return upperFirst(list(off)) + "."
	case verdict.Band == safety.Soak:
		return "All in range."
	}
	return ""
}

// zone is where the owner's clock stands.
func (t *turn) zone() *time.Location { return t.w.zone(t.c.Owner.TimeZone) }

// clock gives a time of day on the owner's clock, with the day where it is not today.
func (t *turn) clock(at time.Time) string {
	local, today := at.In(t.zone()), t.now.In(t.zone())
	text := local.Format("3:04 pm")
	switch days := dayNumber(local) - dayNumber(today); {
	case days == 0:
		return text
	case days == 1:
		return text + " tomorrow"
	}
	return local.Format("Mon 3:04 pm")
}

func dayNumber(at time.Time) int {
	y, m, d := at.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// hoursText tells an owner when a person can be expected.
func (t *turn) hoursText() string {
	if len(t.w.shop.Hours) == 0 {
		return ""
	}
	local := t.now.In(t.w.home)
	minute := local.Hour()*60 + local.Minute()
	for ahead := range 8 {
		day := (int(local.Weekday()) + ahead) % 7
		for _, h := range t.w.shop.Hours {
			if h.Weekday != day || ahead == 0 && minute >= h.Close {
				continue
			}
			if ahead == 0 && minute >= h.Open {
				return "They are open until " + minuteText(h.Close) + "."
			}
			return "They open " + dayText(ahead, time.Weekday(day)) + " at " + minuteText(h.Open) + "."
		}
	}
	return ""
}

func dayText(ahead int, day time.Weekday) string {
	switch ahead {
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	}
	return day.String()
}

func minuteText(minute int) string {
	at := time.Date(2000, 1, 1, minute/60, minute%60, 0, 0, time.UTC)
	if minute%60 == 0 {
		return at.Format("3 pm")
	}
	return at.Format("3:04 pm")
}

// spanText says a duration as people do, rounded up.
func spanText(d time.Duration) string {
	minutes := int(math.Ceil(d.Minutes()))
	switch {
	case minutes <= 1:
		return "1 minute"
	case minutes < 90:
		return strconv.Itoa(minutes) + " minutes"
	}
	return "about " + strings.TrimSuffix(strconv.FormatFloat(math.Round(d.Hours()*2)/2, 'f', 1, 64), ".0") + " hours"
}
