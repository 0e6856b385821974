package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// axeScript is axe-core, which .ci/run fetches; TUBHAND_AXE names its file.
func axeScript(t *testing.T) string {
	t.Helper()
	file := os.Getenv("TUBHAND_AXE")
	if file == "" {
		require.Empty(t, os.Getenv("TUBHAND_CI"), "TUBHAND_AXE is not set")
		t.Skip("no axe-core: `npm pack axe-core@4.14.1`, unpack it, and name its axe.min.js in TUBHAND_AXE")
	}
	script, err := os.ReadFile(file)
	require.NoError(t, err)
	return string(script)
}

// media has the browser prefer a color scheme, and motion or none.
func (b *browser) media(scheme, motion string) {
	b.Helper()
	require.NoError(b, chromedp.Do(b.ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
			{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: motion},
		}})
		return err
	})))
}

// fault is what axe-core, or a look of our own, finds wrong with a page.
type fault struct {
	Rule   string   `json:"rule"`
	Impact string   `json:"impact"`
	Where  []string `json:"where"`
}

// Scripts for looking at pages.
const (
	axeRun = `axe.run(document, {resultTypes: ["violations"]%s}).then((r) => JSON.stringify(r.violations
		.filter((v) => v.impact === "serious" || v.impact === "critical")
		.map((v) => ({rule: v.id, impact: v.impact, where: v.nodes.slice(0, 4).map((n) => n.target.join(" ") + ": " + n.failureSummary)}))))`
	// What depends on width and colors; the rest is the same in every look.
	axeLooks = `, runOnly: {type: "rule", values: ["color-contrast", "link-in-text-block", "scrollable-region-focusable", "target-size", "aria-hidden-focus"]}`
	// Elements that stick out at the side where nothing scrolls.
	tooWide = `document.documentElement.scrollWidth <= innerWidth ? "" : [...document.querySelectorAll("body *")]
		.filter((e) => e.getBoundingClientRect().right > innerWidth + 1).slice(0, 3).map((e) => e.outerHTML.slice(0, 120)).join(" | ") || "something"`
	moving = `[...document.querySelectorAll("*")].filter((e) => { const s = getComputedStyle(e);
		return s.animationName !== "none" || s.transitionDuration.split(",").some((d) => parseFloat(d) > 0) || s.scrollBehavior === "smooth" }).length`
	// The elements that Tab must come by, in order; of a group of radio buttons one.
	reachable = `[...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")]
		.filter((e) => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({visibilityProperty: true}) && !(e.type === "radio" && !e.checked))`
)

// text evaluates an expression that gives a text, or a promise of one.
func (b *browser) text(expression string) string {
	b.Helper()
	out, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](expression, chromedp.EvalAwaitPromise))
	require.NoError(b, err)
	return out
}

// staffPage is one page to look at.
type staffPage struct{ name, address string }

// sameKind keeps one page of each kind: the first conversation, service and rehearsal.
var sameKind = regexp.MustCompile(`[?#].*$`)

// crawl finds the pages that can be reached from an address by links, one of each kind.
func (b *browser) crawl(start string) (found []staffPage) {
	b.Helper()
	seen, queue := map[string]bool{}, []string{start}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		kind := sameKind.ReplaceAllString(at, "")
		if seen[kind] || strings.Contains(kind, "csv") || strings.HasSuffix(kind, "/picture") {
			continue
		}
		seen[kind] = true
		name := strings.ReplaceAll(strings.Trim(strings.TrimPrefix(kind, start), "/"), "/", "-")
		if name == "" {
			name = "board"
		}
		found = append(found, staffPage{name, at})
		b.open(at)
		links := strings.Fields(b.text(`[...document.querySelectorAll("a[href]")].filter((a) => !a.hasAttribute("download")).map((a) => a.href).join(" ")`))
		for _, link := range links {
			if strings.HasPrefix(link, start) {
				queue = append(queue, link)
			}
		}
	}
	return found
}

// looker looks at pages and gathers what is wrong.
type looker struct {
	*browser
	axe   string
	wrong []string
}

func (l *looker) fault(page, look, what string) {
	l.wrong = append(l.wrong, page+" ("+look+"): "+what)
}

// size makes the window so wide, and waits until the page is drawn so.
func (l *looker) size(width int64) {
	l.Helper()
	require.NoError(l, chromedp.Do(l.ctx, chromedp.EmulateViewport(width, 900)))
	l.text(`new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(""))))`)
}

// look looks at the page that is open, in every look.
func (l *looker) look(page string) {
	l.Helper()
	options := ""
	_, err := chromedp.Run(l.ctx, chromedp.Evaluate[any](l.axe+";0"))
	require.NoError(l, err)
	for _, width := range []int64{1400, 360} {
		l.size(width)
		for _, scheme := range []string{"light", "dark"} {
			l.media(scheme, "reduce")
			look := fmt.Sprintf("%s, %d px", scheme, width)
			var faults []fault
			require.NoError(l, json.Unmarshal([]byte(l.text(fmt.Sprintf(axeRun, options))), &faults))
			for _, f := range faults {
				l.fault(page, look, f.Rule+" "+f.Impact+" "+strings.Join(f.Where, "; "))
			}
			options = axeLooks
			l.shot(page, width, scheme)
		}
		if out := l.text(tooWide); out != "" {
			l.fault(page, fmt.Sprint(width), "wider than the window: "+out)
		}
	}
	if n := l.text("String(" + moving + ")"); n != "0" {
		l.fault(page, "reduced motion", n+" elements move")
	}
	l.size(3840)
	if out := l.text(tooWide); out != "" {
		l.fault(page, "3840", "wider than the window: "+out)
	}
	l.size(1400)
	l.keys(page)
}

