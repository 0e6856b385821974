package conversation_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/shop"
	"tubhand/internal/smstext"
	"tubhand/internal/wording"
	"tubhand/templates"
)

const mailAddress = "anna@owner.example"

// mailWorld is the demo shop with a mailbox.
func mailWorld(t *testing.T) *conversation.World {
	t.Helper()
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	s := shop.Demo().Shop
	s.Mail, s.Secret = "hello@fernhollow.example", []byte("for this test only")
	w, err := conversation.NewWorld(s, set, words)
	require.NoError(t, err)
	return w
}

// write is a turn of an event from any address.
func (k *walk) write(ev conversation.Event) {
	if ev.Kind == "" {
		ev.Kind = conversation.TextIn
	}
	ev.ID = "w" + ev.Text
	k.c, k.fx = k.decide(k.c, ev, k.now)
	k.out = nil
	for _, l := range k.fx.Lines {
		if l.Send {
			k.out = append(k.out, l)
		}
	}
}

var sixDigits = regexp.MustCompile(`\b\d{6}\b`)

// asked asks for a link and gives the code that went to the other address.
func asked(t *testing.T, k *walk, text string) string {
	t.Helper()
	k.text(text)
	require.Len(t, k.out, 2, k.said())
	require.NotEqual(t, address, k.out[0].To)
	require.Equal(t, address, k.out[1].To)
	code := sixDigits.FindString(k.out[0].Text)
	require.NotEmpty(t, code)
	require.NotContains(t, k.out[1].Text, code, "the code must be read at the other address")
	return code
}

func TestAnAddressIsLinkedByItsCode(t *testing.T) {
	k := newWalk(mailWorld(t))
	k.text("link my email")
	require.Contains(t, k.said(), "send LINK and your other address")
	code := asked(t, k, "LINK anna@Owner.example")
	require.Equal(t, mailAddress, k.out[0].To)
	require.Equal(t, conversation.MailGateway, k.out[0].Gateway)
	require.Equal(t, "hello@fernhollow.example", k.out[0].From)
	k.text(" link " + code[:3] + "-" + code[3:] + ". ")
	require.Equal(t, []string{address, mailAddress}, k.c.Owner.Addresses)
	require.Contains(t, k.said(), "now lead to the same place")
	require.Nil(t, k.c.Link)
	k.text("LINK " + mailAddress)
	require.Contains(t, k.said(), "linked already")

	k.write(conversation.Event{From: mailAddress, Text: "help", Letter: &conversation.Letter{MessageID: "<1@owner.example>", Subject: "Hi"}})
	require.Equal(t, mailAddress, k.out[0].To, "answered where they last wrote from")
	require.Equal(t, conversation.MailGateway, k.out[0].Gateway)
	require.Equal(t, "<1@owner.example>", k.c.Thread.MessageID)
	k.text("help")
	require.Equal(t, address, k.out[0].To)
	require.Equal(t, "plain", k.out[0].Gateway)
}

func TestCodesCountOnceAndNotForLong(t *testing.T) {
	k := newWalk(mailWorld(t))
	code := asked(t, k, "link "+mailAddress)
	for range 4 {
		k.text("000000")
		require.Contains(t, k.said(), "not the code")
	}
	k.text("000000")
	require.Contains(t, k.said(), "no longer counts")
	k.text(code)
	require.Len(t, k.c.Owner.Addresses, 1, "after five tries the right one is too late")

	code = asked(t, k, "LINK 541-555-0199")
	require.Equal(t, "+15415550199", k.out[0].To)
	k.now = k.now.Add(31 * time.Minute)
	k.text(code)
	require.Contains(t, k.said(), "no longer counts")
	require.Len(t, k.c.Owner.Addresses, 1)

	first := asked(t, k, "link "+mailAddress)
	require.NotEqual(t, code, first)
	k.text("3 7.4 100")
	require.NotContains(t, k.said(), "not the code", "a test is no code")
	k.text("link " + mailAddress)
	require.Contains(t, k.said(), "enough codes")
	k.now = k.now.Add(25 * time.Hour)
	asked(t, k, "link "+mailAddress)
}

