package smpp_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
)

// piece is a part of a longer text with an 8-bit reference.
func piece(reference uint16, sequence, total byte, text string) pdu.Message {
	header := pdu.Concat{Reference: reference, Total: total, Sequence: sequence}.Header()
	return pdu.Message{ESMClass: pdu.ClassHasHeader, Short: append(header, text...)}
}

// drain forgets what came meanwhile, such as enquire_link.
func (c *center) drain() {
	synctest.Wait()
	for len(c.in) > 0 {
		<-c.in
	}
}

func TestPartsAreJoinedInWhateverOrder(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.Equal(t, pdu.OK, c.brought(piece(7, 3, 3, "and ph 7.2")))
		require.Equal(t, pdu.OK, c.brought(piece(8, 2, 2, "two")), "another text in between")
		require.Equal(t, pdu.OK, c.brought(piece(7, 1, 3, "chlorine 3, ")))
		require.Equal(t, pdu.OK, c.brought(piece(7, 1, 3, "chlorine 3, ")), "a part that came again")
		require.Empty(t, r.said())
		require.Equal(t, pdu.OK, c.brought(piece(7, 2, 3, "alkalinity 90 ")))
		require.Equal(t, []string{"chlorine 3, alkalinity 90 and ph 7.2"}, r.said())
		require.Equal(t, pdu.OK, c.brought(piece(8, 1, 2, "one ")))
		require.Equal(t, []string{"chlorine 3, alkalinity 90 and ph 7.2", "one two"}, r.said())

		require.Equal(t, pdu.OK, c.brought(piece(7, 2, 3, "alkalinity 90 ")), "its answer got lost")
		sleep(5 * time.Minute)
		require.Len(t, r.said(), 2, "and makes no text of its own")
	})
}

func TestOtherWaysOfTellingParts(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		wide := func(sequence byte, octets string) pdu.Message {
			h := pdu.Concat{Reference: 0x1234, Wide: true, Total: 2, Sequence: sequence}.Header()
			return pdu.Message{ESMClass: pdu.ClassHasHeader, DataCoding: pdu.CodingUCS2, Short: append(h, octets...)}
		}
		require.Equal(t, pdu.OK, c.brought(wide(1, "\x00a\xD8\x3D")))
		require.Equal(t, pdu.OK, c.brought(wide(2, "\xDC\x4D\x00b")))
		require.Equal(t, []string{"a👍b"}, r.said(), "cut within a character")
		sar := func(sequence byte, text string) pdu.Message {
			return pdu.Message{Short: []byte(text), TLVs: pdu.TLVs{pdu.Short(pdu.TagSARReference, 5),
				pdu.Octet(pdu.TagSARTotal, 2), pdu.Octet(pdu.TagSARSequence, sequence)}}
		}
		require.Equal(t, pdu.OK, c.brought(sar(1, "one ")))
		require.Equal(t, pdu.OK, c.brought(sar(2, "two")))
		require.Equal(t, "one two", r.said()[1])
	})
}

func TestAPartIsAnsweredWhenItIsKept(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.NoError(t, r.store.Close())
		require.Equal(t, pdu.TryAgain, c.brought(piece(7, 1, 2, "one ")))
	})
}

func TestPartsOutliveARestartAndTheLastOneATurnThatFails(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.Equal(t, pdu.OK, c.brought(piece(7, 1, 2, "one ")))
		defer run(smpp.New(r.config))()
		c = r.bound()
		r.set(func() { r.refuse = errors.New("the disk is full") })
		require.Equal(t, pdu.TryAgain, c.brought(piece(7, 2, 2, "two")))
		r.set(func() { r.refuse = nil })
		sleep(time.Minute) // the message center does not try again: the sweep does
		require.Equal(t, []string{"one two"}, r.said())
	})
}

func TestWhatIsMissingIsWaitedForAndThenLeftOut(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.Equal(t, pdu.OK, c.brought(piece(7, 1, 3, "my test: chlorine 3 and ph 7")))
		require.Equal(t, pdu.OK, c.brought(piece(7, 3, 3, "5 and the water is a bit cloudy")))
		sleep(2 * time.Minute)
		require.Empty(t, r.said())
		sleep(2 * time.Minute)
		require.Equal(t, []string{"my test: chlorine 3 and ph [...] and the water is a bit cloudy"}, r.said(), "no half of a number")
		c.drain()
		require.Equal(t, pdu.OK, c.brought(piece(7, 2, 3, ".2 and alkalinity 9")), "it comes at last")
		sleep(5 * time.Minute)
		require.Equal(t, "[...] and alkalinity [...]", r.said()[1])
	})
}

func TestWhatIsMissingIsWaitedForWhileTheLinkIsDown(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.Equal(t, pdu.OK, c.brought(piece(7, 1, 2, "one ")))
		c.conn.Close()
		c = <-r.centers
		bind := c.get(pdu.BindTransceiver)
		c.send(bind.Answer(pdu.InvalidPassword)) // five minutes
		c = r.bound()
		require.Equal(t, pdu.OK, c.brought(piece(7, 2, 2, "two")))
		require.Equal(t, []string{"one two"}, r.said())

		require.Equal(t, pdu.OK, c.brought(piece(8, 1, 2, "three and four")))
		for range 7 {
			c.conn.Close()
			c = <-r.centers
			c.send(c.get(pdu.BindTransceiver).Answer(pdu.InvalidPassword))
		}
		require.Equal(t, "three and [...]", r.said()[1], "but not for ever")
	})
}

func TestAnEmergencyHardlyWaits(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.Equal(t, pdu.OK, c.brought(piece(7, 2, 2, "my eyes are burning")))
		sleep(25 * time.Second)
		require.Equal(t, []string{"[...] eyes are burning"}, r.said())
	})
}

func TestAReferenceThatIsUsedAnew(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		require.Equal(t, pdu.OK, c.brought(piece(7, 1, 2, "the first half of something")))
		require.Equal(t, pdu.OK, c.brought(piece(7, 1, 2, "a new text in ")))
		require.Equal(t, []string{"the first half of [...]"}, r.said())
		require.Equal(t, pdu.OK, c.brought(piece(7, 2, 2, "two parts")))
		require.Equal(t, "a new text in two parts", r.said()[1])
	})
}

func TestPartsForNobody(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		p := piece(7, 1, 2, "one ")
		c.next++
		p.Destination = pdu.Address{Number: "555"}
		c.send(pdu.PDU{ID: pdu.DeliverSM, Sequence: c.next, Body: p})
		require.Equal(t, pdu.InvalidDestination, c.get(pdu.DeliverSM.Response()).Status)

		r.set(func() { r.refuse = smpp.ErrNoSender })
		require.Equal(t, pdu.OK, c.brought(piece(9, 1, 2, "one ")))
		require.Equal(t, pdu.InvalidSource, c.brought(piece(9, 2, 2, "two")))
		left, err := r.store.Documents(context.Background(), "fernhollow", "smpp_part", "", 10, time.Now())
		require.NoError(t, err)
		require.Empty(t, left, "nothing waits for what will never be taken")
	})
}