// keys presses Tab and sees whether it comes by everything that can be used, in order.
func (l *looker) keys(page string) {
	l.Helper()
	const most = 30
	l.run(`window.came = []; document.activeElement?.blur(); window.all = ` + reachable + `; addEventListener("focusin", (e) => { const i = all.indexOf(e.target);
		const s = getComputedStyle(e.target); came.push([i, s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 || e.target.tagName === "IFRAME"]) }); getSelection().setPosition(document.body, 0); window.scrollTo(0, 0)`)
	for range most {
		require.NoError(l, chromedp.Do(l.ctx, chromedp.KeyEvent(kb.Tab)))
	}
	var came [][2]any
	require.NoError(l, json.Unmarshal([]byte(l.text(`JSON.stringify(came)`)), &came))
	var order []int
	for _, c := range came {
		i := int(c[0].(float64))
		if c[1] != true {
			l.fault(page, "keyboard", fmt.Sprintf("focus is not seen: %s", l.text(fmt.Sprintf(`all[%d]?.outerHTML.slice(0, 100) ?? "?"`, i))))
		}
		if !slices.Contains(order, i) {
			order = append(order, i)
		}
	}
	for i, at := range order {
		if i != at {
			l.fault(page, "keyboard", fmt.Sprintf("Tab leads to %d where %d comes: %s", at, i, l.text(fmt.Sprintf(`all[%d]?.outerHTML.slice(0, 100) ?? "?"`, i))))
			return
		}
	}
	if len(order) < 3 {
		l.fault(page, "keyboard", "Tab leads nowhere")
	}
}

// shot keeps a picture in testdata where TUBHAND_SCREENSHOTS names the folder.
func (l *looker) shot(page string, width int64, scheme string) {
	l.Helper()
	folder := os.Getenv("TUBHAND_SCREENSHOTS")
	if folder == "" || (width == 1400) != (scheme == "light") {
		return
	}
	picture, err := chromedp.Run(l.ctx, chromedp.CaptureScreenshot())
	require.NoError(l, err)
	suffix := map[int64]string{1400: "", 360: "-narrow-dark"}[width]
	require.NoError(l, os.WriteFile(filepath.Join(folder, "staff-"+page+suffix+".png"), picture, 0o644))
}

// signedIn has the browser set up a manager's sign-in, and looks at the pages on the way.
func (l *looker) signedIn(at, link string) {
	l.Helper()
	l.open(at + "sign-in")
	l.look("sign-in")
	l.open(at + link)
	l.look("set-up")
	secret := l.text(`document.querySelector(".secret").innerText.replaceAll(" ", "")`)
	l.run(typeIn + `for (const id of ["password", "again"]) set(document.getElementById(id), "warm cedar steps at dusk"); set(document.getElementById("onetime"), "` + oneTime(l.T, secret, 0) + `"); document.querySelector("form.end button.main").click()`)
	l.await("the recovery codes", `document.querySelectorAll(".codes li").length === 10`)
	l.look("codes")
}

// TestEveryPageForEverybody looks at every page of the staff, found by following links, in
// light and dark, at 360 and 1400 pixels: axe-core finds nothing serious, nothing is wider
// than the window (up to 3840), nothing moves for who wants no motion, and Tab comes by all.
func TestEveryPageForEverybody(t *testing.T) {
	axe := axeScript(t)
	d := startDemo(t)
	b := openBrowserFor(t, 1400, 900, 6*time.Minute)
	l := &looker{browser: b, axe: axe}
	pages := b.crawl(d.url + staffPath)
	for _, p := range pages {
		if p.name == "reports" { // with something in them
			p.address += "?from=2026-01-01&until=2026-06-13"
		}
		b.open(p.address)
		l.look(p.name)
	}
	b.open(d.url + staffPath + "try")
	b.run(typeIn + `set(document.getElementById("text"), "my son is coughing from the fumes"); document.querySelector("main form button.main").click()`)
	b.await("what is understood", `document.getElementById("answer")`)
	l.look("tried")
	b.open(d.url + staffPath + "conversation?with=nobody")
	l.look("problem")

	at, link := staffServer(t)
	l.signedIn(at, link)
	for name, path := range map[string]string{"board": "", "me": "me", "accounts": "accounts", "log": "log", "settings": "settings"} {
		b.open(at + path)
		l.look("own-" + name)
	}
	require.Greater(t, len(pages), 8, "links lead to the pages")
	require.Empty(t, l.wrong, strings.Join(l.wrong, "\n"))
}
