package rehearse

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// lineWidth is where printed texts wrap.
const lineWidth = 72

// Printer prints events as a reader wants to see them: time, who, text.
type Printer struct {
	W    io.Writer
	last time.Time
}

// Print prints one event. Reminders that are set and states are left out: what they
// lead to is what matters to a reader.
func (pr *Printer) Print(e Event) {
	switch e.Kind {
	case KindIn:
		pr.write(e, "owner", e.Text)
	case KindOut:
		who := "tubhand"
		if e.By != "" {
			who = e.By
		}
		if e.Page {
			who = "page " + e.By
		}
		pr.write(e, who, e.Text)
		if e.Segments > 2 || e.Encoding != "GSM-7" {
			pr.write(e, "!", fmt.Sprintf("that text takes %d segments of %s", e.Segments, e.Encoding))
		}
	case KindHandover:
		pr.write(e, "to staff", fmt.Sprintf("%s, %s: %s", strings.ReplaceAll(e.Severity, "_", " "), strings.ReplaceAll(e.Cause, "_", " "), e.Text))
	case KindDose:
		pr.write(e, "log", e.State+" "+e.Measure+" of "+e.Text)
	case KindReading:
		pr.write(e, "log", "read "+e.Text)
	case KindNote:
		pr.write(e, "note", e.Text)
	}
}

func (pr *Printer) write(e Event, who, text string) {
	stamp := ""
	if pr.last.IsZero() || !e.At.Truncate(time.Minute).Equal(pr.last.Truncate(time.Minute)) {
		if !pr.last.IsZero() && e.At.Sub(pr.last) >= 5*time.Minute {
			fmt.Fprintf(pr.W, "%24s %s later\n", ".....", e.At.Sub(pr.last).Round(time.Minute).String())
		}
		stamp = e.At.Format("Mon 3:04 pm")
	}
	pr.last = e.At
	for i, line := range wrap(text, lineWidth) {
		if i > 0 {
			stamp, who = "", ""
		}
		fmt.Fprintf(pr.W, "%-13s %11s  %s\n", stamp, who, line)
	}
}

// wrap breaks a text at spaces.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len(line)+1+len(word) > width {
			lines, line = append(lines, line), ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}
