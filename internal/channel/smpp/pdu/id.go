package pdu

import "fmt"

// ID is a command_id, section 5.1.2.1. A response has its request's with the top bit set.
type ID uint32

// The commands that are read and written here.
const (
	BindReceiver    ID = 0x01
	BindTransmitter ID = 0x02
	SubmitSM        ID = 0x04
	DeliverSM       ID = 0x05
	Unbind          ID = 0x06
	BindTransceiver ID = 0x09
	EnquireLink     ID = 0x15
	GenericNack     ID = 0x80000000

	responseBit ID = 0x80000000
)

// Response is the id of the answer to a command.
func (id ID) Response() ID { return id | responseBit }

// IsResponse tells an answer, generic_nack among them, from a request.
func (id ID) IsResponse() bool { return id&responseBit != 0 }

// String names a command as the specification does.
func (id ID) String() string {
	name := ""
	switch id &^ responseBit {
	case 0:
		if id == GenericNack {
			return "generic_nack"
		}
	case BindReceiver:
		name = "bind_receiver"
	case BindTransmitter:
		name = "bind_transmitter"
	case SubmitSM:
		name = "submit_sm"
	case DeliverSM:
		name = "deliver_sm"
	case Unbind:
		name = "unbind"
	case BindTransceiver:
		name = "bind_transceiver"
	case EnquireLink:
		name = "enquire_link"
	}
	if name == "" {
		return fmt.Sprintf("command 0x%08X", uint32(id))
	}
	if id.IsResponse() {
		name += "_resp"
	}
	return name
}
