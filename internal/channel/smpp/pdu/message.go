package pdu

// Message is the body of submit_sm and deliver_sm, sections 4.4 and 4.6. The text is in
// Short or in the parameter MessagePayload, never in both.
type Message struct {
	ServiceType  string // at most 5 octets
	Source       Address
	Destination  Address
	ESMClass     byte
	ProtocolID   byte
	Priority     byte
	Schedule     string // empty, or 16 octets
	Validity     string // empty, or 16 octets
	Registered   byte
	Replace      byte
	DataCoding   byte
	DefaultMsgID byte
	Short        []byte // at most 254 octets
	TLVs         TLVs
}

// Address is a number with its type and plan, sections 5.2.5 to 5.2.9.
type Address struct {
	TON, NPI byte
	Number   string // at most 20 octets
}

// The types of number and the plan that are written here.
const (
	TONUnknown       = 0
	TONInternational = 1
	TONNetwork       = 3 // short codes
	NPIUnknown       = 0
	NPIISDN          = 1 // E.163 and E.164
)

// The bits of esm_class, section 5.2.12.
const (
	ClassHasHeader = 0x40 // the text begins with a user data header
	ClassType      = 0x3C // mask of what deliver_sm carries: 0 is a text
	ClassReceipt   = 0x04 // a delivery receipt of the message center
	ClassNotice    = 0x20 // an intermediate notification
)

// The alphabets of data_coding that texts come in, section 5.2.19.
const (
	CodingDefault = 0 // the message center's own: mostly GSM 7-bit, one septet an octet
	CodingASCII   = 1
	CodingLatin1  = 3
	CodingUCS2    = 8
)

// The sizes of fields in octets, with their NUL.
const (
	mostShort       = 254
	sizeServiceType = 6
	sizeNumber      = 21
	sizeTime        = 17
	sizeMessageID   = 65
	sizeSystemID    = 16
	sizePassword    = 9
	sizeSystemType  = 13
	sizeRange       = 41
)

func (m Message) write(w *writer) {
	w.text("service_type", m.ServiceType, sizeServiceType)
	w.address("source_addr", m.Source)
	w.address("destination_addr", m.Destination)
	w.octets(m.ESMClass, m.ProtocolID, m.Priority)
	w.text("schedule_delivery_time", m.Schedule, sizeTime)
	w.text("validity_period", m.Validity, sizeTime)
	w.octets(m.Registered, m.Replace, m.DataCoding, m.DefaultMsgID)
	if len(m.Short) > mostShort {
		w.fail("short_message has %d octets, more than %d", len(m.Short), mostShort)
		return
	}
	w.octets(byte(len(m.Short)))
	w.octets(m.Short...)
	w.tlvs(m.TLVs)
}

func (r *reader) message() Message {
	m := Message{
		ServiceType: r.text("service_type", sizeServiceType),
		Source:      r.address("source_addr", InvalidSource),
		Destination: r.address("destination_addr", InvalidDestination),
		ESMClass:    r.octet("esm_class"), ProtocolID: r.octet("protocol_id"), Priority: r.octet("priority_flag"),
		Schedule: r.text("schedule_delivery_time", sizeTime), Validity: r.text("validity_period", sizeTime),
		Registered: r.octet("registered_delivery"), Replace: r.octet("replace_if_present_flag"),
		DataCoding: r.octet("data_coding"), DefaultMsgID: r.octet("sm_default_msg_id"),
	}
	length := int(r.octet("sm_length"))
	if length > mostShort {
		r.fail(InvalidLength, "sm_length is 255, more than 254")
	}
	m.Short = r.take("short_message", length)
	m.TLVs = r.tlvs()
	return m
}

func (b Bind) write(w *writer) {
	w.text("system_id", b.SystemID, sizeSystemID)
	w.text("password", b.Password, sizePassword)
	w.text("system_type", b.SystemType, sizeSystemType)
	w.octets(b.Version, b.TON, b.NPI)
	w.text("address_range", b.AddressRange, sizeRange)
}

func (r *reader) bind() Bind {
	return Bind{
		SystemID: r.text("system_id", sizeSystemID), Password: r.text("password", sizePassword),
		SystemType: r.text("system_type", sizeSystemType), Version: r.octet("interface_version"),
		TON: r.octet("addr_ton"), NPI: r.octet("addr_npi"), AddressRange: r.text("address_range", sizeRange),
	}
}

func (b BindResp) write(w *writer) {
	w.text("system_id", b.SystemID, sizeSystemID)
	w.tlvs(b.TLVs)
}

func (m MessageResp) write(w *writer) {
	w.text("message_id", m.MessageID, sizeMessageID)
	w.tlvs(m.TLVs)
}

// body reads what goes with an id.
func (r *reader) body(id ID, s Status) Body {
	switch id {
	case BindReceiver, BindTransmitter, BindTransceiver:
		return r.bind()
	case SubmitSM, DeliverSM:
		return r.message()
	case BindReceiver.Response(), BindTransmitter.Response(), BindTransceiver.Response():
		if s != OK && len(r.in) == 0 {
			return BindResp{}
		}
		return BindResp{SystemID: r.text("system_id", sizeSystemID), TLVs: r.tlvs()}
	case SubmitSM.Response(), DeliverSM.Response():
		if len(r.in) == 0 { // with a refusal by the specification, and by the habit of some with none
			return MessageResp{}
		}
		return MessageResp{MessageID: r.text("message_id", sizeMessageID), TLVs: r.tlvs()}
	case EnquireLink, EnquireLink.Response(), Unbind, Unbind.Response(), GenericNack:
		return Empty{}
	}
	r.fail(InvalidCommand, "is not known here")
	return nil
}
