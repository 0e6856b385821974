package console

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/mailbox"
	"tubhand/internal/phone"
	"tubhand/internal/store"
)

// The bounds of what staff put down of an owner.
const (
	mostName      = 60
	smallestUSGal = 50 // as conversations take volumes
	largestUSGal  = 2500
	toldAtShop    = "asked at the shop to be written to about their tub"
)

// newOwner is an owner as staff write them down, before it is looked at.
type newOwner struct {
	Name, Number, Mail, Language, Size, Unit, Sanitizer string
}

// addView is the form for one owner.
type addView struct {
	newOwner
	Invite    bool
	Told      bool
	Token     string
	Trouble   string
	Languages [][2]string
}

func (s *site) addOwnerPage(g *gin.Context) {
	s.showAdd(g, http.StatusOK, addView{newOwner: newOwner{Language: s.Shop.Language, Unit: "gallons", Number: clip(g.Query("number"), mostFind)}, Invite: true})
}

func (s *site) showAdd(g *gin.Context, status int, v addView) {
	v.Token, v.Languages = newToken(), ownerLanguages()
	s.show(g, status, addPage, s.plainFrame(g, "Add an owner", v))
}

func ownerLanguages() [][2]string { return [][2]string{{"en", "English"}, {"es", "Spanish"}} }

func (s *site) addOwner(g *gin.Context) {
	if err := g.Request.ParseForm(); err != nil {
		s.problem(g, http.StatusUnprocessableEntity, "That was too long or could not be read, so nothing was done.")
		return
	}
	v := addView{newOwner: newOwner{
		Name: g.PostForm("name"), Number: g.PostForm("number"), Mail: g.PostForm("mail"), Language: g.PostForm("language"),
		Size: g.PostForm("size"), Unit: g.PostForm("unit"), Sanitizer: g.PostForm("sanitizer"),
	}, Invite: g.PostForm("invite") != "", Told: g.PostForm("told") != ""}
	token := g.PostForm("token")
	e, err := s.enrolment(&v.newOwner)
	switch {
	case err != nil:
		v.Trouble = err.Error()
	case !v.Told:
		v.Trouble = "Ask the owner first, and tick that they agreed: nobody is written to who has not asked for it."
	case !tokenForm.MatchString(token):
		v.Trouble = "The form came without its number, so nothing was done. Send it again."
	}
	if v.Trouble != "" {
		s.showAdd(g, http.StatusUnprocessableEntity, v)
		return
	}
	e.Owner.Invite = v.Invite
	id, err := s.enrol(g, e, "enrol:"+s.me(g).Key+":"+token)
	if err != nil {
		s.failed(g, "add an owner", err)
		return
	}
	s.noteAct(g, "added an owner", id, map[bool]string{true: "invited"}[v.Invite])
	g.Redirect(http.StatusSeeOther, s.talkPath(id))
}

// enrolled is an owner who has been looked at: whom to reach where, and what is known.
type enrolled struct {
	Address, Zone, Region string
	Owner                 conversation.Enrolment
}

// enrolment checks an owner as written down. Its error is a sentence that says what is
// wrong and what to write instead.
func (s *site) enrolment(n *newOwner) (e enrolled, err error) {
	for _, field := range []*string{&n.Name, &n.Number, &n.Mail, &n.Language, &n.Size, &n.Unit, &n.Sanitizer} {
		*field = strings.TrimSpace(*field)
		if !utf8.ValidString(*field) {
			return e, fault("there are broken characters in it; save the file as UTF-8")
		}
	}
	if utf8.RuneCountInString(n.Name) > mostName {
		return e, fault("the name is longer than " + strconv.Itoa(mostName) + " characters; shorten it")
	}
	if e.Address, e.Zone, e.Region, err = s.reachedAt(n); err != nil {
		return e, err
	}
	e.Owner = conversation.Enrolment{Name: n.Name, Told: toldAtShop}
	if e.Owner.Language, err = known("language", n.Language, map[string]string{"": "", "en": "en", "english": "en", "es": "es", "spanish": "es", "español": "es"}, "en or es"); err != nil {
		return e, err
	}
	if e.Owner.Sanitizer, err = known("sanitizer", n.Sanitizer, map[string]string{"": "", "chlorine": "chlorine", "bromine": "bromine"}, "chlorine, bromine or nothing"); err != nil {
		return e, err
	}
	e.Owner.VolumeUSGal, err = sizeOf(n.Size, n.Unit)
	return e, err
}

