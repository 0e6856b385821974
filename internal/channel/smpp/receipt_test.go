package smpp_test

import (
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/store"
)

// told is a receipt as appendix B of the SMPP 3.4 specification shows it (from memory).
func told(id, stat string) pdu.Message {
	return pdu.Message{ESMClass: pdu.ClassReceipt, Short: []byte("id:" + id + " sub:001 dlvrd:001 submit date:2611250900 done date:2611250901 stat:" + stat + " err:000 text:stat:UNDELIV id:9")}
}

// sentAs hands a line over under the ids of its parts.
func (r *rig) sentAs(c *center, line, text string, ids ...string) {
	r.t.Helper()
	done := r.send(line, text)
	for _, id := range ids {
		c.take(c.get(pdu.SubmitSM), id)
		sleep(100 * time.Millisecond)
	}
	require.Equal(r.t, store.Sent, (<-done).Kind)
}

func TestReceiptsInTheirForms(t *testing.T) {
	parameters := func(id string, state byte) pdu.Message {
		return pdu.Message{ESMClass: pdu.ClassReceipt, TLVs: pdu.TLVs{
			{Tag: pdu.TagReceiptedMessageID, Value: []byte(id + "\x00")}, pdu.Octet(pdu.TagMessageState, state)}}
	}
	unmarked := parameters("1F", 2)
	unmarked.ESMClass = 0
	lower := told("1f", "DELIVRD")
	lower.Short = []byte("ID:1f SUB:1 Done Date:261125090142 Stat:delivrd Err:0 Text:")
	both := told("other", "UNDELIV")
	both.TLVs = parameters("1F", 2).TLVs
	notice := told("1F", "ENROUTE")
	notice.ESMClass = pdu.ClassNotice
	for name, c := range map[string]struct {
		in   pdu.Message
		want string
	}{
		"delivered":                    {told("1F", "DELIVRD"), "delivered"},
		"undeliverable":                {told("1F", "UNDELIV"), "failed"},
		"expired":                      {told("1F", "EXPIRED"), "failed"},
		"deleted":                      {told("1F", "DELETED"), "failed"},
		"rejected":                     {told("1F", "REJECTD"), "failed"},
		"accepted":                     {told("1F", "ACCEPTD"), "sent"},
		"unknown":                      {told("1F", "UNKNOWN"), "sent"},
		"on its way":                   {notice, "sent"},
		"other letters":                {lower, "delivered"},
		"parameters":                   {parameters("1F", 2), "delivered"},
		"parameters that say no":       {parameters("1F", 5), "failed"},
		"parameters before words":      {both, "delivered"},
		"parameters without the class": {unmarked, "delivered"},
		"in decimal digits":            {told("31", "DELIVRD"), "delivered"},
		"in decimal digits with zeros": {told("0000000031", "DELIVRD"), "delivered"},
		"about something else":         {told("77", "UNDELIV"), ""},
		"without a state":              {pdu.Message{ESMClass: pdu.ClassReceipt, Short: []byte("id:1F")}, ""},
		"without an id":                {pdu.Message{ESMClass: pdu.ClassReceipt, Short: []byte("stat:DELIVRD")}, ""},
		"with nothing":                 {pdu.Message{ESMClass: pdu.ClassReceipt}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
				center := r.bound()
				r.sentAs(center, "a.1", "hi", "1F")
				require.Equal(t, pdu.OK, center.brought(c.in))
				if c.want == "" {
					require.Empty(t, r.reported())
				} else {
					require.Equal(t, []string{"a.1 " + c.want}, r.reported())
				}
				require.Empty(t, r.said(), "a receipt is nobody's text")
			})
		})
	}
}

func TestADigitIDIsAnotherOnesOnlyForTheSameRecipient(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		r.sentAs(c, "a.1", "hi", "1f")
		other := told("31", "UNDELIV")
		other.Source = pdu.Address{TON: 1, Number: "15415550177"}
		require.Equal(t, pdu.OK, c.brought(other))
		require.Empty(t, r.reported())
	})
}

