package smpp

import (
	"strings"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/store"
)

// receipt is what a delivery receipt says.
type receipt struct {
	id        string
	state     string // sent, delivered, failed
	code      string // the network's, for the log
	reference uint16 // user_message_reference; 0: none
}

// readReceipt reads a receipt: the parameters receipted_message_id and message_state
// where they are there, else the text form that appendix B of the specification shows
// and message centers vary. ok is false when it does not say what became of which message.
func readReceipt(m pdu.Message, zero Alphabet) (r receipt, ok bool) {
	fields := receiptFields(open(m).plain(zero))
	r = receipt{id: fields["id"], code: fields["err"]}
	if id, there := m.TLVs.Text(pdu.TagReceiptedMessageID); there && id != "" {
		r.id = id
	}
	r.reference, _ = m.TLVs.Number(pdu.TagUserReference)
	r.state = stateNamed(fields["stat"])
	if n, there := m.TLVs.Number(pdu.TagMessageState); there {
		r.state = stateNumbered(n)
	}
	return r, r.state != "" && (r.id != "" || r.reference != 0)
}

func (in incoming) plain(zero Alphabet) string {
	return decode(in.coding, zero, in.spanish, in.octets)
}

// receiptFields reads "id:… sub:… dlvrd:… submit date:… done date:… stat:… err:… text:…".
// Names are told apart whatever their case; what follows text: is the message's own words.
func receiptFields(text string) map[string]string {
	fields := map[string]string{}
	for _, word := range strings.Fields(text) {
		name, value, ok := strings.Cut(word, ":")
		name = strings.ToLower(name)
		if !ok {
			continue
		}
		if name == "text" {
			break
		}
		if _, twice := fields[name]; !twice {
			fields[name] = value
		}
	}
	return fields
}

// stateNamed reads the state of the text form. Seven letters are the custom.
func stateNamed(stat string) string {
	switch strings.ToUpper(stat) {
	case "DELIVRD", "DELIVERED":
		return delivered
	case "EXPIRED", "DELETED", "UNDELIV", "REJECTD", "UNDELIVERABLE", "REJECTED":
		return store.Failed
	case "ACCEPTD", "ENROUTE", "UNKNOWN", "ACCEPTED":
		return store.Sent
	}
	return ""
}

// stateNumbered reads message_state, section 5.2.28.
func stateNumbered(n uint16) string {
	switch n {
	case 2:
		return delivered
	case 3, 4, 5, 8: // expired, deleted, undeliverable, rejected
		return store.Failed
	case 1, 6, 7: // en route, accepted by the recipient's service, unknown
		return store.Sent
	}
	return ""
}
