package record

import "strings"

// IsOf tells whether an id is one that a conversation's turns have made.
func IsOf(id, conversation string) bool {
	rest, ok := strings.CutPrefix(id, conversation+".")
	return ok && !strings.Contains(rest, ".")
}
