package email

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/channel/email/calendar"
	"tubhand/internal/channel/email/compose"
	"tubhand/internal/channel/email/picture"
	"tubhand/internal/conversation"
	"tubhand/internal/mailbox"
	"tubhand/internal/store"
	"tubhand/internal/understand"
)

// Write gives the message of a line, signed and ready to send.
func (s *Sender) Write(ctx context.Context, l conversation.Line) ([]byte, error) {
	m := s.envelope(l)
	c, err := s.Records.View(ctx, s.Box.Shop.Key).Conversation(l.Conversation)
	switch {
	case errors.Is(err, store.ErrNotFound):
	case err != nil:
		return nil, err
	case l.Class == conversation.ClassPage:
		m.Staff, m.Subject = true, "Page: "+clipped(l.Text, 60)
	case slices.Contains(c.Owner.Addresses, l.To): // else it is a code to an address that is not theirs yet
		if err := s.forOwner(ctx, m, &c, l); err != nil {
			return nil, err
		}
	}
	raw, err := compose.Write(m, s.pages)
	if err != nil {
		return nil, err
	}
	return s.sign(raw)
}

// envelope is what every message has.
func (s *Sender) envelope(l conversation.Line) *compose.Message {
	b, key := s.Box, s.Box.Key
	name, from := b.Shop.Key, b.Mail.Address
	return &compose.Message{
		Language: language(b.Shop.Language), Shop: b.Shop.Name, Phone: b.Shop.Phone, Postal: b.Mail.Postal,
		From: from, To: l.To, ReplyTo: mailbox.WithDetail(from, key.Reply(name, l.To, s.Clock.Now())),
		Subject: subject(b.Shop, language(b.Shop.Language)), MessageID: key.MessageID(name, l.ID, mailbox.Of(from)),
		Date: s.Clock.Now(), Auto: automatic(l.Class), Loop: key.Loop(name), Text: l.Text,
		Boundary: func(which string) string { return key.Boundary(name, l.ID, which) },
	}
}

// subject is that of a thread which the owner has not named: one for all, so that mail
// programs keep it together.
func subject(s *conversation.Shop, language string) string {
	if language == "es" {
		return "Su tina, de " + s.Name
	}
	return "Your tub, from " + s.Name
}

// automatic is the field of RFC 3834, 5. A person's own words are a person's.
func automatic(c conversation.Class) string {
	switch c {
	case conversation.ClassStaff:
		return ""
	case conversation.ClassReminder, conversation.ClassPage:
		return "auto-generated"
	}
	return "auto-replied"
}

// forOwner adds what owners' mail has: the thread, the way out, doses, readings, waits.
func (s *Sender) forOwner(ctx context.Context, m *compose.Message, c *conversation.Conversation, l conversation.Line) error {
	b := s.Box
	if c.Owner.Language != "" {
		m.Language = language(c.Owner.Language)
		m.Subject = subject(b.Shop, m.Language)
	}
	m.LeaveMail = m.ReplyTo
	if b.Mail.Public != "" {
		m.LeaveURL = b.Mail.Public + "/out/mail/" + b.Shop.Key + "/" + b.Key.Leave(b.Shop.Key, l.To)
	}
	s.thread(m, c)
	view := s.Records.View(ctx, b.Shop.Key)
	log, err := view.Log(c.ID, 400)
	if err != nil {
		return err
	}
	m.Doses = doses(m.Language, c, log, l.At)
	if m.Picture, err = s.readings(m.Language, c, log, l.At); err != nil {
		return err
	}
	reminders, err := view.Reminders(c.ID)
	if err != nil {
		return err
	}
	lines, err := view.Transcript(c.ID, 60)
	if err != nil {
		return err
	}
	m.Waits = s.waits(m, c, reminders, lines, l)
	return nil
}

// thread puts a message under the owner's last one (RFC 5322, 3.6.4), or under a root
// that all of a conversation's messages share.
func (s *Sender) thread(m *compose.Message, c *conversation.Conversation) {
	if c.Thread == nil || c.Thread.MessageID == "" {
		m.References = []string{s.Box.Key.MessageID(s.Box.Shop.Key, c.ID+"#", mailbox.Of(m.From))}
		return
	}
	m.InReplyTo, m.References = c.Thread.MessageID, c.Thread.References
	if c.Thread.Subject == "" {
		return
	}
	if m.Subject = c.Thread.Subject; !strings.HasPrefix(strings.ToLower(m.Subject), "re:") {
		m.Subject = "Re: " + m.Subject
	}
}

