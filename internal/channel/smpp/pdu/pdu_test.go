package pdu_test

import (
	"bytes"
	"encoding/hex"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/channel/smpp/pdu"
)

func octets(t *testing.T, spaced string) []byte {
	t.Helper()
	raw, err := hex.DecodeString(strings.ReplaceAll(spaced, " ", ""))
	require.NoError(t, err)
	return raw
}

// The sample bind_transmitter of the SMPP 3.4 specification, Issue 1.2, section 3.2 (from memory).
const sample = "0000002F 00000002 00000000 00000001 534D50503354455354 00 7365637265743038 00 5355424D495431 00 00 01 01 00"

func TestThePublishedSample(t *testing.T) {
	want := pdu.PDU{ID: pdu.BindTransmitter, Sequence: 1, Body: pdu.Bind{
		SystemID: "SMPP3TEST", Password: "secret08", SystemType: "SUBMIT1", TON: 1, NPI: 1}}
	got, err := pdu.Decode(octets(t, sample))
	require.NoError(t, err)
	require.Equal(t, want, got)
	raw, err := want.Bytes()
	require.NoError(t, err)
	require.Equal(t, octets(t, sample), raw)
}

// Codes as sections 5.1.2.1 and 5.1.3 number them, compared with the Perl module Net::SMPP 1.19.
func TestNames(t *testing.T) {
	for id, name := range map[pdu.ID]string{
		0x09: "bind_transceiver", 0x80000009: "bind_transceiver_resp", 0x04: "submit_sm", 0x80000005: "deliver_sm_resp",
		0x80000000: "generic_nack", 0x15: "enquire_link", 0x06: "unbind", 0x01: "bind_receiver", 0x02: "bind_transmitter",
		0x103: "command 0x00000103", 0: "command 0x00000000",
	} {
		require.Equal(t, name, id.String())
	}
	require.Equal(t, "ESME_RTHROTTLED", pdu.Status(0x58).String())
	require.Equal(t, "ESME_RMSGQFUL", pdu.Status(0x14).String())
	require.Equal(t, "status 0x00000401", pdu.Status(0x401).String())
	require.True(t, pdu.GenericNack.IsResponse())
	require.Equal(t, pdu.ID(0x80000004), pdu.SubmitSM.Response())
}

func TestWhatCannotBeRead(t *testing.T) {
	head := "00000010 00000015 00000000 00000007"
	deliver := "00000005 00000000 00000007 00 01 01 "
	for name, c := range map[string]struct {
		raw    string
		answer pdu.Status
		lost   bool
	}{
		"shorter than a head":        {"0000", pdu.InvalidCommandLength, true},
		"length below a head":        {"0000000F 00000015 00000000 00000007", pdu.InvalidCommandLength, true},
		"length beyond the octets":   {"00000011 00000015 00000000 00000007", pdu.InvalidCommandLength, true},
		"left over":                  {"00000011 00000015 00000000 00000007 00", pdu.InvalidCommandLength, false},
		"unknown command":            {"00000010 00000103 00000000 00000007", pdu.InvalidCommand, false},
		"a text that does not end":   {"00000012 00000009 00000000 00000007 4141", pdu.InvalidCommandLength, false},
		"a number that is too long":  {"00000029" + deliver + strings.Repeat("31", 22), pdu.InvalidSource, false},
		"sm_length beyond the unit":  {"00000021" + deliver + "00 010100 00 00 00 00 00 00 00 00 00 05", pdu.InvalidCommandLength, false},
		"sm_length 255":              {"00000021" + deliver + "00 010100 00 00 00 00 00 00 00 00 00 FF", pdu.InvalidLength, false},
		"a parameter cut in its tag": {"00000023" + deliver + "00 010100 00 00 00 00 00 00 00 00 00 00 0424", pdu.InvalidOptional, false},
		"a parameter cut short":      {"00000026" + deliver + "00 010100 00 00 00 00 00 00 00 00 00 00 0424 0002 41", pdu.InvalidOptional, false},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := pdu.Decode(octets(t, c.raw))
			var e *pdu.Error
			require.ErrorAs(t, err, &e)
			require.Equal(t, c.answer, e.Answer, e.Error())
			require.Equal(t, c.lost, e.Lost, e.Error())
			if !c.lost {
				require.EqualValues(t, 7, e.Head.Sequence, "to answer with")
			}
		})
	}
	_, err := pdu.Decode(octets(t, head))
	require.NoError(t, err)
}

