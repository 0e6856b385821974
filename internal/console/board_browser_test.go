package console_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/understand"
)

// put stores a conversation as some turn left it.
func (k *counter) put(c conversation.Conversation, fx conversation.Effects) {
	k.Helper()
	c.Shop = "fernhollow"
	if len(c.Owner.Addresses) == 0 {
		c.Owner.Addresses = []string{c.ID}
	}
	fx.Handovers = append(fx.Handovers, c.Open...)
	require.NoError(k, k.store.Commit(context.Background(), store.Turn{Shop: c.Shop, Now: k.clock.Now(), State: c, Effects: fx}))
}

// saturday fills a shop as it is on a Saturday morning.
func (k *counter) saturday() {
	k.Helper()
	now := k.clock.Now()
	k.put(soaking("+15415550151", "Ines Calloway", now), conversation.Effects{Remind: []conversation.Reminder{{ID: "r1", Due: now.Add(18 * time.Minute), Name: "timer:flush_plumbing/soak/soak_over"}}})
	quiet := soaking("+15415550143", "Walt Greer", now)
	quiet.Service.State, quiet.Service.Nudged, quiet.LastIn = "drain", 2, now.Add(-50*time.Minute)
	k.put(quiet, conversation.Effects{})
	waiting := conversation.Conversation{ID: "+15415550144", Owner: conversation.Owner{Name: "June Okafor"}}
	waiting.Open = []conversation.Handover{handover("h1", waiting.ID, "leak", "technician", now.Add(-3*time.Hour))}
	k.put(waiting, conversation.Effects{})
	for i, name := range []string{"Marisol Vega", "Theo Brandt", "Robin Ek", "Pilar Quintero de la Fuente-Hollander"} {
		k.put(conversation.Conversation{ID: fmt.Sprintf("+1541555016%d", i), Owner: conversation.Owner{Name: name}, LastIn: now.Add(-time.Duration(i+2) * 24 * time.Hour),
			Tub: conversation.Tub{VolumeUSGal: float64(300 + 40*i), Sanitizer: []string{"chlorine", "bromine"}[i%2], LastFlush: now.AddDate(0, 0, -30*i-20),
				Readings: map[understand.Quantity]conversation.Measured{understand.PH: {At: now.AddDate(0, 0, -i-1)}}}}, conversation.Effects{})
	}
}

// TestTheBoardAndOwnersInARealBrowser is a morning at the counter, in one browser.
func TestTheBoardAndOwnersInARealBrowser(t *testing.T) {
	k := newCounter(t)
	k.saturday()
	b := browse(t, 1400, 900)
	b.open(k.url)
	b.live()
	b.run(`window.loadedOnce = true`)

	// What is looked for shows as one types, and the address can be kept.
	b.fill("find", "555-0161")
	b.await("only Theo", `document.getElementById("rest-rows").innerText.includes("Theo Brandt") && !document.body.innerText.includes("Marisol Vega")`)
	b.run(`if (!location.search.includes("find=555-0161")) throw new Error(location.href)`)
	b.fill("find", "")
	b.await("everyone", `document.body.innerText.includes("Marisol Vega")`)
	b.run(`if (document.activeElement.id !== "find" || !window.loadedOnce) throw new Error("the cursor or the page is gone")`)

	// An emergency: the title tells at once, it sounds where that was asked for, and it stands first.
	b.run(`document.getElementById("sound").click()`)
	b.await("sound", `document.getElementById("sound").getAttribute("aria-pressed") === "true"`)
	k.hear("my wife got a shock from the tub and can't move")
	b.await("the title", `document.title.startsWith("EMERGENCY")`)
	b.await("the sound", `document.getElementById("sound").dataset.sounded === "1"`)
	b.await("the first row", `document.getElementById("needs-rows").firstElementChild.innerText.includes("Emergency")`)
	b.await("the totals", `document.getElementById("totals").innerText.includes("2 wait for a person")`)
	b.run(`[...document.querySelectorAll(".filters a")].find((a) => a.innerText === "Emergencies").click()`)
	b.await("emergencies only", `!window.loadedOnce && document.querySelectorAll("#needs-rows .row").length === 1 && document.querySelectorAll("#service-rows .row").length === 0`)

	// The server goes away and comes back: the page says so, and is live again by itself.
	b.open(k.url)
	b.live()
	k.cut()
	b.await("stale", `document.getElementById("pulse").dataset.state === "stale"`)
	k.start()
	b.live()

	// An owner is added, and then a list of them.
	b.open(k.url + "owners/add")
	b.fill("name", "Ada Lindqvist")
	b.fill("number", "541 555 0170")
	b.fill("size", "375")
	b.run(`document.getElementById("told").click(); document.querySelector("button.main").click()`)
	b.await("the conversation", `location.pathname.endsWith("/conversation") && document.body.innerText.includes("put down the name Ada Lindqvist")`)
	b.open(k.url + "owners/import")
	b.fill("text", "name,number,gallons\nBea Novak,(541) 555-0171,400\nNobody,12,1\nAda,541-555-0170,300")
	b.run(`document.querySelector("button.main").click()`)
	b.await("a look at it first", `document.body.innerText.includes("Line 3: the number") && document.getElementById("there")`)
	b.run(`document.getElementById("told").click(); document.querySelector("button.main").click()`)
	b.await("what was done", `document.getElementById("done").innerText === "1 owner was added or filled in"`)
	b.open(k.url + "owners?find=bea")
	b.await("Bea", `document.querySelectorAll(".owner").length === 1 && document.body.innerText.includes("Bea Novak")`)

	pictures(t, b, k)
}

// pictures looks at each page at two widths, light and dark: nothing is wider than the page.
// TUBHAND_SCREENSHOTS names a folder to keep them in.
func pictures(t *testing.T, b *tab, k *counter) {
	t.Helper()
	for _, page := range []string{"", "owners", "owners/add", "owners/import", "owners/card", "due"} {
		for _, width := range []int64{360, 1400} {
			for _, scheme := range []string{"light", "dark"} {
				require.NoError(t, chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 800), chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
					_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
						Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
					})
					return err
				})))
				b.open(k.url + page)
				b.await("a page that fits", `document.readyState === "complete" && document.documentElement.scrollWidth <= innerWidth`)
				b.run(`for (const f of document.querySelectorAll("input:not([type=hidden]),select,textarea:not([hidden])")) if (!f.labels || !f.labels.length) if (!f.getAttribute("aria-label")) throw new Error("no label: " + f.id)`)
				dir := os.Getenv("TUBHAND_SCREENSHOTS")
				if dir == "" {
					continue
				}
				image, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
				require.NoError(t, err)
				name := fmt.Sprintf("console-%s-%d-%s.png", map[string]string{"": "board", "owners": "owners", "owners/add": "add", "owners/import": "import", "owners/card": "card", "due": "due"}[page], width, scheme)
				require.NoError(t, os.WriteFile(filepath.Join(dir, name), image, 0o644))
			}
		}
	}
}
