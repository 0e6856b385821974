package conversation

import (
	"strconv"
	"strings"
	"time"
)

// dayHour is what an owner named for a job: a day, an hour, or both.
type dayHour struct {
	day    time.Time // midnight on the owner's clock; zero: none was named
	minute int       // after midnight; -1: none was named
}

// furthest is how far ahead a job can be planned. Our decision.
const furthest = 200

// readDayHour reads a text that names a day, an hour or both and says nothing else, in
// English or Spanish: "Saturday 10", "move to Sunday at 9:30", "el 20 de junio a las 10". A
// word that belongs to neither makes it no such text. Local is now on the owner's clock.
// Where "6/7" can be either, the month comes first as in the United States.
func readDayHour(text string, local time.Time) (dayHour, bool) {
	r := dayReader{tokens: dayTokens(text), now: local, found: dayHour{minute: -1}, half: unsaid}
	if len(r.tokens) == 0 || len(r.tokens) > 16 {
		return dayHour{}, false
	}
	for r.at < len(r.tokens) {
		before := r.at
		for _, try := range []func() bool{r.weekday, r.relative, r.span, r.date, r.slashed, r.dayPart, r.hour, r.filler} {
			if try() {
				break
			}
		}
		if r.at == before {
			return dayHour{}, false
		}
	}
	return r.settle()
}

// dayReader goes through the words of a text.
type dayReader struct {
	tokens  []string
	at      int
	now     time.Time
	found   dayHour
	name    int // the day of the week, from 1; 0: none was named
	clash   bool
	half    half
	usually int // the hour of a part of the day that was named without one
}

// half is the half of the day that an hour is of.
type half int

const (
	unsaid half = iota
	am
	pm
)

// dayTokens parts a text into words, numbers and signs between numbers, in small letters
// and without accents, but for ñ.
func dayTokens(text string) []string {
	if len(text) > 120 {
		return nil
	}
	text = strings.NewReplacer("a.m.", "am", "p.m.", "pm", "a. m.", "am", "p. m.", "pm").Replace(unaccented.Replace(strings.ToLower(text)))
	var out []string
	kind := 0 // of the character before: 1 letter, 2 digit
	for _, c := range text {
		is := 0
		switch {
		case c >= 'a' && c <= 'z' || c == 'ñ' || c == '\'':
			is = 1
		case c >= '0' && c <= '9' || (c == ':' || c == '/') && kind == 2:
			is = 2
		case strings.ContainsRune(" ,.!?¡¿-\n\t", c):
		default:
			return nil
		}
		switch {
		case is == 0:
		case is == kind:
			out[len(out)-1] += string(c)
		default:
			out = append(out, string(c))
		}
		kind = is
	}
	return out
}

// word gives a token relative to where the reader is; "" beyond the ends.
func (r *dayReader) word(ahead int) string {
	if i := r.at + ahead; i >= 0 && i < len(r.tokens) {
		return r.tokens[i]
	}
	return ""
}

// number gives a plain number of one or two digits.
func (r *dayReader) number(ahead int) (int, bool) {
	w := r.word(ahead)
	n, err := strconv.Atoi(w)
	return n, err == nil && len(w) <= 2
}

func (r *dayReader) take(n int) bool { r.at += n; return true }

// on keeps a day; a second one that is another makes the text none.
func (r *dayReader) on(day time.Time) {
	r.clash = r.clash || !r.found.day.IsZero() && !r.found.day.Equal(day)
	r.found.day = day
}

func (r *dayReader) ahead(days int) time.Time {
	return time.Date(r.now.Year(), r.now.Month(), r.now.Day()+days, 0, 0, 0, 0, r.now.Location())
}

func (r *dayReader) weekday() bool {
	n := weekdayNamed(r.word(0))
	if n == 0 {
		return false
	}
	r.clash = r.clash || r.name != 0 && r.name != n
	r.name = n
	return r.take(1)
}

