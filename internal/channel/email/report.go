package email

import (
	"context"
	"crypto/subtle"
	"errors"
	"strings"

	"tubhand/internal/channel/email/letter"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// recent is how far back in a transcript the message that a report is about is looked for.
const recent = 200

func hasBounce(details []string) bool {
	for _, d := range details {
		if strings.HasPrefix(d, "b") || strings.HasPrefix(d, "B") {
			return true
		}
	}
	return false
}

// report takes a delivery status notification (RFC 3464) as a delivery report. Whose
// message it is about is told by tokens that only we can make: the address that the
// report went to, the envelope id, or the returned Message-ID. Anything else is left
// alone: a report is answered by nobody, whoever wrote it.
func (in *Inbound) report(ctx context.Context, b *Box, l *letter.Letter, details []string) answer {
	state := ""
	if l.Report != nil {
		switch l.Report.Action {
		case "failed":
			state = store.Failed
		case "delivered", "relayed", "expanded":
			state = "delivered"
		}
	}
	if state == "" {
		return answer{kind: passed}
	}
	line, err := in.about(ctx, b, l.Report, details)
	switch {
	case err != nil:
		in.config.Log.Error("a delivery report was not taken", "shop", b.Shop.Key, "error", err)
		return answer{kind: later, why: "cannot take this right now"}
	case line == "":
		in.config.Log.Warn("a delivery report is about no message of ours", "shop", b.Shop.Key)
		return answer{kind: passed}
	}
	err = in.config.Reports.Delivered(ctx, b.Shop.Key, line, state)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return answer{kind: passed}
	case err != nil:
		return answer{kind: later, why: "cannot take this right now"}
	}
	in.config.Log.Info("a delivery report", "shop", b.Shop.Key, "state", state, "status", l.Report.Status)
	return answer{kind: taken}
}

// about finds the line that a report is about; "" where there is none.
func (in *Inbound) about(ctx context.Context, b *Box, r *letter.Report, details []string) (string, error) {
	for _, address := range r.Recipients {
		c, err := in.config.Records.Load(ctx, b.Shop.Key, address)
		if errors.Is(err, store.ErrNotFound) {
			continue
		}
		if err != nil {
			return "", err
		}
		lines, err := in.config.Records.View(ctx, b.Shop.Key).Transcript(c.ID, recent)
		if err != nil {
			return "", err
		}
		for i := len(lines) - 1; i >= 0; i-- {
			if lines[i].Gateway == conversation.MailGateway && lines[i].Send && in.names(b, r, details, lines[i].ID) {
				return lines[i].ID, nil
			}
		}
	}
	return "", nil
}

// names tells whether a report bears a token of this line.
func (in *Inbound) names(b *Box, r *letter.Report, details []string, line string) bool {
	envelope, bounce := b.Key.Envelope(b.Shop.Key, line), b.Key.Bounce(b.Shop.Key, line)
	if same(r.EnvelopeID, envelope) {
		return true
	}
	for _, d := range details {
		if same(strings.ToLower(d), bounce) {
			return true
		}
	}
	local, _, _ := strings.Cut(b.Key.MessageID(b.Shop.Key, line, "x"), "@")
	got, _, _ := strings.Cut(r.MessageID, "@")
	return same(got, local)
}

func same(a, b string) bool {
	return len(a) == len(b) && subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1
}
