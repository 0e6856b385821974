package smpp_test

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/store"
)

func TestAMessageIsSentWhenItIsAccepted(t *testing.T) {
	play(t, smpp.Settings{Validity: 26*time.Hour + 5*time.Minute}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", "Turn the jets to high. It’s 104°F")
		p := c.get(pdu.SubmitSM)
		m := submitted(t, p)
		require.Equal(t, pdu.Address{TON: 1, NPI: 1, Number: shopLine}, m.Source)
		require.Equal(t, pdu.Address{TON: 1, NPI: 1, Number: owner}, m.Destination)
		require.Equal(t, "Turn the jets to high. It's 104 F", string(m.Short), "folded to the 7-bit alphabet")
		require.Zero(t, m.DataCoding)
		require.EqualValues(t, 1, m.Registered)
		require.Equal(t, "000001020500000R", m.Validity, "a day, two hours and five minutes, section 7.1.1")
		c.take(p, "m1")
		require.Equal(t, store.Result{Kind: store.Sent}, <-done)
	})
}

func TestLongTexts(t *testing.T) {
	long := strings.Repeat("a", 152) + "[" + strings.Repeat("b", 151)
	accented := strings.Repeat("á", 70) + "👍"
	for name, c := range map[string]struct {
		settings smpp.Settings
		text     string
		check    func(t *testing.T, parts []pdu.Message)
	}{
		"a header": {smpp.Settings{}, long, func(t *testing.T, parts []pdu.Message) {
			require.Len(t, parts, 2)
			for i, m := range parts {
				require.EqualValues(t, 0x40, m.ESMClass)
				require.Equal(t, []byte{5, 0, 3, parts[0].Short[3], 2, byte(i + 1)}, m.Short[:6])
			}
			require.Equal(t, strings.Repeat("a", 152), string(parts[0].Short[6:]), "an escape is not cut from its character")
			require.Equal(t, "\x1B\x3C"+strings.Repeat("b", 151), string(parts[1].Short[6:]))
		}},
		"a wide header": {smpp.Settings{Long: smpp.UDH16}, strings.Repeat("a", 304), func(t *testing.T, parts []pdu.Message) {
			require.Len(t, parts, 2)
			require.Equal(t, []byte{6, 8, 4}, parts[0].Short[:3])
			require.Len(t, parts[0].Short, 7+152)
		}},
		"parameters": {smpp.Settings{Long: smpp.SAR}, strings.Repeat("a", 304), func(t *testing.T, parts []pdu.Message) {
			require.Len(t, parts, 2)
			require.Zero(t, parts[1].ESMClass)
			total, _ := parts[1].TLVs.Number(pdu.TagSARTotal)
			sequence, _ := parts[1].TLVs.Number(pdu.TagSARSequence)
			require.EqualValues(t, 2, total)
			require.EqualValues(t, 2, sequence)
		}},
		"message_payload": {smpp.Settings{Long: smpp.Payload}, long, func(t *testing.T, parts []pdu.Message) {
			require.Len(t, parts, 1)
			require.Empty(t, parts[0].Short)
			payload, _ := parts[0].TLVs.Get(pdu.TagMessagePayload)
			require.Len(t, payload, 305)
		}},
		"UCS-2": {smpp.Settings{}, accented, func(t *testing.T, parts []pdu.Message) {
			require.Len(t, parts, 2)
			require.EqualValues(t, 8, parts[0].DataCoding)
			require.Len(t, parts[0].Short, 6+134)
		}},
		"Latin-1 for 0": {smpp.Settings{Alphabet: smpp.Latin1}, "¿señor?", func(t *testing.T, parts []pdu.Message) {
			require.Zero(t, parts[0].DataCoding)
			require.Equal(t, "\xBFse\xF1or?", string(parts[0].Short))
		}},
		"what Latin-1 lacks": {smpp.Settings{Alphabet: smpp.Latin1}, "5 €", func(t *testing.T, parts []pdu.Message) {
			require.EqualValues(t, 8, parts[0].DataCoding)
		}},
	} {
		t.Run(name, func(t *testing.T) {
			play(t, c.settings, func(t *testing.T, r *rig) {
				center := r.bound()
				done := r.send("a.1", c.text)
				var parts []pdu.Message
				sleep(time.Second)
				synctest.Wait()
				for len(center.in) > 0 {
					p := center.get(pdu.SubmitSM)
					parts = append(parts, submitted(t, p))
					center.take(p, "m"+string(rune('0'+len(parts))))
				}
				require.Equal(t, store.Sent, (<-done).Kind)
				c.check(t, parts)
			})
		})
	}
}

func TestWhatCannotBeSent(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		r.bound()
		require.Equal(t, store.Failed, (<-r.send("a.1", "  ")).Kind)
		require.Equal(t, store.Failed, (<-r.send("a.2", strings.Repeat("á", 67*20+1))).Kind)
	})
}

func TestRefusals(t *testing.T) {
	for status, kind := range map[pdu.Status]string{
		pdu.InvalidDestination: store.Failed, pdu.InvalidSource: store.Failed, pdu.InvalidLength: store.Failed,
		pdu.SystemError: store.Retry, pdu.SubmitFailed: store.Retry, 0x401: store.Retry, 0xFF: store.Retry,
	} {
		play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
			c := r.bound()
			done := r.send("a.1", "hi")
			p := c.get(pdu.SubmitSM)
			c.send(p.Answer(status))
			got := <-done
			require.Equal(t, kind, got.Kind, status.String())
			require.Contains(t, got.Why, status.String())
			if kind == store.Retry {
				done = r.send("a.1", "hi")
				sleep(time.Second)
				c.send(c.get(pdu.SubmitSM).Answer(pdu.OK))
				require.Equal(t, store.Sent, (<-done).Kind)
			}
		})
	}
}

