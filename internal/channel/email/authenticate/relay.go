package authenticate

import (
	"strings"

	"github.com/emersion/go-msgauth/authres"

	"tubhand/internal/mailbox"
)

// ByRelay takes the word of a relay of our own, in the topmost Authentication-Results
// field (RFC 8601) if it bears the relay's id. Only call it for messages that came
// straight from that relay, which must take off fields that bear its id when mail comes
// in from outside (RFC 8601, 5). ok is false where the relay says nothing of DMARC or of
// an aligned signature; the message is then to be checked here.
func ByRelay(results []string, id, from string) (out Outcome, ok bool) {
	if id == "" || len(results) == 0 {
		return Outcome{}, false
	}
	by, list, err := authres.Parse(results[0])
	if err != nil || !strings.EqualFold(by, id) {
		return Outcome{}, false
	}
	author := mailbox.Of(from)
	for _, r := range list {
		switch r := r.(type) {
		case *authres.DMARCResult:
			if !strings.EqualFold(domainOf(r.From), author) {
				continue
			}
			switch r.Value {
			case authres.ResultPass:
				return Outcome{Verdict: Proven, Why: "DMARC pass, says " + id}, true
			case authres.ResultFail:
				return Outcome{Verdict: Forged, Policy: "quarantine", Why: "DMARC fail, says " + id}, true
			case authres.ResultTempError:
				return Outcome{Verdict: Later, Why: "DMARC was not settled, says " + id}, true
			}
		case *authres.DKIMResult:
			if r.Value == authres.ResultPass && strings.EqualFold(r.Domain, author) {
				out, ok = Outcome{Verdict: Proven, DKIM: []string{author}, Why: "aligned DKIM " + author + ", says " + id}, true
			}
		}
	}
	return out, ok
}

func domainOf(from string) string {
	if i := strings.LastIndexByte(from, '@'); i >= 0 {
		return from[i+1:]
	}
	return from
}