func TestReadFollowsAStream(t *testing.T) {
	stream := bytes.NewReader(octets(t, sample+"00000010 00000099 00000000 00000002"+"00000010 00000015 00000000 00000003"+"000000"))
	p, err := pdu.Read(stream)
	require.NoError(t, err)
	require.Equal(t, pdu.BindTransmitter, p.ID)
	_, err = pdu.Read(stream)
	var e *pdu.Error
	require.ErrorAs(t, err, &e)
	require.False(t, e.Lost, "the unit was whole: the next one follows")
	p, err = pdu.Read(stream)
	require.NoError(t, err)
	require.EqualValues(t, 3, p.Sequence)
	_, err = pdu.Read(stream)
	require.ErrorIs(t, err, io.ErrUnexpectedEOF)

	_, err = pdu.Read(bytes.NewReader(octets(t, "7FFFFFFF 00000004 00000000 00000001")))
	require.ErrorAs(t, err, &e)
	require.True(t, e.Lost, "two gigabytes are not waited for")
}

func TestWhatCannotBeWritten(t *testing.T) {
	for name, p := range map[string]pdu.PDU{
		"a body of another command": {ID: pdu.SubmitSM, Body: pdu.Bind{}},
		"no body":                   {ID: pdu.SubmitSM},
		"a command not known here":  {ID: 0x103, Body: pdu.Message{}},
		"a long password":           {ID: pdu.BindTransceiver, Body: pdu.Bind{Password: "123456789"}},
		"a NUL":                     {ID: pdu.BindTransceiver, Body: pdu.Bind{SystemID: "a\x00b"}},
		"a long text":               {ID: pdu.SubmitSM, Body: pdu.Message{Short: make([]byte, 255)}},
		"a long parameter":          {ID: pdu.SubmitSM, Body: pdu.Message{TLVs: pdu.TLVs{{Tag: 1, Value: make([]byte, 1<<16)}}}},
		"too long in all":           {ID: pdu.SubmitSM, Body: pdu.Message{TLVs: pdu.TLVs{{Value: make([]byte, 0xFFFF)}, {Value: make([]byte, 0xFFFF)}}}},
		"too many parameters":       {ID: pdu.SubmitSM, Body: pdu.Message{TLVs: make(pdu.TLVs, 65)}},
	} {
		_, err := p.Bytes()
		require.Error(t, err, name)
	}
}

func TestARefusalMayLeaveItsBodyOut(t *testing.T) {
	request := pdu.PDU{ID: pdu.SubmitSM, Sequence: 9, Body: pdu.Message{}}
	raw, err := request.Answer(pdu.Throttled).Bytes()
	require.NoError(t, err)
	require.Equal(t, octets(t, "00000010 80000004 00000058 00000009"), raw)
	p, err := pdu.Decode(raw)
	require.NoError(t, err)
	require.Equal(t, pdu.PDU{ID: pdu.SubmitSM.Response(), Status: pdu.Throttled, Sequence: 9, Body: pdu.MessageResp{}}, p)
	raw, err = request.Answer(pdu.OK).Bytes()
	require.NoError(t, err)
	require.Equal(t, octets(t, "00000011 80000004 00000000 00000009 00"), raw, "message_id is there, if empty")
}

func TestParameters(t *testing.T) {
	ts := pdu.TLVs{pdu.Octet(pdu.TagMessageState, 2), pdu.Short(pdu.TagUserReference, 0xABCD),
		{Tag: pdu.TagReceiptedMessageID, Value: []byte("m1\x00")}, {Tag: pdu.TagMessageState, Value: []byte{9}}}
	n, ok := ts.Number(pdu.TagMessageState)
	require.True(t, ok)
	require.EqualValues(t, 2, n, "the first counts")
	n, ok = ts.Number(pdu.TagUserReference)
	require.True(t, ok)
	require.EqualValues(t, 0xABCD, n)
	s, ok := ts.Text(pdu.TagReceiptedMessageID)
	require.True(t, ok)
	require.Equal(t, "m1", s)
	_, ok = ts.Number(pdu.TagReceiptedMessageID)
	require.False(t, ok, "three octets are no number")
	_, ok = ts.Get(pdu.TagMessagePayload)
	require.False(t, ok)
}