func TestThrottlingIsWaitedFor(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", strings.Repeat("a", 200))
		first := c.get(pdu.SubmitSM)
		sleep(time.Second)
		second := c.get(pdu.SubmitSM)
		c.take(second, "m2")
		c.send(first.Answer(pdu.Throttled))
		sleep(900 * time.Millisecond)
		c.none()
		sleep(200 * time.Millisecond)
		again := c.get(pdu.SubmitSM)
		require.Equal(t, first.Body, again.Body, "that part alone, unchanged")
		c.send(again.Answer(pdu.QueueFull))
		sleep(1900 * time.Millisecond)
		c.none()
		sleep(200 * time.Millisecond)
		c.take(c.get(pdu.SubmitSM), "m1")
		require.Equal(t, store.Sent, (<-done).Kind)
	})
}

func TestThrottlingBeyondAnAttempt(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", "hi")
		began := time.Now()
		for range 4 { // pauses of 1, 2, 4 and 8 seconds
			c.send(c.get(pdu.SubmitSM).Answer(pdu.Throttled))
			sleep(time.Second << r.count("throttled"))
		}
		got := <-done
		require.Equal(t, store.Retry, got.Kind)
		require.Equal(t, 15*time.Second, got.Next.Sub(began), "when the pause ends")
	})
}

// count is how often something was observed, less one.
func (r *rig) count(what string) int {
	synctest.Wait()
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.events[what] - 1
}

func TestNoMoreAtATimeThanTheWindowNorASecondThanTheLimit(t *testing.T) {
	play(t, smpp.Settings{Window: 3, PerSecond: 2}, func(t *testing.T, r *rig) {
		c := r.bound()
		var done []<-chan store.Result
		for _, id := range []string{"a.1", "b.1", "c.1", "d.1"} {
			done = append(done, r.send(id, "hi"))
		}
		first := c.get(pdu.SubmitSM)
		c.none()
		sleep(500 * time.Millisecond)
		second := c.get(pdu.SubmitSM)
		sleep(500 * time.Millisecond)
		third := c.get(pdu.SubmitSM)
		sleep(3 * time.Second)
		c.none()
		c.take(third, "m3") // in whatever order
		fourth := c.get(pdu.SubmitSM)
		c.take(fourth, "m4")
		c.take(first, "m1")
		c.take(second, "m2")
		for _, d := range done {
			require.Equal(t, store.Sent, (<-d).Kind)
		}
	})
}

func TestALinkThatBreaksInTheMiddle(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", strings.Repeat("a", 200))
		first := c.get(pdu.SubmitSM)
		sleep(time.Second)
		second := c.get(pdu.SubmitSM)
		c.take(first, "m1")
		synctest.Wait()
		c.conn.Close()
		got := <-done
		require.Equal(t, store.Retry, got.Kind)
		require.Equal(t, 15*time.Second, time.Until(got.Next), "a receipt may vouch for it meanwhile")

		c = r.bound()
		done = r.send("a.1", strings.Repeat("a", 200))
		again := c.get(pdu.SubmitSM)
		require.Equal(t, second.Body, again.Body, "the part that is in doubt, with its reference; not the one that was accepted")
		sleep(time.Second)
		c.none()
		c.take(again, "m2")
		require.Equal(t, store.Sent, (<-done).Kind)
	})
}

func TestALateAnswerCounts(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		c := r.bound()
		done := r.send("a.1", "hi")
		p := c.get(pdu.SubmitSM)
		got := <-done
		require.Equal(t, store.Retry, got.Kind)
		c.take(p, "m1")
		synctest.Wait()
		require.Equal(t, store.Sent, (<-r.send("a.1", "hi")).Kind)
		c.none()
	})
}

func TestAnAnswerThatNeverComes(t *testing.T) {
	play(t, smpp.Settings{Window: 1}, func(t *testing.T, r *rig) {
		c := r.bound()
		first := r.send("a.1", "hi")
		p := c.get(pdu.SubmitSM)
		require.Equal(t, store.Retry, (<-first).Kind)
		require.Equal(t, "the message center is slow to answer", (<-r.send("b.1", "hi")).Why)
		sleep(15 * time.Second) // thirty in all: the place is free again
		c.drain()
		second := r.send("b.1", "hi")
		c.take(c.get(pdu.SubmitSM), "m2")
		require.Equal(t, store.Sent, (<-second).Kind)
		c.take(p, "m1")
		synctest.Wait()
		require.True(t, r.link.Bound(), "an answer that nobody waits for is dropped")
	})
}

func TestWithoutALink(t *testing.T) {
	play(t, smpp.Settings{}, func(t *testing.T, r *rig) {
		<-r.centers
		got := <-r.send("a.1", "hi")
		require.Equal(t, store.Retry, got.Kind)
		require.Equal(t, "no link to the message center", got.Why)
	})
}

func TestReferencesOfOnePhoneDiffer(t *testing.T) {
	play(t, smpp.Settings{PerSecond: 1000}, func(t *testing.T, r *rig) {
		c := r.bound()
		var last []byte
		for i := range 60 {
			done := r.send("a."+strings.Repeat("i", i), strings.Repeat("a", 200))
			sleep(10 * time.Millisecond)
			one, two := c.get(pdu.SubmitSM), c.get(pdu.SubmitSM)
			require.Equal(t, submitted(t, one).Short[3], submitted(t, two).Short[3])
			require.NotContains(t, last, submitted(t, one).Short[3])
			last = append(last, submitted(t, one).Short[3])
			last = last[max(0, len(last)-4):]
			c.take(one, "m")
			c.take(two, "n")
			require.Equal(t, store.Sent, (<-done).Kind)
		}
	})
}