// reachedAt is where an owner is written to: the number where there is one. An e-mail address
// beside it is for the owner to link.
func (s *site) reachedAt(n *newOwner) (address, zone, region string, err error) {
	switch {
	case n.Number != "":
		number, err := phone.Parse(n.Number, s.Shop.Region)
		if err != nil {
			return "", "", "", fault("the number " + quoted(n.Number) + " can't be used (" + reason(err) + "); write it with its area code, such as (541) 555-0142, or with + and the country code")
		}
		return number.E164, number.Zone(s.Shop.TimeZone), number.Region, nil
	case n.Mail != "":
		address, err := mailbox.Parse(n.Mail)
		if err != nil {
			return "", "", "", fault("the e-mail address " + quoted(n.Mail) + " can't be used; write it as name@place.example")
		}
		return address, s.Shop.TimeZone, s.Shop.Region, nil
	}
	return "", "", "", fault("there is neither a number nor an e-mail address; write one of them")
}

// reason is why a number was refused, in the phone package's own words.
func reason(err error) string {
	for _, why := range []error{phone.ErrEmpty, phone.ErrUnread, phone.ErrShort, phone.ErrInvalid} {
		if errors.Is(err, why) {
			return why.Error()
		}
	}
	return "it is not a phone number"
}

func quoted(text string) string { return strconv.Quote(clip(text, 40)) }

func known(what, written string, allowed map[string]string, instead string) (string, error) {
	if v, ok := allowed[strings.ToLower(written)]; ok {
		return v, nil
	}
	return "", fault("the " + what + " " + quoted(written) + " is not known; write " + instead)
}

// sizeOf reads a tub's size in US gallons; nothing written is 0, not known.
func sizeOf(written, unit string) (float64, error) {
	if written == "" {
		return 0, nil
	}
	size, err := strconv.ParseFloat(strings.ReplaceAll(written, ",", ""), 64)
	if err != nil {
		return 0, fault("the size " + quoted(written) + " is not a number; write digits only, such as 375")
	}
	gallons := size
	if unit == "liters" {
		gallons = size / litresPerUSGal
	}
	if !(gallons >= smallestUSGal && gallons <= largestUSGal) {
		return 0, fault("no tub holds " + clip(written, 20) + " " + unit + "; write between 50 and 2500 US gallons (190 to 9460 liters), or leave it out")
	}
	return gallons, nil
}

// enrol has an owner put down as a turn, and gives the conversation's id.
func (s *site) enrol(g *gin.Context, e enrolled, event string) (id string, err error) {
	me := s.me(g)
	language := e.Owner.Language
	if language == "" {
		language = s.Shop.Language
	}
	err = s.Runner.Handle(g.Request.Context(), s.Shop.Key, conversation.Event{
		ID: event, Kind: conversation.StaffAct, From: e.Address, To: s.Shop.Line, Gateway: s.Shop.Gateway,
		Language: language, TimeZone: e.Zone, Region: e.Region,
		Staff: conversation.StaffAction{Act: conversation.Enrol, By: me.Key, Name: me.Name, Owner: e.Owner},
	})
	if err != nil && !errors.Is(err, store.ErrDuplicate) {
		return "", err
	}
	c, err := s.Store.Load(g.Request.Context(), s.Shop.Key, e.Address)
	return c.ID, err
}

// startWords are the words printed on cards, in their order; what is printed with each is
// the shop's.
func (s *site) startWords() []string {
	var words []string
	for w := range s.Shop.Consent.Printed {
		words = append(words, w)
	}
	slices.Sort(words)
	return words
}
