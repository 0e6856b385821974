package demo

import (
	"strings"
	"time"
)

// Owner is an invented owner and what they texted.
type Owner struct {
	Address string
	Name    string
	About   string // where they stand when the demo opens
	Texts   []Text
}

// Text is one text of an owner's history and when it came in, or what a member of staff
// did then: By is their key and Act what they did.
type Text struct {
	At      time.Time
	By, Act string
	Says    string
}

// Opening is when the demo opens: a Saturday in June, 10:40 at the shop.
func Opening(zone *time.Location) time.Time {
	return time.Date(2026, 6, 13, 10, 40, 0, 0, zone)
}

// Owners gives the invented owners with their histories, as they stand at the opening.
func Owners(zone *time.Location) []Owner {
	open := Opening(zone)
	spring := time.Date(2026, 3, 14, 9, 5, 0, 0, zone)
	return []Owner{
		{"+15415550142", "Ada Lindqvist", "soaking right now", history(open.Add(-27*time.Minute),
			"1m hi, time to flush my pipes", "2m 375 gallons", "1m chlorine", "1m yes", "1m yes", "1m yes", "1m pump", "1m sewer",
			"1m no, a year old", "3m 3 7.4 100", "3m done", "3m done")},
		{"+15415550143", "Walt Greer", "went quiet with the tub half drained", history(open.Add(-100*time.Minute),
			"0m flush my pipes please", "1m 410 gal", "1m chlorine", "1m yes", "1m yes", "1m yes", "1m pump", "1m 1",
			"1m no", "2m 4 7.5 90", "4m done", "2m done", "33m done", "3m done")},
		{"+15415550144", "June Okafor", "waits for a person: a reading that is not right", history(open.Add(-26*time.Minute),
			"0m Hello, I would like to flush the pipes of my tub please", "2m 1400 liters", "1m chlorine", "1m yes", "1m yes", "1m yes", "1m pump", "1m sewer",
			"1m no", "4m 15 7.4 100")},
		{"+15415550145", "Marisol Vega", "finished her flush last spring", wholeFlush(spring)},
		{"+15415550146", "Theo Brandt", "tub is full again and heating up", history(open.Add(-5*time.Hour),
			"0m I want to flush my pipes", "1m 320", "1m bromine", "1m yes", "1m yes", "1m yes", "1m pump", "1m sewer", "1m yes, brand new",
			"2m 5 7.4 100", "5m done", "2m done", "33m done", "3m done", "9m done", "2m no", "35m done", "8m done", "5m done",
			"58m done", "4m done", "2m yes", "3m done")},
		{"+15415550147", "Hank Moreno", "asked for a person this morning, and got one", history(open.Add(-32*time.Minute),
			"0m can someone from the shop text me please", "3m @luis claim", "1m @luis reply Hi Hank, Luis here. What can I do?",
			"2m my cover lifter broke, do you carry the arms?", "3m @luis reply We do, I put a pair aside for you. Open till 4 today.",
			"2m great, see you at noon", "1m @luis close lifter arms put aside")},
	}
}

// wholeFlush is a flush from its first text to the last.
func wholeFlush(start time.Time) []Text {
	return history(start,
		"0m hi, need to flush my pipes", "2m 300 gallons", "1m chlorine", "1m yes", "1m yes", "1m yes", "1m pump", "1m sewer", "1m no",
		"3m 3 7.5 110", "5m done", "2m done", "32m done", "2m done", "7m done", "2m yes", "1m done", "1m yes", "30m done", "9m done", "4m done",
		"52m done", "5m done", "2m yes", "4m done", "9h 4 7.4 110 101", "3m yes", "1m thank you!")
}

// history reads texts as "12m words": how long after the one before, and what it says.
// "12m @luis reply words" is a staff action. It panics on what is written otherwise:
// all of it is in this file.
func history(start time.Time, texts ...string) []Text {
	out := make([]Text, 0, len(texts))
	at := start
	for _, text := range texts {
		after, words, _ := strings.Cut(text, " ")
		wait, err := time.ParseDuration(after)
		if err != nil || words == "" {
			panic("demo history: " + text)
		}
		at = at.Add(wait)
		t := Text{At: at, Says: words}
		if staff, ok := strings.CutPrefix(words, "@"); ok {
			t.By, words, _ = strings.Cut(staff, " ")
			t.Act, t.Says, _ = strings.Cut(words, " ")
		}
		out = append(out, t)
	}
	return out
}
