package conversation

import (
	"slices"
	"strings"
)

// Enrolment is what staff know of an owner whom they add.
type Enrolment struct {
	Name        string
	Language    string  // "" for the shop's
	VolumeUSGal float64 // 0: not known
	Sanitizer   string  // chlorine, bromine or ""
	Invite      bool    // text them at once
	Told        string  // how the owner agreed, as staff write it down
}

// byStaff sorts acts that begin a conversation from those in one.
func (t *turn) byStaff() {
	if t.ev.Staff.Act != Enrol {
		t.staffAct()
		return
	}
	t.class = ClassStaff
	t.enrol(t.ev.Staff)
}

// enrol fills in what is not known yet: what an owner has told is never overwritten. Nothing
// goes out but the invitation, and that only where the owner has not opted out.
func (t *turn) enrol(a StaffAction) {
	if len(t.c.Consent.Record) == 0 && t.c.LastIn.IsZero() {
		t.agreed(Agreement{How: ByStaff, For: ForReplies, Given: true, By: a.By, Wording: a.Owner.Told})
	}
	added := t.fillIn(a.Owner)
	if len(added) > 0 {
		t.acted(a, "put down %s", english.list(added))
	}
	if !a.Owner.Invite {
		return
	}
	if t.c.OptedOut {
		t.note("Not invited: the owner has opted out of texts")
		return
	}
	t.acted(a, "invited the owner to begin")
	t.say("menu")
}

func (t *turn) fillIn(o Enrolment) (added []string) {
	if name := strings.TrimSpace(o.Name); name != "" && t.c.Owner.Name == "" {
		t.c.Owner.Name = name
		added = append(added, "the name "+name)
	}
	if o.Language != "" && t.c.Owner.Language != o.Language && t.c.LastIn.IsZero() && slices.Contains([]string{"en", "es"}, o.Language) {
		t.c.Owner.Language = o.Language
		added = append(added, "the language "+o.Language)
	}
	if gallons := o.VolumeUSGal; t.c.Tub.VolumeUSGal == 0 && gallons >= smallestUSGal && gallons <= largestUSGal {
		t.c.Tub.VolumeUSGal, t.c.Tub.VolumeBy = gallons, "staff"
		text := english.volume(gallons, false)
		t.log(LogEntry{Kind: "volume", Name: "volume_gal", Low: gallons, High: gallons, Text: text})
		added = append(added, text)
	}
	if t.c.Tub.Sanitizer == "" && (o.Sanitizer == "chlorine" || o.Sanitizer == "bromine") {
		t.c.Tub.Sanitizer = o.Sanitizer
		added = append(added, o.Sanitizer)
	}
	return added
}
