package shop

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
)

// Secret says where a secret is kept: "$NAME" is an environment variable, "@FILE" a file.
// The secret itself never stands in a shop file, which is copied and shown around.
type Secret string

// maxSecret bounds a secret, in bytes.
const maxSecret = 4096

var envForm = regexp.MustCompile(`^\$[A-Za-z_][A-Za-z0-9_]{0,99}$`)

// WellFormed tells whether the text is a reference at all.
func (s Secret) WellFormed() bool {
	return envForm.MatchString(string(s)) || len(s) > 1 && s[0] == '@'
}

// Vault reads secrets: environment variables, and files by their names.
type Vault struct {
	Env  func(name string) string
	File func(name string) ([]byte, error)
}

// Read fetches the secret; blanks and line ends around it are no part of it. Errors name
// where it should be, and never hold what was found there.
func (s Secret) Read(v Vault) ([]byte, error) {
	var found []byte
	name, isFile := strings.CutPrefix(string(s), "@")
	switch {
	case !s.WellFormed():
		return nil, errors.New("secret: neither $NAME nor @FILE")
	case isFile:
		text, err := v.File(name)
		if err != nil {
			return nil, fmt.Errorf("secret: %w", err)
		}
		found = text
	default:
		found = []byte(v.Env(string(s[1:])))
	}
	text := strings.TrimSpace(string(found))
	if text == "" {
		return nil, fmt.Errorf("secret: there is nothing in %s", s)
	}
	if len(text) > maxSecret {
		return nil, fmt.Errorf("secret: %s holds more than %d bytes", s, maxSecret)
	}
	return []byte(text), nil
}

// secret checks a reference to a secret.
func (c *check) secret(path, written string) Secret {
	s := Secret(written)
	if !s.WellFormed() {
		c.bad(path, "%s; write $NAME for an environment variable or @FILE for a file that holds it, never the secret itself",
			missingOr(written, "is no reference to a secret"))
	}
	return s
}

// secrets checks one reference or several, of which each counts while keys are changed.
func (c *check) secrets(path string, written oneOrMore) []Secret {
	if len(written) == 0 {
		return []Secret{c.secret(path, "")}
	}
	if len(written) > 4 {
		c.bad(path, "has %d secrets; keep at most 4", len(written))
	}
	out := make([]Secret, len(written))
	for i, w := range written {
		out[i] = c.secret(path, w)
	}
	return out
}
