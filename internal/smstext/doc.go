// Package smstext knows what a text costs as an SMS: which encoding it needs, how
// many septets or 16-bit units it takes, into how many parts it falls, and where it
// is cut. It follows 3GPP TS 23.038 (alphabets) and TS 23.040 section 9.2.3.24
// (concatenation). It is pure and sends nothing.
//
// It does not write with the national language tables of TS 23.038 Annex A: whether a
// handset reads them depends on the network, so Spanish with a, i, o or u acute is
// UCS-2 here. It reads the Spanish one where a message says that it was used.
package smstext
