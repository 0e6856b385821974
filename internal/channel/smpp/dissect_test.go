package smpp_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp/pdu"
)

// dissect has tshark read units, each as one packet on the port of SMPP, and gives the
// fields asked for, a row a unit. What it finds malformed fails the test.
func dissect(t *testing.T, units [][]byte, fields ...string) (rows [][]string) {
	t.Helper()
	_, err := exec.LookPath("tshark")
	need(t, "tshark: apt-get install tshark", err)
	var dump strings.Builder
	for _, unit := range units {
		for at := 0; at < len(unit); at += 16 {
			fmt.Fprintf(&dump, "%06x % x\n", at, unit[at:min(at+16, len(unit))])
		}
	}
	folder := t.TempDir()
	text, capture := filepath.Join(folder, "units.txt"), filepath.Join(folder, "units.pcap")
	require.NoError(t, os.WriteFile(text, []byte(dump.String()), 0o600))
	out, err := exec.Command("text2pcap", "-q", "-T", "40000,2775", text, capture).CombinedOutput()
	require.NoError(t, err, string(out))
	args := []string{"-n", "-r", capture, "-d", "tcp.port==2775,smpp", "-T", "fields", "-e", "_ws.malformed", "-e", "smpp"}
	for _, f := range fields {
		args = append(args, "-e", f)
	}
	var complaints bytes.Buffer
	tshark := exec.Command("tshark", args...)
	tshark.Stderr = &complaints
	out, err = tshark.Output()
	require.NoError(t, err, complaints.String())
	for _, line := range strings.Split(strings.TrimRight(string(out), "\n"), "\n") {
		row := strings.Split(line, "\t")
		require.Empty(t, row[0], "unit %d: %s", len(rows)+1, line)
		require.NotEmpty(t, row[1], "unit %d is no SMPP: %s", len(rows)+1, line)
		rows = append(rows, row[2:])
	}
	require.Len(t, rows, len(units))
	return rows
}

func TestADissectorReadsWhatWeWrite(t *testing.T) {
	message := pdu.Message{Source: pdu.Address{TON: 1, NPI: 1, Number: shopLine}, Destination: pdu.Address{TON: 1, NPI: 1, Number: owner},
		Registered: 1, DataCoding: 8, ESMClass: 0x40, Validity: "000001020500000R",
		Short: append(pdu.Concat{Reference: 0x2A, Total: 2, Sequence: 1}.Header(), 0, 'h', 0, 'i'),
		TLVs:  pdu.TLVs{pdu.Short(pdu.TagUserReference, 0xABCD)}}
	sar := message
	sar.ESMClass, sar.DataCoding, sar.Short = 0, 0, []byte("hi")
	sar.TLVs = pdu.TLVs{pdu.Short(pdu.TagSARReference, 7), pdu.Octet(pdu.TagSARTotal, 3), pdu.Octet(pdu.TagSARSequence, 2)}
	payload := sar
	payload.Short, payload.TLVs = nil, pdu.TLVs{{Tag: pdu.TagMessagePayload, Value: []byte("long")}}
	receipt := sar
	receipt.ESMClass, receipt.TLVs = 4, pdu.TLVs{{Tag: pdu.TagReceiptedMessageID, Value: []byte("m1\x00")}, pdu.Octet(pdu.TagMessageState, 2)}
	fields := []string{"smpp.command_id", "smpp.command_status", "smpp.sequence_number", "smpp.system_id", "smpp.destination_addr",
		"smpp.data_coding", "gsm_sms.udh.mm.msg_id", "gsm_sms.udh.mm.msg_parts", "smpp.user_message_reference",
		"smpp.sar_total_segments", "smpp.sar_segment_seqnum", "smpp.message_payload", "smpp.receipted_message_id", "smpp.message_state", "smpp.message_id"}
	table := []struct {
		unit pdu.PDU
		want string // the fields, one after the other
	}{
		{pdu.PDU{ID: pdu.BindTransceiver, Sequence: 1, Body: pdu.Bind{SystemID: "tub", Password: "secret08", Version: 0x34}}, "0x00000009||1|tub|||||||||||"},
		{pdu.PDU{ID: 0x80000009, Status: pdu.InvalidPassword, Sequence: 1, Body: pdu.BindResp{}}, "0x80000009|0x0000000e|1||||||||||||"},
		{pdu.PDU{ID: 0x80000009, Sequence: 1, Body: pdu.BindResp{SystemID: "center", TLVs: pdu.TLVs{pdu.Octet(pdu.TagVersion, 0x34)}}}, "0x80000009|0x00000000|1|center|||||||||||"},
		{pdu.PDU{ID: pdu.SubmitSM, Sequence: 2, Body: message}, "0x00000004||2||15415550142|0x08|42|2|0xabcd||||||"},
		{pdu.PDU{ID: 0x80000004, Sequence: 2, Body: pdu.MessageResp{MessageID: "m1"}}, "0x80000004|0x00000000|2||||||||||||m1"},
		{pdu.PDU{ID: 0x80000004, Status: pdu.Throttled, Sequence: 2, Body: pdu.MessageResp{}}, "0x80000004|0x00000058|2||||||||||||"},
		{pdu.PDU{ID: pdu.SubmitSM, Sequence: 3, Body: sar}, "0x00000004||3||15415550142|0x00||||3|2||||"},
		{pdu.PDU{ID: pdu.SubmitSM, Sequence: 4, Body: payload}, "0x00000004||4||15415550142|0x00||||||6c6f6e67|||"},
		{pdu.PDU{ID: pdu.DeliverSM, Sequence: 5, Body: receipt}, "0x00000005||5||15415550142|0x00|||||||m1|2|"},
		{pdu.PDU{ID: 0x80000005, Sequence: 5, Body: pdu.MessageResp{}}, "0x80000005|0x00000000|5||||||||||||"},
		{pdu.PDU{ID: pdu.EnquireLink, Sequence: 6}, "0x00000015||6||||||||||||"},
		{pdu.PDU{ID: 0x80000015, Sequence: 6}, "0x80000015|0x00000000|6||||||||||||"},
		{pdu.PDU{ID: pdu.Unbind, Sequence: 7}, "0x00000006||7||||||||||||"},
		{pdu.PDU{ID: 0x80000006, Sequence: 7}, "0x80000006|0x00000000|7||||||||||||"},
		{pdu.PDU{ID: pdu.GenericNack, Status: pdu.InvalidCommand, Sequence: 8}, "0x80000000|0x00000003|8||||||||||||"},
	}
	var units [][]byte
	for _, row := range table {
		raw, err := row.unit.Bytes()
		require.NoError(t, err)
		units = append(units, raw)
	}
	for i, got := range dissect(t, units, fields...) {
		require.Equal(t, table[i].want, strings.Join(got, "|"), table[i].unit.ID.String())
	}
}