func TestSeveralPartsAreDeliveredWhenAllAre(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		r.sentAs(c, "a.1", strings.Repeat("a", 200), "m1", "m2")
		require.Equal(t, pdu.OK, c.brought(told("m2", "DELIVRD")))
		require.Equal(t, pdu.OK, c.brought(told("m2", "DELIVRD")))
		require.Equal(t, []string{"a.1 sent", "a.1 sent"}, r.reported(), "the same one again is not the other")
		require.Equal(t, pdu.OK, c.brought(told("m1", "DELIVRD")))
		require.Equal(t, "a.1 delivered", r.reported()[2])

		r.sentAs(c, "a.2", strings.Repeat("b", 200), "m3", "m4")
		require.Equal(t, pdu.OK, c.brought(told("m3", "DELIVRD")))
		require.Equal(t, pdu.OK, c.brought(told("m4", "EXPIRED")))
		require.Equal(t, "a.2 failed", r.reported()[4], "half a text is none")
	})
}

func TestAReceiptBeforeTheAnswer(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", "hi")
		p := c.get(pdu.SubmitSM)
		require.Equal(t, pdu.OK, c.brought(told("m1", "DELIVRD")))
		require.Empty(t, r.reported())
		c.take(p, "m1")
		require.Equal(t, store.Sent, (<-done).Kind)
		require.Equal(t, []string{"a.1 delivered"}, r.reported())
	})
}

func TestAReceiptThatIsNotTakenComesAgain(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		r.sentAs(c, "a.1", "hi", "m1")
		r.set(func() { r.fail = errors.New("the disk is full") })
		require.Equal(t, pdu.TryAgain, c.brought(told("m1", "UNDELIV")))
		r.set(func() { r.fail = store.ErrNotFound })
		require.Equal(t, pdu.OK, c.brought(told("m1", "UNDELIV")), "of a line that was erased")
		r.set(func() { r.fail = nil })
		require.Equal(t, pdu.OK, c.brought(told("m1", "UNDELIV")))
		require.Equal(t, []string{"a.1 failed"}, r.reported())
	})
}

func TestReceiptsFindTheirLineAfterARestart(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		r.sentAs(c, "a.1", "hi", "m1")
		defer run(smpp.New(r.config))()
		require.Equal(t, pdu.OK, r.bound().brought(told("m1", "DELIVRD")))
		require.Equal(t, []string{"a.1 delivered"}, r.reported())
	})
}

// A receipt may carry user_message_reference, section 5.3.2.17 (from memory): then it
// vouches for a message whose answer got lost.
func TestAReceiptVouchesForAMessageInDoubt(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", "hi")
		m := submitted(t, c.get(pdu.SubmitSM))
		reference, ok := m.TLVs.Number(pdu.TagUserReference)
		require.True(t, ok)
		c.conn.Close()
		require.Equal(t, store.Retry, (<-done).Kind)

		c = r.bound()
		receipt := told("m1", "DELIVRD")
		receipt.TLVs = pdu.TLVs{pdu.Short(pdu.TagUserReference, reference)}
		require.Equal(t, pdu.OK, c.brought(receipt))
		require.Equal(t, []string{"a.1 delivered"}, r.reported())
		require.Equal(t, store.Sent, (<-r.send("a.1", "hi")).Kind)
		c.none()
		require.Equal(t, pdu.OK, c.brought(told("m1", "DELIVRD")), "and its id is known from now on")
		require.Len(t, r.reported(), 2)
	})
}

func TestNoReceiptsWhereNoneAreWanted(t *testing.T) {
	play(t, smpp.Settings{Silent: true}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", "hi")
		p := c.get(pdu.SubmitSM)
		require.Zero(t, submitted(t, p).Registered)
		c.take(p, "m1")
		require.Equal(t, store.Sent, (<-done).Kind)
		synctest.Wait()
	})
}