// relative reads days that are told from today.
func (r *dayReader) relative() bool {
	switch r.word(0) {
	case "today", "hoy":
		r.on(r.ahead(0))
	case "tonight":
		r.on(r.ahead(0))
		r.half, r.usually = pm, 18
	case "tomorrow", "tmrw", "tomorow":
		r.on(r.ahead(1))
	case "mañana", "manana":
		if before := r.word(-1); before == "la" {
			return r.part(am, seasonHour)
		}
		r.on(r.ahead(1))
	case "pasado":
		if next := r.word(1); next != "mañana" && next != "manana" {
			return false
		}
		r.on(r.ahead(2))
		return r.take(2)
	default:
		return false
	}
	return r.take(1)
}

func (r *dayReader) part(h half, usually int) bool {
	r.half, r.usually = h, usually
	return r.take(1)
}

// span reads "in 3 days", "en dos semanas", "next week".
func (r *dayReader) span() bool {
	if w := r.word(0); (w == "next" || w == "proxima") && dayUnit(r.word(1)) == 7 {
		r.on(r.ahead(7))
		return r.take(2)
	}
	if w := r.word(0); w != "in" && w != "en" {
		return false
	}
	n, ok := r.number(1)
	if !ok {
		n, ok = map[string]int{"a": 1, "one": 1, "two": 2, "three": 3, "un": 1, "una": 1, "dos": 2, "tres": 3}[r.word(1)], true
	}
	unit := dayUnit(r.word(2))
	if n == 0 || unit == 0 {
		return false
	}
	r.on(r.ahead(n * unit))
	return r.take(3)
}

func dayUnit(word string) int {
	switch word {
	case "day", "days", "dia", "dias":
		return 1
	case "week", "weeks", "semana", "semanas":
		return 7
	}
	return 0
}

// date reads "June 20", "20th of June", "20 de junio", "the 20th", "el dia 20".
func (r *dayReader) date() bool {
	if month := monthNamed(r.word(0)); month != 0 {
		n, ok := r.number(1)
		return ok && r.dated(month, n, 2+ordinal(r.word(2)))
	}
	n, ok := r.number(0)
	if !ok {
		return false
	}
	long := 1 + ordinal(r.word(1))
	of := long
	if w := r.word(of); w == "de" || w == "of" {
		of++
	}
	if month := monthNamed(r.word(of)); month != 0 {
		return r.dated(month, n, of+1)
	}
	if before := r.word(-1); long == 2 || before == "the" || before == "dia" || before == "el" {
		return r.dated(0, n, long)
	}
	return false
}

func ordinal(word string) int {
	switch word {
	case "st", "nd", "rd", "th":
		return 1
	}
	return 0
}

// dated keeps a day of a month: of the named one, or of the next that has it to come.
func (r *dayReader) dated(month time.Month, n, long int) bool {
	for ahead := range 13 {
		day := time.Date(r.now.Year(), r.now.Month()+time.Month(ahead), n, 0, 0, 0, 0, r.now.Location())
		if day.Day() == n && n > 0 && !day.Before(r.ahead(0)) && (month == 0 || day.Month() == month) {
			r.on(day)
			return r.take(long)
		}
	}
	return false
}

// slashed reads "6/20".
func (r *dayReader) slashed() bool {
	first, second, ok := strings.Cut(r.word(0), "/")
	if !ok {
		return false
	}
	a, errA := strconv.Atoi(first)
	b, errB := strconv.Atoi(second)
	if errA != nil || errB != nil {
		return false
	}
	if a > 12 {
		a, b = b, a
	}
	return a >= 1 && a <= 12 && r.dated(time.Month(a), b, 1)
}

// dayPart reads a part of the day.
func (r *dayReader) dayPart() bool {
	switch r.word(0) {
	case "morning", "am":
		return r.part(am, seasonHour)
	case "afternoon", "tarde":
		return r.part(pm, 14)
	case "evening", "night", "noche":
		return r.part(pm, 18)
	case "pm":
		r.half = pm
		return r.take(1)
	case "noon", "mediodia":
		r.found.minute, r.half = 12*60, unsaid
		return r.take(1)
	}
	return false
}

