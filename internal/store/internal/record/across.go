package record

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// The bounds of what is looked for and looked through.
const (
	mostSought = 600 // bytes of a conversation's text
	mostQuery  = 200 // bytes of a query
	mostWords  = 8   // of a query
)

// Sought is what a conversation is found by: the owner's name, addresses and what is known
// of the tub, folded, one a line.
func Sought(c *conversation.Conversation) string {
	var b strings.Builder
	b.WriteString(fold(c.Owner.Name))
	for _, a := range c.Owner.Addresses {
		b.WriteByte('\n')
		b.WriteString(fold(strings.TrimPrefix(a, "+")))
	}
	if gallons := c.Tub.VolumeUSGal; gallons > 0 {
		b.WriteByte('\n')
		b.WriteString(strconv.FormatFloat(gallons, 'f', 0, 64))
		b.WriteString(" gal ")
		b.WriteString(strconv.FormatFloat(gallons*litresPerUSGal, 'f', 0, 64))
		b.WriteString(" l")
	}
	if c.Tub.Sanitizer != "" {
		b.WriteByte('\n')
		b.WriteString(fold(c.Tub.Sanitizer))
	}
	return cut(b.String(), mostSought)
}

// litresPerUSGal is exact: 231 cubic inches.
const litresPerUSGal = 3.785411784

// fold writes a text in small letters without accents and without what is no text.
func fold(text string) string {
	plain := true
	for i := 0; i < len(text); i++ {
		plain = plain && text[i] >= ' ' && text[i] < 0x7f
	}
	if !plain {
		text = strings.Map(func(r rune) rune {
			switch {
			case unicode.Is(unicode.Mn, r), r == utf8.RuneError:
				return -1
			case unicode.IsControl(r):
				return ' '
			}
			return r
		}, norm.NFKD.String(strings.ToValidUTF8(text, "")))
	}
	return strings.ToLower(text)
}

// cut shortens a text to a number of bytes, between two characters.
func cut(text string, most int) string {
	if len(text) <= most {
		return text
	}
	for most > 0 && !utf8.RuneStart(text[most]) {
		most--
	}
	return text[:most]
}

// Words are what a query asks for; each must occur in a conversation's text. A number is one
// word, however its digits are parted.
func Words(query string) []string {
	query = cut(fold(query), mostQuery)
	if digits := asNumber(query); digits != "" {
		return []string{digits}
	}
	words := strings.Fields(query)
	for i, w := range words {
		if digits := asNumber(w); digits != "" {
			words[i] = digits
		}
	}
	slices.Sort(words)
	words = slices.Compact(words)
	return words[:min(len(words), mostWords)]
}

// asNumber gives the digits of what has none but digits and what parts them; "" for all else.
func asNumber(text string) string {
	var b strings.Builder
	for _, r := range text {
		switch {
		case r >= '0' && r <= '9':
			b.WriteRune(r)
		case !strings.ContainsRune("+-(). /", r):
			return ""
		}
	}
	return b.String()
}

// Has tells whether every word occurs in a conversation's text.
func Has(text string, words []string) bool {
	for _, w := range words {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return true
}

// CheckTallies tells whether a turn's counts can be kept: all of one day that there is.
func CheckTallies(list []conversation.Tally) error {
	if len(list) > store.MostTallies {
		return fmt.Errorf("%d tallies, at most %d", len(list), store.MostTallies)
	}
	for _, t := range list {
		if _, err := time.Parse(time.DateOnly, t.Day); err != nil {
			return fmt.Errorf("tally %s %q: %q is no day such as 2026-06-13", t.Kind, t.Key, t.Day)
		}
		if err := checkTallyWords(t); err != nil {
			return err
		}
	}
	return nil
}

func checkTallyWords(t conversation.Tally) error {
	for _, w := range []string{t.Kind, t.Key} {
		if len(w) > store.MostWord || strings.ContainsAny(w, "\t\n") {
			return fmt.Errorf("a tally's kind or key %.40q has a tab or line break, or more than %d bytes", w, store.MostWord)
		}
	}
	if t.Kind == "" {
		return errors.New("a tally has no kind")
	}
	return nil
}

// oneDay tells whether all counts of a turn are of one day.
func oneDay(list []conversation.Tally) error {
	if err := CheckTallies(list); err != nil {
		return err
	}
	for _, t := range list {
		if t.Day != list[0].Day {
			return fmt.Errorf("its tallies are of %s and of %s", list[0].Day, t.Day)
		}
	}
	return nil
}

// TallyOrder sorts counts as stores list them.
func TallyOrder(list []conversation.Tally) {
	slices.SortFunc(list, func(a, b conversation.Tally) int {
		return slices.Compare([]string{a.Day, a.Kind, a.Key}, []string{b.Day, b.Kind, b.Key})
	})
}

// Wants tells whether a count of this day and kind was asked for.
func Wants(t conversation.Tally, from, until string, kinds []string) bool {
	return t.Day >= from && t.Day <= until && (len(kinds) == 0 || slices.Contains(kinds, t.Kind))
}

// Refused makes an error of a check one of store.ErrRefused.
func Refused(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%w: %w", store.ErrRefused, err)
}
