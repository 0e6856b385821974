package conversation

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"tubhand/internal/mailbox"
	"tubhand/internal/phone"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// Link is a second address that the owner has asked to be reached at, until its code has
// come back.
type Link struct {
	To    string    `json:"to"`
	Code  string    `json:"code"`
	Until time.Time `json:"until"`
	Tries int       `json:"tries,omitempty"` // wrong codes so far
}

// How long a code counts, how often it may be guessed, and how many may be asked for in a
// day. Our decisions: six digits and five tries let one guess in 200,000 through.
const (
	codeCounts    = 30 * time.Minute
	codeTries     = 5
	codesInPeriod = 3
	codesPeriod   = 24 * time.Hour
)

// linkWord takes the words that link a second address for what they are: a reader of
// free text finds all kinds of things in them, the wish to be left alone among others.
func (t *turn) linkWord(m *understand.Meaning) {
	if len(t.w.shop.Secret) == 0 || m.Severity != safety.NoSeverity {
		return
	}
	if _, asked := t.linkAsked(); asked || t.linkCodeSaid() != "" {
		*m = understand.Meaning{Intent: understand.Other, Language: m.Language, Hazard: m.Hazard, Severity: m.Severity}
	}
}

// linkCodeSaid is the code that the whole text is, bare or after LINK, while one is waited
// for. Six digits in a row, or three and three: "3 7.4 100" is a test.
func (t *turn) linkCodeSaid() string {
	if t.c.Link == nil {
		return ""
	}
	said := bare(t.ev.Text)
	if first, rest, ok := strings.Cut(said, " "); ok && digits(first) == "" {
		said = rest
	}
	if len(said) == 7 && (said[3] == ' ' || said[3] == '-') {
		said = said[:3] + said[4:]
	}
	if len(said) != 6 || digits(said) != said {
		return ""
	}
	return said
}

// link handles the words that link a second address to this conversation: the request,
// and the code that was sent to the address. Whoever asks here and reads there holds
// both. It needs a secret of the shop's, or codes could be guessed.
func (t *turn) link() bool {
	if len(t.w.shop.Secret) == 0 {
		return false
	}
	if code := t.linkCodeSaid(); code != "" {
		t.linkWith(code)
		return true
	}
	address, asked := t.linkAsked()
	switch {
	case !asked:
		return false
	case address == "":
		t.say("link.which")
	default:
		t.sendCode(address)
	}
	return true
}

// linkAsked tells whether the text asks for a link, and to which address; "" where it
// names none that can be used.
func (t *turn) linkAsked() (address string, ok bool) {
	if _, alone := t.saysOneOf(t.ev.Text, "choices.link"); alone {
		return "", true
	}
	first, rest, _ := strings.Cut(strings.TrimSpace(t.ev.Text), " ")
	if _, ok := t.saysOneOf(first, "choices.link"); !ok {
		return "", false
	}
	for _, word := range strings.Fields(rest) {
		if a, err := mailbox.Parse(strings.Trim(word, ".,;:<>()\"'")); err == nil {
			return a, true
		}
	}
	from := strings.IndexFunc(rest, func(r rune) bool { return r == '+' || r == '(' || unicode.IsDigit(r) })
	if from < 0 {
		return "", false // "link my pump": some other link
	}
	n, err := phone.Parse(strings.TrimRight(rest[from:], " .!"), t.w.shop.Region)
	if err != nil {
		return "", len(digits(rest)) >= 7
	}
	return n.E164, true
}

// saysOneOf tells whether a word is one of those under a key, and in which language.
func (t *turn) saysOneOf(said, key string) (language string, ok bool) {
	said = bare(said)
	for _, language := range t.w.words.Languages() {
		words, _ := t.w.words.Say(language, wording.Common, key, &wording.Words{})
		for word := range strings.SplitSeq(words, ",") {
			if said != "" && bare(word) == said {
				return language, true
			}
		}
	}
	return "", false
}

// sendCode sends a code to the other address, which only its owner reads.
func (t *turn) sendCode(address string) {
	t.c.LinksAsked = slices.DeleteFunc(slices.Clone(t.c.LinksAsked), func(at time.Time) bool { return t.now.Sub(at) >= codesPeriod })
	switch {
	case slices.Contains(t.c.Owner.Addresses, address):
		t.sayLinked("link.already", address)
		return
	case address == t.w.shop.Line || address == t.w.shop.Mail || mailbox.Is(address) && t.w.shop.Mail == "":
		t.say("link.which")
		return
	case t.c.Silenced(address) || t.ev.Barred == address:
		t.sayLinked("link.opted_out", address)
		return
	case len(t.c.LinksAsked) >= codesInPeriod:
		t.say("link.too_many")
		return
	}
	t.c.LinksAsked = append(t.c.LinksAsked, t.now)
	t.c.Link = &Link{To: address, Until: t.now.Add(codeCounts), Code: t.linkCode(address)}
	words := t.words()
	words.Code = t.c.Link.Code
	if text, ok := t.w.words.Say(t.language(), wording.Common, "link.code", words); ok {
		t.line(Line{Direction: Out, Text: text, Send: true, Class: ClassReply, To: address})
	}
	t.sayLinked("link.sent", address)
}

// linkCode makes a code that nobody can guess who does not know the shop's secret. The
// same turn decided again gives the same code.
func (t *turn) linkCode(address string) string {
	h := hmac.New(sha256.New, t.w.shop.Secret)
	fmt.Fprintf(h, "link\x00%s\x00%s\x00%d\x00%s", t.c.ID, address, t.c.Made, t.now.UTC().Format(time.RFC3339Nano))
	return fmt.Sprintf("%06d", binary.BigEndian.Uint64(h.Sum(nil))%1_000_000)
}

// linkWith takes a code that came back. It counts once.
func (t *turn) linkWith(code string) {
	l := *t.c.Link
	switch {
	case t.now.After(l.Until):
		t.c.Link = nil
		t.say("link.over")
	case !hmac.Equal([]byte(code), []byte(l.Code)):
		if l.Tries++; l.Tries >= codeTries {
			t.c.Link = nil
			t.say("link.over")
			return
		}
		t.c.Link = &l
		t.say("link.wrong")
	default:
		t.c.Link = nil
		t.join(l.To)
	}
}

// join makes the other address the owner's, unless what goes on there would be lost.
func (t *turn) join(address string) {
	other := t.ev.Other
	switch {
	case other == nil:
	case other.Silenced(address):
		t.sayLinked("link.opted_out", address)
		return
	case other.Busy():
		t.sayLinked("link.busy", address)
		return
	case t.c.Tub.VolumeUSGal == 0 && other.Tub.VolumeUSGal > 0 && t.c.Service == nil:
		t.c.Tub = other.Tub // told there, and this one knows nothing yet
	}
	t.c.Owner.Addresses = append(slices.Clone(t.c.Owner.Addresses), address)
	t.note("Linked with " + address + ", by a code sent there and returned here.")
	t.sayLinked("link.done", address)
}

func (t *turn) sayLinked(key, address string) {
	words := t.words()
	words.Owner = shorten(address, 60)
	t.sayWith(key, words)
}

// Busy tells whether something is under way that must not lose its address: a service, a
// case, a person who has taken over, a reminder for months from now: those would be handed
// to a conversation that does not know them.
func (c *Conversation) Busy() bool {
	return c.Service != nil || len(c.Open) > 0 || c.Hold != nil || len(c.Pages) > 0 || len(c.Consent.Seasonal) > 0
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, s)
}
