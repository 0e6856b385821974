package smpp_test

import (
	"encoding/hex"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
)

func plain(text string) pdu.Message { return pdu.Message{Short: []byte(text)} }

func TestATextIsAnsweredWhenItIsTaken(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := <-r.centers
		bind := c.get(pdu.BindTransceiver)
		require.Equal(t, pdu.Bind{SystemID: "tub", Password: "secret08", Version: 0x34}, bind.Body)
		require.False(t, r.link.Bound())
		c.send(pdu.PDU{ID: pdu.BindTransceiver.Response(), Sequence: bind.Sequence, Body: pdu.BindResp{}})
		synctest.Wait()
		require.True(t, r.link.Bound())

		r.hold = make(chan struct{})
		c.bring(plain("done"))
		c.none()
		close(r.hold)
		require.Equal(t, pdu.OK, c.get(pdu.DeliverSM.Response()).Status)
		require.Equal(t, "+15415550142", r.texts[0].From)
		require.Equal(t, "+15415550100", r.texts[0].To)
		require.Equal(t, "done", r.texts[0].Body)
	})
}

func TestATextThatIsNotTakenComesAgainAsTheSame(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		r.refuse = errors.New("the disk is full")
		require.Equal(t, pdu.TryAgain, c.brought(plain("done")))
		sleep(5 * time.Minute)
		r.set(func() { r.refuse = nil })
		c.drain()
		require.Equal(t, pdu.OK, c.brought(plain("done")))
		require.Equal(t, []string{"done"}, r.said())
	})
}

func TestWhoCannotBeServed(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		r.set(func() { r.refuse = smpp.ErrNoLine })
		require.Equal(t, pdu.InvalidDestination, c.brought(plain("hi")))
		r.set(func() { r.refuse = smpp.ErrNoSender })
		require.Equal(t, pdu.InvalidSource, c.brought(plain("hi")))
		require.Equal(t, pdu.RejectedForGood, c.brought(pdu.Message{ESMClass: pdu.ClassHasHeader, Short: []byte("\x06\x05\x04\x0B\x84\x23\xF0wap")}),
			"a message for an application on the phone")
		require.Equal(t, pdu.OK, c.brought(pdu.Message{ESMClass: 0x08, Short: []byte("read")}), "a handset's acknowledgement")
		require.Empty(t, r.said())
	})
}

func TestEqualTextsAreTwoAndARepeatIsOne(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.Equal(t, pdu.OK, c.brought(plain("yes")))
		require.Equal(t, pdu.OK, c.brought(plain("yes")), "the answer to the next question")
		require.Len(t, r.said(), 2)

		c.conn.Close() // the second answer may not have been heard
		c = r.bound()
		require.Equal(t, pdu.OK, c.brought(plain("yes")))
		require.Len(t, r.said(), 2, "told again")
		require.Equal(t, pdu.OK, c.brought(plain("yes")))
		require.Len(t, r.said(), 3, "told anew")

		sleep(31 * time.Second) // enquire_link is answered, so what was written before was heard
		c.conn.Close()
		c = r.bound()
		require.Equal(t, pdu.OK, c.brought(plain("yes")))
		require.Len(t, r.said(), 4, "that answer was heard before the link broke")

		c.conn.Close()
		for range 2 { // nobody is there for an hour
			for range 13 {
				c = <-r.centers
				c.send(c.get(pdu.BindTransceiver).Answer(pdu.InvalidPassword))
			}
		}
		c = r.bound()
		require.Equal(t, pdu.OK, c.brought(plain("yes")))
		require.Len(t, r.said(), 5, "too late to be a repeat")
	})
}

func TestAlphabetsInward(t *testing.T) {
	octets := func(s string) []byte {
		raw, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
		require.NoError(t, err)
		return raw
	}
	for name, c := range map[string]struct {
		zero smpp.Alphabet
		in   pdu.Message
		want string
	}{
		"GSM 7-bit":                    {smpp.GSM7, pdu.Message{Short: octets("40 1B65 00 05 7D")}, "¡€@éñ"},
		"Latin-1 for 0":                {smpp.Latin1, pdu.Message{Short: octets("BF 53ED 40")}, "¿Sí@"},
		"ASCII":                        {smpp.GSM7, pdu.Message{DataCoding: 1, Short: []byte("pH 7.2 @ 10")}, "pH 7.2 @ 10"},
		"Latin-1":                      {smpp.GSM7, pdu.Message{DataCoding: 3, Short: octets("61F16F")}, "año"},
		"UCS-2":                        {smpp.GSM7, pdu.Message{DataCoding: 8, Short: octets("0073 00ED D83D DC4D")}, "sí👍"},
		"UCS-2 with an octet too many": {smpp.GSM7, pdu.Message{DataCoding: 8, Short: octets("0041 00")}, "A\uFFFD"},
		"class 1, 7-bit":               {smpp.Latin1, pdu.Message{DataCoding: 0xF1, Short: octets("00")}, "@"},
		"octets, read as Latin-1":      {smpp.GSM7, pdu.Message{DataCoding: 4, Short: []byte("my eyes")}, "my eyes"},
		"message_payload":              {smpp.GSM7, pdu.Message{TLVs: pdu.TLVs{{Tag: pdu.TagMessagePayload, Value: []byte("a long text")}}}, "a long text"},
		"the Spanish shift table":      {smpp.GSM7, pdu.Message{ESMClass: 0x40, Short: octets("03 24 01 02 53 1B69")}, "Sí"},
		"a broken header is text":      {smpp.GSM7, pdu.Message{ESMClass: 0x40, Short: []byte("help me")}, "help me"},
		"a part of one is whole":       {smpp.GSM7, pdu.Message{ESMClass: 0x40, Short: octets("05 00 03 07 01 01 6869")}, "hi"},
	} {
		t.Run(name, func(t *testing.T) {
			play(t, smpp.Settings{Alphabet: c.zero}, func(t *testing.T, r *rig) {
				require.Equal(t, pdu.OK, r.bound().brought(c.in))
				require.Equal(t, []string{c.want}, r.said())
			})
		})
	}
}

func TestATextToManyAtOnceIsPutOff(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		r.hold = make(chan struct{})
		for range 33 { // one in hand, 32 behind it
			c.bring(plain("x"))
		}
		c.none()
		require.Equal(t, pdu.QueueFull, c.brought(plain("x")))
		other := plain("help")
		other.Source = pdu.Address{Number: "5415550143", NPI: 1}
		c.bring(other)
		close(r.hold)
		synctest.Wait()
		require.Len(t, r.said(), 34, "somebody else is not put off")
		require.Contains(t, r.texts, smpp.Text{From: "5415550143", To: "+15415550100", Body: "help", ID: idOf(r, "help")})
	})
}

func idOf(r *rig, body string) string {
	for _, t := range r.texts {
		if t.Body == body {
			return t.ID
		}
	}
	return ""
}