// hour reads "10", "9:30", "14".
func (r *dayReader) hour() bool {
	h, m, parted := strings.Cut(r.word(0), ":")
	hour, err := strconv.Atoi(h)
	if err != nil || len(h) > 2 || hour > 23 || r.found.minute >= 0 {
		return false
	}
	minute := 0
	if parted {
		if minute, err = strconv.Atoi(m); err != nil || len(m) != 2 || minute > 59 {
			return false
		}
	}
	r.found.minute = hour*60 + minute
	return r.take(1)
}

// filler are the words that stand around a day and an hour and change neither.
func (r *dayReader) filler() bool {
	for _, word := range [...]string{
		"at", "on", "the", "for", "in", "this", "next", "coming", "move", "change", "make", "it", "to", "please", "lets", "let's", "do", "then", "ok", "okay", "sure",
		"how", "about", "maybe", "instead", "is", "good", "works", "fine", "of", "o'clock", "around",
		"a", "las", "la", "el", "de", "del", "en", "por", "para", "este", "esta", "que", "viene", "proximo", "proxima", "mejor", "favor", "dia", "tal", "bueno", "bien",
		"muevalo", "mueva", "cambielo", "cambie", "cambiar", "mover", "paselo", "pase", "pasar", "al", "hrs", "horas", "hora",
	} {
		if r.word(0) == word {
			return r.take(1)
		}
	}
	return false
}

// settle puts what was found together: the day of the week beside a date has to be its own.
func (r *dayReader) settle() (dayHour, bool) {
	f := &r.found
	f.minute = r.minutes()
	if r.name != 0 {
		days := (r.name - 1 - int(r.now.Weekday()) + 7) % 7
		now := r.now.Hour()*60 + r.now.Minute()
		switch {
		case !f.day.IsZero() && int(f.day.Weekday()) != r.name-1:
			r.clash = true
		case f.day.IsZero() && days == 0 && (f.minute < 0 || f.minute <= now):
			r.on(r.ahead(7))
		case f.day.IsZero():
			r.on(r.ahead(days))
		}
	}
	return *f, !r.clash && (!f.day.IsZero() || f.minute >= 0)
}

// minutes is the hour that was meant. Without a half of the day an hour is one at which
// people work at a tub: 8 to 12 in the morning, 1 to 7 in the afternoon. Our decision; it is
// read back to the owner before it counts.
func (r *dayReader) minutes() int {
	m := r.found.minute
	switch {
	case m < 0 && r.usually > 0:
		return r.usually * 60
	case m < 0 || m >= 13*60:
		return m
	case r.half == pm && m < 12*60 || r.half == unsaid && m < 8*60:
		return m + 12*60
	case r.half == am && m >= 12*60:
		return m - 12*60
	}
	return m
}

func weekdayNamed(word string) int {
	names := [...][]string{
		{"sunday", "sun", "domingo", "dom"}, {"monday", "mon", "lunes", "lun"}, {"tuesday", "tue", "tues", "martes"},
		{"wednesday", "wed", "miercoles", "mie"}, {"thursday", "thu", "thur", "thurs", "jueves", "jue"},
		{"friday", "fri", "viernes", "vie"}, {"saturday", "sat", "sabado", "sab"},
	}
	return 1 + indexOfWord(names[:], word)
}

func monthNamed(word string) time.Month {
	names := [...][]string{
		{"january", "jan", "enero"}, {"february", "feb", "febrero"}, {"march", "mar", "marzo"}, {"april", "apr", "abril"}, {"may", "mayo"},
		{"june", "jun", "junio"}, {"july", "jul", "julio"}, {"august", "aug", "agosto"}, {"september", "sep", "sept", "septiembre"},
		{"october", "oct", "octubre"}, {"november", "nov", "noviembre"}, {"december", "dec", "diciembre"},
	}
	return time.Month(1 + indexOfWord(names[:], word))
}

func indexOfWord(names [][]string, word string) int {
	for i, list := range names {
		for _, name := range list {
			if word == name {
				return i
			}
		}
	}
	return -1
}