// doses are those that this turn advised.
func doses(language string, c *conversation.Conversation, log []conversation.LogEntry, at time.Time) []compose.Dose {
	var out []compose.Dose
	for _, e := range log {
		if e.Kind == "advised" && e.Dose != nil && e.At.Equal(at) {
			product, measure, why := conversation.DoseSaid(language, e.Dose, c.Owner.Metric)
			out = append(out, compose.Dose{Product: product, Measure: measure, Why: why})
		}
	}
	return out
}

// shown are the quantities that are drawn, in this order.
var shown = [...]understand.Quantity{
	understand.PH, understand.FreeChlorine, understand.Bromine, understand.TotalAlkalinity, understand.CalciumHardness,
}

// past is how far back readings are drawn.
const past = 92 * 24 * time.Hour

// readings draws the tub's tests where this turn has taken one.
func (s *Sender) readings(language string, c *conversation.Conversation, log []conversation.LogEntry, at time.Time) (*compose.Picture, error) {
	if !slices.ContainsFunc(log, func(e conversation.LogEntry) bool { return e.Kind == "reading" && e.At.Equal(at) }) {
		return nil, nil
	}
	var all []picture.Series
	var told []string
	for _, q := range shown {
		one := picture.Series{Name: conversation.QuantitySaid(language, q)}
		if limit, ok := s.limits.Of(string(q)); ok {
			one.Low, one.High = limit.Soak.Low, limit.Soak.High
			if limit.Unit != "" {
				one.Unit = " " + limit.Unit
			}
		}
		for _, e := range log {
			if e.Kind == "reading" && e.Name == string(q) && at.Sub(e.At) < past && !e.At.After(at) {
				one.Points = append(one.Points, picture.Point{At: e.At, Low: e.Low, High: max(e.High, e.Low)})
			}
		}
		if n := len(one.Points); n > 1 {
			all = append(all, one)
			told = append(told, one.Name+": "+figures(one.Points[max(0, n-6):]))
		}
	}
	zone, err := time.LoadLocation(c.Owner.TimeZone)
	if err != nil || c.Owner.TimeZone == "" {
		zone = time.UTC
	}
	png, err := s.drawer.Draw(all, zone, map[string]string{"es": "2/1/2006", "en": "Jan 2, 2006"}[language])
	if err != nil || png == nil {
		return nil, err
	}
	return &compose.Picture{PNG: png, Alt: strings.Join(told, "; ")}, nil
}

// figures says the last tests, for who does not see the picture.
func figures(points []picture.Point) string {
	var out []string
	for _, p := range points {
		out = append(out, strconv.FormatFloat((p.Low+p.High)/2, 'f', -1, 64))
	}
	return strings.Join(out, ", ")
}

// waits are calendar entries for the waits that have begun since the owner last heard of
// us. Ids count up in a conversation, which tells what came after what.
func (s *Sender) waits(m *compose.Message, c *conversation.Conversation, reminders []conversation.Reminder, lines []conversation.Line, l conversation.Line) []calendar.Wait {
	if c.Service == nil {
		return nil
	}
	var before int64
	for _, line := range lines {
		if line.Send && line.Class != conversation.ClassPage && line.At.Before(l.At) {
			before = max(before, serial(line.ID))
		}
	}
	title := map[string]string{"en": "your tub, next step", "es": "su tina, siguiente paso"}[m.Language]
	var out []calendar.Wait
	for _, r := range reminders {
		if !strings.HasPrefix(r.Name, "timer:") || serial(r.ID) <= before || !r.Due.After(l.At) || len(out) == 4 {
			continue
		}
		out = append(out, calendar.Wait{
			UID: s.Box.Key.Envelope(s.Box.Shop.Key, r.ID) + "@" + mailbox.Of(m.From), Organizer: m.From,
			Title: m.Shop + ": " + title, About: clipped(l.Text, 800), At: r.Due, Made: l.At,
		})
	}
	return out
}

// serial is an id's place in its conversation, from its last part.
func serial(id string) int64 {
	n, err := strconv.ParseInt(id[strings.LastIndexByte(id, '.')+1:], 36, 64)
	if err != nil {
		return 0
	}
	return n
}

func clipped(s string, most int) string {
	runes := []rune(strings.Join(strings.Fields(s), " "))
	if len(runes) <= most {
		return string(runes)
	}
	return string(runes[:most]) + "..."
}
