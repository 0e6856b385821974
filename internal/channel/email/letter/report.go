package letter

import (
	"bufio"
	"net/mail"
	"net/textproto"
	"strings"

	"tubhand/internal/mailbox"
)

// Report is what a delivery status notification says of one of our messages (RFC 3464).
type Report struct {
	EnvelopeID string   // as we gave it with MAIL FROM (RFC 3461); "" where it was not given back
	MessageID  string   // of the returned message, with its brackets
	Recipients []string // whom it was to reach
	Action     string   // failed, delayed, delivered, relayed, expanded; "" where it is not told
	Status     string   // enhanced status code (RFC 3463)
}

// status reads a message/delivery-status part: fields of the message, then for each
// recipient.
func (w *walk) status(s string) {
	r := w.ours()
	for group := range strings.SplitSeq(strings.TrimSpace(s)+"\n", "\n\n") {
		h, _ := textproto.NewReader(bufio.NewReader(strings.NewReader(group + "\n\n"))).ReadMIMEHeader()
		if id := h.Get("Original-Envelope-Id"); id != "" {
			r.EnvelopeID = oneLine(id, 100)
		}
		for _, field := range []string{"Original-Recipient", "Final-Recipient"} {
			_, address, ok := strings.Cut(h.Get(field), ";")
			if a, err := mailbox.Parse(address); ok && err == nil {
				r.add(a)
			}
		}
		if action := strings.ToLower(oneLine(h.Get("Action"), 20)); action != "" && r.Action != "failed" {
			r.Action, r.Status = action, oneLine(h.Get("Status"), 20)
		}
	}
}

// returned reads the header of the message that is returned.
func (w *walk) returned(s string) {
	r := w.ours()
	m, err := mail.ReadMessage(strings.NewReader(strings.TrimLeft(s, "\n") + "\n\n"))
	if err != nil {
		return
	}
	if ids := messageIDs(m.Header.Get("Message-Id")); len(ids) > 0 {
		r.MessageID = ids[0]
	}
	if list, err := m.Header.AddressList("To"); err == nil {
		for _, a := range list {
			if address, err := mailbox.Parse(a.Address); err == nil {
				r.add(address)
			}
		}
	}
}

func (w *walk) ours() *Report {
	if w.report == nil {
		w.report = &Report{}
	}
	return w.report
}

func (r *Report) add(address string) {
	for _, known := range r.Recipients {
		if known == address {
			return
		}
	}
	if len(r.Recipients) < 10 {
		r.Recipients = append(r.Recipients, address)
	}
}
