package pdu

import "fmt"

// Status is a command_status, section 5.1.3.
type Status uint32

// The statuses that are acted on or answered with.
const (
	OK                   Status = 0x00
	InvalidLength        Status = 0x01 // ESME_RINVMSGLEN: of the message
	InvalidCommandLength Status = 0x02
	InvalidCommand       Status = 0x03
	WrongBindStatus      Status = 0x04
	AlreadyBound         Status = 0x05
	SystemError          Status = 0x08
	InvalidSource        Status = 0x0A
	InvalidDestination   Status = 0x0B
	BindFailed           Status = 0x0D
	InvalidPassword      Status = 0x0E
	InvalidSystemID      Status = 0x0F
	QueueFull            Status = 0x14
	InvalidESMClass      Status = 0x43
	SubmitFailed         Status = 0x45
	Throttled            Status = 0x58
	TryAgain             Status = 0x64 // ESME_RX_T_APPN, from a receiver: the same again, later
	RejectedForGood      Status = 0x65 // ESME_RX_P_APPN, from a receiver
	InvalidOptional      Status = 0xC0 // ESME_RINVOPTPARSTREAM
)

// String names a status as the specification does, others by number.
func (s Status) String() string {
	if name, ok := statusName(s); ok {
		return name
	}
	return fmt.Sprintf("status 0x%08X", uint32(s))
}

func statusName(s Status) (name string, ok bool) {
	switch s {
	case OK:
		return "ESME_ROK", true
	case InvalidLength:
		return "ESME_RINVMSGLEN", true
	case InvalidCommandLength:
		return "ESME_RINVCMDLEN", true
	case InvalidCommand:
		return "ESME_RINVCMDID", true
	case WrongBindStatus:
		return "ESME_RINVBNDSTS", true
	case AlreadyBound:
		return "ESME_RALYBND", true
	case SystemError:
		return "ESME_RSYSERR", true
	case InvalidSource:
		return "ESME_RINVSRCADR", true
	case InvalidDestination:
		return "ESME_RINVDSTADR", true
	}
	return laterStatusName(s)
}

func laterStatusName(s Status) (name string, ok bool) {
	switch s {
	case BindFailed:
		return "ESME_RBINDFAIL", true
	case InvalidPassword:
		return "ESME_RINVPASWD", true
	case InvalidSystemID:
		return "ESME_RINVSYSID", true
	case QueueFull:
		return "ESME_RMSGQFUL", true
	case InvalidESMClass:
		return "ESME_RINVESMCLASS", true
	case SubmitFailed:
		return "ESME_RSUBMITFAIL", true
	case Throttled:
		return "ESME_RTHROTTLED", true
	case TryAgain:
		return "ESME_RX_T_APPN", true
	case RejectedForGood:
		return "ESME_RX_P_APPN", true
	case InvalidOptional:
		return "ESME_RINVOPTPARSTREAM", true
	}
	return "", false
}
