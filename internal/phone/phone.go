// Package phone reads telephone numbers as people and gateways write them and gives
// them back in the one form that is stored: E.164 (ITU-T, 2010), "+" and up to 15
// digits. It also knows which country and time zones a number's prefix speaks for;
// a number can be carried away from both, so that is evidence and not a location.
// The numbering plans come from nyaruka/phonenumbers.
package phone

import (
	"errors"
	"slices"
	"strings"

	"github.com/nyaruka/phonenumbers"
)

// The reasons why a number is refused; compare with errors.Is. Their texts are fit to
// be shown to whoever sent the number.
var (
	ErrEmpty   = errors.New("the number is missing")
	ErrUnread  = errors.New("not a phone number")
	ErrShort   = errors.New("a short code, not a full phone number")
	ErrInvalid = errors.New("no such number in any numbering plan")
)

// longest is the most characters that are looked at: 15 digits leave ample room for
// punctuation, and the parser is not to be fed kilobytes.
const longest = 40

// Number is a valid telephone number.
type Number struct {
	E164   string   // "+15415550142"
	Region string   // ISO 3166 country, "001" for numbers of no country
	Zones  []string // IANA names that the prefix speaks for; none when that says nothing
}

// Parse reads a number written in any usual way. A number without a country code is
// taken to be one of region (ISO 3166). Errors wrap one of the reasons above.
func Parse(written, region string) (Number, error) {
	s := strings.TrimSpace(written)
	if s == "" {
		return Number{}, ErrEmpty
	}
	if len(s) > longest || !digitsAndPunctuation(s) {
		return Number{}, ErrUnread
	}
	n, err := read(s, region)
	if err != nil {
		return Number{}, err
	}
	return Number{
		E164:   phonenumbers.Format(n, phonenumbers.E164),
		Region: phonenumbers.GetRegionCodeForNumber(n),
		Zones:  zones(n),
	}, nil
}

// digitsAndPunctuation keeps out vanity letters, extensions and other scripts' digits,
// which the parser would take: no gateway sends them.
func digitsAndPunctuation(s string) bool {
	for _, r := range s {
		if (r < '0' || r > '9') && !strings.ContainsRune("+-(). /", r) {
			return false
		}
	}
	return true
}

// read tries the number as written and then, since many gateways leave the plus out,
// as a full international one. The parser accepts a good deal that no one can dial, so
// validity is always asked for.
func read(s, region string) (*phonenumbers.PhoneNumber, error) {
	why := ErrUnread
	for _, form := range []string{s, "+" + strings.TrimLeft(s, "+ ")} {
		n, err := phonenumbers.Parse(form, region)
		if err != nil {
			continue
		}
		if phonenumbers.IsValidNumber(n) {
			return n, nil
		}
		why = ErrInvalid
		if phonenumbers.IsPossibleShortNumberForRegion(n, region) {
			return nil, ErrShort
		}
	}
	return nil, why
}

// widest is the most zones that still tell something: a toll-free number's prefix
// speaks for every zone of its numbering plan.
const widest = 6

func zones(n *phonenumbers.PhoneNumber) []string {
	switch phonenumbers.GetNumberType(n) {
	case phonenumbers.TOLL_FREE, phonenumbers.PREMIUM_RATE, phonenumbers.SHARED_COST, phonenumbers.UAN, phonenumbers.VOIP:
		return nil
	}
	found, err := phonenumbers.GetTimezonesForNumber(n)
	if err != nil || len(found) > widest || slices.Contains(found, phonenumbers.UNKNOWN_TIMEZONE) {
		return nil
	}
	return found
}

// Zone picks the time zone to reckon with for an owner: home, the shop's, when the
// number's prefix allows it or says nothing; otherwise the prefix's first.
func (n Number) Zone(home string) string {
	if len(n.Zones) == 0 || slices.Contains(n.Zones, home) {
		return home
	}
	return n.Zones[0]
}

// Short gives a number as logs may hold it: enough to tell two callers apart, too
// little to call one. "+15415550142" becomes "+1541555…42".
func Short(number string) string {
	if name, domain, ok := strings.Cut(number, "@"); ok && name != "" { // an e-mail address
		return name[:1] + "…@" + domain
	}
	if len(number) < 10 {
		return "…"
	}
	return number[:len(number)-4] + "…" + number[len(number)-2:]
}
