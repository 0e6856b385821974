package letter

import (
	"strings"

	"github.com/emersion/go-message"

	"tubhand/internal/mailbox"
)

// LoopField is the field in which our own mail carries a token of its shop: a message
// that comes back with one has gone in a circle.
const LoopField = "X-Loop-Token"

// maxHops is how many relays a message may have passed: more is a loop (RFC 5321, 6.3).
const maxHops = 50

// nobody are the local parts that no person reads (RFC 3834, 2 and RFC 2142; the no-reply
// forms are common practice, no source).
var nobody = [...]string{"mailer-daemon", "postmaster", "noreply", "no-reply", "do-not-reply", "donotreply", "bounce", "bounces", "listserv", "majordomo"}

// machine tells why an answer must never be sent (RFC 3834, 2), or "" where a person may
// have written.
func machine(h message.Header, l *Letter) string {
	if auto, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(h.Get("Auto-Submitted"))), ";"); auto != "" && strings.TrimSpace(auto) != "no" {
		return "it was sent automatically"
	}
	switch strings.ToLower(strings.TrimSpace(h.Get("Precedence"))) {
	case "bulk", "junk", "list":
		return "it is bulk mail"
	}
	for f := h.Fields(); f.Next(); {
		if key := strings.ToLower(f.Key()); strings.HasPrefix(key, "list-") {
			return "it came through a mailing list"
		}
	}
	local, _, _ := strings.Cut(strings.ToLower(l.From), "@")
	base, _ := mailbox.Detail(local + "@x")
	for _, name := range nobody {
		if local == name || base == name+"@x" || strings.HasPrefix(local, "owner-") || strings.HasSuffix(local, "-request") {
			return "nobody reads " + name
		}
	}
	switch {
	case l.Report != nil:
		return "it is a report"
	case l.ReturnPath == "<>":
		return "it has no sender to answer to"
	case l.Hops > maxHops:
		return "it goes round in a circle"
	case l.Looped != "":
		return "it is our own mail coming back"
	}
	return ""
}
