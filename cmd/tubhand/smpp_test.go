package main

import (
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/shop"
)

// center is the message center's end of one link, in lock-step. It takes what is
// submitted and answers enquire_link by itself.
type center struct {
	t    *testing.T
	conn net.Conn
	said string
	last int
}

// one reads one unit.
func (c *center) one() pdu.PDU {
	c.t.Helper()
	p, err := pdu.Read(c.conn)
	require.NoError(c.t, err)
	switch p.ID {
	case pdu.EnquireLink:
		c.send(p.Answer(pdu.OK))
	case pdu.SubmitSM:
		m := p.Body.(pdu.Message)
		require.Equal(c.t, "15415550100", m.Source.Number)
		require.Equal(c.t, strings.TrimPrefix(owner, "+"), m.Destination.Number)
		c.said += string(m.Short)
		c.last++
		c.send(pdu.PDU{ID: p.ID.Response(), Sequence: p.Sequence, Body: pdu.MessageResp{MessageID: "m" + strconv.Itoa(c.last)}})
	}
	return p
}

// get reads until such a unit comes.
func (c *center) get(id pdu.ID) pdu.PDU {
	c.t.Helper()
	for {
		if p := c.one(); p.ID == id {
			return p
		}
	}
}

func (c *center) send(p pdu.PDU) {
	c.t.Helper()
	raw, err := p.Bytes()
	require.NoError(c.t, err)
	_, err = c.conn.Write(raw)
	require.NoError(c.t, err)
}

// centerShop writes the demo shop with a message center at the address.
func centerShop(t *testing.T, address, password string) string {
	t.Helper()
	folder := t.TempDir()
	secret := filepath.Join(folder, "password")
	require.NoError(t, os.WriteFile(secret, []byte(password+"\n"), 0o600))
	file := shopFile(t, "http://127.0.0.1:1/out")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	linked := strings.Replace(string(text), "kind: plain\n    send_to: http://127.0.0.1:1/out",
		"kind: smpp\n    address: "+address+"\n    system_id: tubs\n    password: \"@"+secret+"\"", 1)
	require.NotEqual(t, string(text), linked)
	require.NoError(t, os.WriteFile(file, []byte(linked), 0o600))
	return file
}

// TestServeOverSMPP goes the whole way: bind, a text in two parts, the answer out, its
// receipt, and leave taken at the end.
func TestServeOverSMPP(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	s := serveOn(t, "--shop", centerShop(t, l.Addr().String(), "secret08"), "--data", t.TempDir())
	conn, err := l.Accept()
	require.NoError(t, err)
	defer conn.Close()
	require.NoError(t, conn.SetDeadline(time.Now().Add(30*time.Second)))
	c := &center{t: t, conn: conn}
	bind := c.get(pdu.BindTransceiver)
	require.Equal(t, pdu.Bind{SystemID: "tubs", Password: "secret08", Version: pdu.Version34}, bind.Body)
	c.send(bind.Answer(pdu.OK))

	from := pdu.Address{TON: 1, NPI: 1, Number: strings.TrimPrefix(owner, "+")}
	line := pdu.Address{TON: 1, NPI: 1, Number: "15415550100"}
	for i, text := range []string{"hi, need to ", "flush my pipes"} {
		header := pdu.Concat{Reference: 9, Total: 2, Sequence: byte(i + 1)}.Header()
		c.send(pdu.PDU{ID: pdu.DeliverSM, Sequence: uint32(i + 1), Body: pdu.Message{Source: from, Destination: line,
			ESMClass: pdu.ClassHasHeader, Short: append(header, text...)}})
	}
	for range 2 {
		require.Equal(t, pdu.OK, c.get(pdu.DeliverSM.Response()).Status)
	}
	for !strings.Contains(c.said, "gallons") {
		c.one()
	}
	c.send(pdu.PDU{ID: pdu.DeliverSM, Sequence: 3, Body: pdu.Message{Source: from, Destination: line, ESMClass: pdu.ClassReceipt,
		Short: []byte("id:m1 sub:001 dlvrd:001 submit date:2611250900 done date:2611250901 stat:DELIVRD err:000 text:")}})
	require.Equal(t, pdu.OK, c.get(pdu.DeliverSM.Response()).Status)
	_, metrics := s.get(t, "/metrics")
	require.Contains(t, metrics, `tubhand_link_up{gateway="plain"} 1`)
	require.Contains(t, metrics, `tubhand_link_events_total{event="receipt",gateway="plain"} 1`)
	code, _ := s.get(t, "/in/sms/plain")
	require.Equal(t, 404, code, "no callback is taken of it")

	over := make(chan int)
	go func() { over <- s.stop() }()
	unbind := c.get(pdu.Unbind)
	c.send(unbind.Answer(pdu.OK))
	require.Zero(t, <-over)
}

func TestWhatKeepsALinkFromBeingMade(t *testing.T) {
	root := filepath.Join(t.TempDir(), "root.pem")
	require.NoError(t, os.WriteFile(root, []byte("no certificate"), 0o600))
	vault := shop.Vault{Env: func(name string) string { return map[string]string{"P": "secret08", "LONG": "secret080"}[name] }, File: os.ReadFile}
	for want, d := range map[string]shop.SMPP{
		"password: secret: there is nothing in $NONE":                 {Password: "$NONE"},
		"password: in $LONG there are 9 characters, and SMPP takes 8": {Password: "$LONG"},
		"tls_roots: there is no PEM certificate in " + root:           {Password: "$P", Address: "a.example:1", TLS: true, TLSRoots: root},
		"tls_roots: open /nowhere.pem: no such file or directory":     {Password: "$P", Address: "a.example:1", TLS: true, TLSRoots: "/nowhere.pem"},
	} {
		_, err := linkSettings("center", &d, vault)
		require.EqualError(t, err, want)
	}
	set, err := linkSettings("center", &shop.SMPP{Password: "$P", Address: "a.example:1", TLS: true, Receipts: true}, vault)
	require.NoError(t, err)
	require.Equal(t, "a.example", set.TLS.ServerName)
	require.False(t, set.Silent)
}