func TestALinkTakesNothingAwayThatGoesOn(t *testing.T) {
	other := newWalk(mailWorld(t))
	other.c.ID, other.c.Owner.Addresses = mailAddress, []string{mailAddress}
	for name, c := range map[string]struct {
		change func(*conversation.Conversation)
		said   string
		joined bool
	}{
		"idle":   {func(o *conversation.Conversation) { o.Tub.VolumeUSGal = 375 }, "same place", true},
		"busy":   {func(o *conversation.Conversation) { o.Service = &conversation.Service{Flow: "flush_plumbing"} }, "still going on", false},
		"a case": {func(o *conversation.Conversation) { o.Open = []conversation.Handover{{ID: "h"}} }, "still going on", false},
		"a season": {func(o *conversation.Conversation) {
			o.Consent.Seasonal = map[string]conversation.Pending{"flush": {ID: "r"}}
		}, "still going on", false},
		"opted out": {func(o *conversation.Conversation) { o.OptedOut = true }, "no more messages", false},
	} {
		t.Run(name, func(t *testing.T) {
			k, o := newWalk(mailWorld(t)), other.c.Clone()
			c.change(&o)
			code := asked(t, k, "link "+mailAddress)
			k.write(conversation.Event{From: address, Text: code, Other: &o})
			require.Contains(t, k.said(), c.said)
			require.Equal(t, c.joined, len(k.c.Owner.Addresses) == 2)
			if c.joined {
				require.InDelta(t, 375.0, k.c.Tub.VolumeUSGal, 0, "what was told there is known here")
			}
		})
	}
}

func TestOtherLinksAreNoLink(t *testing.T) {
	k := newWalk(mailWorld(t))
	for _, text := range []string{"link", "LINK MY PHONE", "enlazar mi correo", "link hello@fernhollow.example", "link 12345678"} {
		k.text(text)
		require.Contains(t, k.said(), "LINK you@mail.example", text)
	}
	k.text("link in the chain is broken")
	require.NotContains(t, k.said(), "LINK you@")
	k.text("482913")
	require.Nil(t, k.c.Link)

	plain := newWalk(world(t)) // no mailbox, no secret: nothing is linked
	plain.text("link my email")
	require.NotContains(t, plain.said(), "LINK you@")
}

func TestMailThatProvesNothingIsNotActedUpon(t *testing.T) {
	k := newWalk(mailWorld(t))
	k.c.ID, k.c.Owner.Addresses = mailAddress, []string{mailAddress}
	unproven := conversation.Event{Kind: conversation.UnprovenIn, From: mailAddress, Text: "flush my pipes, it is 375 gallons", Remark: "no record", Ask: true}
	k.write(unproven)
	require.Nil(t, k.c.Service)
	require.Zero(t, k.c.Tub.VolumeUSGal)
	require.Contains(t, k.trail(), "may not be from anna@owner.example: no record. It says: flush my pipes")
	require.Len(t, k.out, 1)
	require.Contains(t, k.said(), "reply to this one")
	require.Contains(t, k.said(), "911")
	k.write(unproven)
	require.Empty(t, k.out, "asked once a day")

	forged := unproven
	forged.Ask, forged.Text = false, "my son swallowed chlorine and cannot breathe"
	k.now = k.now.Add(25 * time.Hour)
	k.write(forged)
	require.Equal(t, "unproven_mail", k.c.Open[0].Cause, "a person looks at a danger, whoever wrote it")
	require.Equal(t, "emergency", k.c.Open[0].Severity)
	for _, l := range k.out {
		require.Equal(t, conversation.ClassPage, l.Class, "the owner is told nothing")
	}
}

func TestAnEmailSaysAllOfATurnInOneMessage(t *testing.T) {
	k := newWalk(mailWorld(t))
	k.c.ID, k.c.Owner.Addresses = mailAddress, []string{mailAddress}
	k.write(conversation.Event{From: mailAddress, Text: "flush my pipes", Remark: "DMARC pass"})
	require.Len(t, k.out, 1)
	require.Contains(t, k.out[0].Text, "\n\n")
	require.Contains(t, k.trail(), "DMARC pass")
}

// TestLinkTextsFit: the longest address that is written out still leaves two segments.
func TestLinkTextsFit(t *testing.T) {
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	for _, language := range words.Languages() {
		w := wide(language)
		w.Owner = strings.Repeat("x", 60) + "..."
		for _, key := range []string{"which", "sent", "code", "done", "wrong", "over", "too_many", "busy", "already", "opted_out"} {
			text, ok := words.Say(language, wording.Common, "link."+key, w)
			require.True(t, ok, key)
			shape := smstext.Count(text)
			require.Equal(t, smstext.GSM7, shape.Encoding, text)
			require.LessOrEqual(t, shape.Parts, 2, text)
		}
	}
}
