package staff

import (
	"context"
	"strings"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
)

// The bounds of a password. It never stands alone, and twelve characters are well over the
// eight that NIST SP 800-63B-4, section 3.1.1.2, asks for beside a second factor.
const (
	leastPassword = 12  // characters
	mostPassword  = 256 // bytes
)

// checkPassword says what is wrong with a new password, in words.
func checkPassword(password string, r *record, shop string) error {
	lower := strings.ToLower(password)
	different := map[rune]bool{}
	for _, c := range lower {
		different[c] = true
	}
	switch {
	case !utf8.ValidString(password) || len(password) > mostPassword:
		return Refusal("That password is too long, or has broken characters in it.")
	case utf8.RuneCountInString(password) < leastPassword:
		return Refusal("Take at least 12 characters. A few words that come to mind are good.")
	case len(different) < 5:
		return Refusal("That is the same few characters again and again. Take something harder to guess.")
	}
	for _, word := range []string{r.Key, strings.ToLower(r.Name), strings.ToLower(shop)} {
		if word != "" && len(strings.ReplaceAll(lower, word, "")) < leastPassword/2 {
			return Refusal("That is little more than a name. Take something harder to guess.")
		}
	}
	return nil
}

// hash hashes a new password. Few are hashed at a time, so that strangers who try many
// can't use up the memory.
func (d *Desk) hash(ctx context.Context, password string) (string, error) {
	if err := d.hashing(ctx); err != nil {
		return "", err
	}
	defer func() { <-d.hashes }()
	return argon2id.CreateHash(password, d.Effort)
}

// matches compares a password with its hash. For no hash it takes as long and says no.
func (d *Desk) matches(ctx context.Context, password, hash string) (bool, error) {
	if err := d.hashing(ctx); err != nil {
		return false, err
	}
	defer func() { <-d.hashes }()
	with := hash
	if hash == "" {
		with = d.dummy
	}
	same, err := argon2id.ComparePasswordAndHash(password[:min(len(password), mostPassword+1)], with)
	return same && hash != "", err
}

func (d *Desk) hashing(ctx context.Context) error {
	select {
	case d.hashes <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
