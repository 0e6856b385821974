// Package pdu writes and reads the protocol data units of SMPP 3.4 (Short Message Peer
// to Peer Protocol Specification v3.4, Issue 1.2, SMPP Developers Forum, 12 October
// 1999; section texts from memory, codes compared with two independent implementations)
// that a transceiver and its message center exchange: bind, enquire_link, submit_sm,
// deliver_sm, unbind, their responses and generic_nack, with optional parameters and the
// user data header of joined messages (3GPP TS 23.040, section 9.2.3.24).
//
// Reading is bounded and strict: what is too long, cut short, unterminated or left over
// is an *Error, which names the status to answer with and whether the stream can still
// be followed. Nothing here touches the network or the clock.
package pdu