// drawn gives any unit that can be written.
func drawn(t *rapid.T) pdu.PDU {
	text := func(most int) string {
		return rapid.StringMatching(`[ -~]*`).Filter(func(s string) bool { return len(s) <= most }).Draw(t, "text")
	}
	octet := func() byte { return rapid.Byte().Draw(t, "octet") }
	address := func() pdu.Address { return pdu.Address{TON: octet(), NPI: octet(), Number: text(20)} }
	var tlvs pdu.TLVs
	for range rapid.IntRange(0, 3).Draw(t, "parameters") {
		value := append([]byte{}, rapid.SliceOfN(rapid.Byte(), 0, 300).Draw(t, "value")...)
		tlvs = append(tlvs, pdu.TLV{Tag: rapid.Uint16().Draw(t, "tag"), Value: value})
	}
	p := pdu.PDU{ID: rapid.SampledFrom([]pdu.ID{1, 2, 4, 5, 6, 9, 0x15, 0x80000000, 0x80000001, 0x80000002, 0x80000004,
		0x80000005, 0x80000006, 0x80000009, 0x80000015}).Draw(t, "id"),
		Sequence: rapid.Uint32().Draw(t, "sequence"), Status: pdu.Status(rapid.Uint32().Draw(t, "status")), Body: pdu.Empty{}}
	switch p.ID {
	case 1, 2, 9:
		p.Body = pdu.Bind{SystemID: text(15), Password: text(8), SystemType: text(12), Version: octet(), TON: octet(), NPI: octet(), AddressRange: text(40)}
	case 0x80000001, 0x80000002, 0x80000009:
		p.Body = pdu.BindResp{SystemID: text(15), TLVs: tlvs}
	case 0x80000004, 0x80000005:
		p.Body = pdu.MessageResp{MessageID: text(64), TLVs: tlvs}
	case 4, 5:
		m := pdu.Message{ServiceType: text(5), Source: address(), Destination: address(), ESMClass: octet(), ProtocolID: octet(),
			Priority: octet(), Schedule: text(16), Validity: text(16), Registered: octet(), Replace: octet(), DataCoding: octet(),
			DefaultMsgID: octet(), TLVs: tlvs}
		if short := rapid.SliceOfN(rapid.Byte(), 0, 254).Draw(t, "short"); len(short) > 0 {
			m.Short = short
		}
		p.Body = m
	}
	return p
}

func TestWrittenAndReadIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		raw, err := p.Bytes()
		require.NoError(t, err)
		got, err := pdu.Decode(raw)
		require.NoError(t, err)
		require.Equal(t, p, got)
		streamed, err := pdu.Read(bytes.NewReader(raw))
		require.NoError(t, err)
		require.Equal(t, p, streamed)
	})
}

func FuzzDecode(f *testing.F) {
	for _, seed := range []string{sample, "00000010 00000015 00000000 00000007", "00000010 80000004 00000058 00000009",
		"00000026 00000005 00000000 00000007 00 01 01 00 010100 00 00 00 00 00 00 00 00 00 00 0424 0001 41"} {
		raw, _ := hex.DecodeString(strings.ReplaceAll(seed, " ", ""))
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		p, err := pdu.Decode(raw)
		if err != nil {
			var e *pdu.Error
			require.True(t, errors.As(err, &e), "what is wrong can be answered")
			require.NotEqual(t, pdu.OK, e.Answer)
			return
		}
		again, err := p.Bytes()
		require.NoError(t, err, "what was read can be written")
		if len(again) == len(raw) { // else an answer's empty body was written out or left out
			require.Equal(t, raw, again)
		}
		back, err := pdu.Decode(again)
		require.NoError(t, err)
		require.Equal(t, p, back)
	})
}
