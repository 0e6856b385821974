package smpp_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
)

func TestTheLinkIsKeptAlive(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		c.send(pdu.PDU{ID: pdu.EnquireLink, Sequence: 77})
		require.EqualValues(t, 77, c.get(pdu.EnquireLink.Response()).Sequence)
		sleep(29 * time.Second)
		c.none()
		sleep(2 * time.Second)
		c.get(pdu.EnquireLink)
		sleep(20 * time.Second)
		require.Equal(t, pdu.OK, c.brought(plain("hi")), "a word from there counts as well")
		sleep(20 * time.Second)
		c.none()
		require.True(t, r.link.Bound())
	})
}

func TestAPeerThatIsGoneIsNoticed(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		c.deaf.Store(true)
		sleep(41 * time.Second)
		require.False(t, r.link.Bound())
		c.closed()
		r.bound()
		require.True(t, r.link.Bound())
	})
}

func TestGarbageEndsTheConnectionAndNotTheLink(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		c.raw([]byte("GET / HTTP/1.1\r\n\r\n")...)
		require.Equal(t, pdu.InvalidCommandLength, c.get(pdu.GenericNack).Status)
		c.closed()
		c = r.bound()
		require.Equal(t, pdu.OK, c.brought(plain("hi")))
	})
}

func TestUnitsThatCannotBeReadAreAnswered(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		c.raw(0, 0, 0, 16, 0, 0, 1, 3, 0, 0, 0, 0, 0, 0, 0, 9)
		nack := c.get(pdu.GenericNack)
		require.Equal(t, pdu.InvalidCommand, nack.Status)
		require.EqualValues(t, 9, nack.Sequence)
		c.raw(0, 0, 0, 18, 0, 0, 0, 5, 0, 0, 0, 0, 0, 0, 0, 10, 0, 1)
		require.Equal(t, pdu.InvalidCommandLength, c.get(pdu.DeliverSM.Response()).Status)
		c.send(pdu.PDU{ID: pdu.SubmitSM, Sequence: 11, Body: pdu.Message{}})
		require.Equal(t, pdu.WrongBindStatus, c.get(pdu.SubmitSM.Response()).Status, "nobody submits to us")
		c.send(pdu.PDU{ID: pdu.GenericNack, Sequence: 12, Status: pdu.InvalidCommand})
		c.raw(0, 0, 0, 16, 0x80, 0, 1, 3, 0, 0, 0, 0, 0, 0, 0, 13)
		c.none()
		require.Equal(t, pdu.OK, c.brought(plain("hi")), "after all that")
		for range 10 {
			c.raw(0, 0, 0, 16, 0, 0, 1, 3, 0, 0, 0, 0, 0, 0, 0, 9)
		}
		c.closed()
		r.bound()
	})
}

// A submit_sm_resp that says yes and is broken behind its head still says yes.
func TestABrokenAnswerTellsItsStatus(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", "hi")
		p := c.get(pdu.SubmitSM)
		c.raw(0, 0, 0, 18, 0x80, 0, 0, 4, 0, 0, 0, 0, 0, 0, 0, byte(p.Sequence), 'm', '1')
		require.Equal(t, "sent", (<-done).Kind)
	})
}

func TestWrongCredentialsAreNotTriedOverAndOver(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := <-r.centers
		bind := c.get(pdu.BindTransceiver)
		c.send(bind.Answer(pdu.InvalidPassword))
		c.closed()
		sleep(4*time.Minute + 59*time.Second)
		require.Empty(t, r.centers)
		sleep(2 * time.Second)
		r.bound()
	})
}

func TestEachFailureWaitsLonger(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		last := time.Now()
		for _, rest := range []time.Duration{0, 500, 1000, 2000, 4000, 8000, 16000, 30000, 30000} { // ms: half of each step at chance 0
			c := <-r.centers
			require.Equal(t, rest*time.Millisecond, time.Since(last))
			bind := c.get(pdu.BindTransceiver)
			last = time.Now()
			c.send(bind.Answer(pdu.AlreadyBound))
		}
		r.bound()
		sleep(2 * time.Minute)
		synctest.Wait()
	})
}

func TestABindWithoutAnAnswerIsGivenUp(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := <-r.centers
		sleep(10*time.Second + time.Millisecond)
		c.closed()
		r.bound()
	})
}

func TestAPeerThatSaysUnbind(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		c.send(pdu.PDU{ID: pdu.Unbind, Sequence: 5})
		require.EqualValues(t, 5, c.get(pdu.Unbind.Response()).Sequence)
		c.closed()
		r.bound()
	})
}

func TestTheLinkTakesItsLeave(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		r.bound()
		end := run(smpp.New(r.config))
		c := r.bound()
		r.set(func() { r.hold = make(chan struct{}) })
		c.bring(plain("done"))
		over := make(chan struct{})
		go func() {
			end()
			close(over)
		}()
		c.none()
		c.bring(plain("one more"))
		require.Equal(t, pdu.QueueFull, c.get(pdu.DeliverSM.Response()).Status, "nothing new is begun")
		close(r.hold)
		require.Equal(t, pdu.OK, c.get(pdu.DeliverSM.Response()).Status, "what is in hand is answered")
		c.get(pdu.Unbind)
		<-over
		c.closed()
		require.Equal(t, []string{"done"}, r.said())
	})
}

func TestAPeerThatDoesNotReadIsLeft(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		c.deaf.Store(true)
		// A thousand units fill its memory, and then nobody reads.
		for range cap(c.in) + 1 {
			c.send(pdu.PDU{ID: pdu.EnquireLink, Sequence: 1})
		}
		sleep(time.Minute)
		c.closed()
		r.bound()
	})
}
