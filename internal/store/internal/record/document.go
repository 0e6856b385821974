package record

import (
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tubhand/internal/store"
)

// CheckPlace tells whether a document may have this kind and key in a shop.
func CheckPlace(shop, kind, key string) error {
	switch {
	case shop == "":
		return fmt.Errorf("%w: it names no shop", store.ErrRefused)
	case !isKind(kind):
		return fmt.Errorf("%w: %q is no kind; write 1 to %d small letters, digits, '_' or '-'", store.ErrRefused, kind, store.MostKind)
	case key == "" || len(key) > store.MostKey || !utf8.ValidString(key) || strings.ContainsFunc(key, unicode.IsControl):
		return fmt.Errorf("%w: %.80q is no key; write 1 to %d bytes of UTF-8 without control characters", store.ErrRefused, key, store.MostKey)
	}
	return nil
}

func isKind(kind string) bool {
	strange := func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '_' && r != '-'
	}
	return kind != "" && len(kind) <= store.MostKind && !strings.ContainsFunc(kind, strange)
}

// CheckDocument tells whether a document can be kept.
func CheckDocument(shop string, d store.Document) error {
	if err := CheckPlace(shop, d.Kind, d.Key); err != nil {
		return err
	}
	if len(d.Value) > store.MostValue {
		return fmt.Errorf("%w: document %s %q holds %d bytes, at most %d fit", store.ErrRefused, d.Kind, d.Key, len(d.Value), store.MostValue)
	}
	if d.Version < 0 {
		return fmt.Errorf("%w: document %s %q has the version %d", store.ErrRefused, d.Kind, d.Key, d.Version)
	}
	return nil
}

// Expiry is when a document is gone, in milliseconds since 1970; 0 for never.
func Expiry(expires time.Time) int64 {
	if expires.IsZero() {
		return 0
	}
	return max(Milli(expires), 1)
}

// Expires is the time that Expiry was made from.
func Expires(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return Time(ms)
}

// Moment is a now that is compared with Expiry. The zero time, as a move passes, is before
// everything.
func Moment(now time.Time) int64 { return max(Milli(now), 0) }

// CheckEntries tells whether audit entries can be kept.
func CheckEntries(shop string, entries []store.AuditEntry) error {
	if shop == "" {
		return fmt.Errorf("%w: the audit entry names no shop", store.ErrRefused)
	}
	if len(entries) > store.MostListed {
		return fmt.Errorf("%w: %d audit entries at once, at most %d", store.ErrRefused, len(entries), store.MostListed)
	}
	for _, e := range entries {
		for _, word := range []string{e.Who, e.Act, e.About} {
			if len(word) > store.MostWord {
				return fmt.Errorf("%w: %.40q in an audit entry is %d bytes long, at most %d fit", store.ErrRefused, word, len(word), store.MostWord)
			}
		}
		if len(e.Detail) > store.MostDetails {
			return fmt.Errorf("%w: the detail %.40q of an audit entry is %d bytes long, at most %d fit", store.ErrRefused, e.Detail, len(e.Detail), store.MostDetails)
		}
	}
	return nil
}

// entry is the written form of an audit entry, but for its number and time.
type entry struct {
	Who    string `json:"who,omitempty"`
	Act    string `json:"act,omitempty"`
	About  string `json:"about,omitempty"`
	Detail string `json:"detail,omitempty"`
}

// EncodeEntry gives an audit entry's written form, without its number and time.
func EncodeEntry(e store.AuditEntry) (string, error) {
	return Encode(entry{e.Who, e.Act, e.About, e.Detail})
}

// Entry reads an audit entry from its written form.
func Entry(num, at int64, written string) (store.AuditEntry, error) {
	e, err := Decode[entry](written)
	return store.AuditEntry{Num: num, At: Time(at), Who: e.Who, Act: e.Act, About: e.About, Detail: e.Detail}, err
}
