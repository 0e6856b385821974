package main

import (
	"context"
	"errors"
	"fmt"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// browser is a real browser on the demo's page. It skips the test where there is none.
type browser struct {
	*testing.T
	ctx context.Context
}

func openBrowser(t *testing.T, width, height int64) *browser {
	t.Helper()
	return openBrowserFor(t, width, height, 2*time.Minute)
}

// openBrowserFor opens a browser for so long at most.
func openBrowserFor(t *testing.T, width, height int64, longest time.Duration) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium on PATH: `apt-get install chromium` brings the browser that this test drives")
	}
	ctx, end := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-dev-shm-usage", true))
	ctx, endTab := chromedp.NewContext(ctx)
	ctx, endTime := context.WithTimeout(ctx, longest)
	t.Cleanup(func() { endTime(); endTab(); end() })
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, height)))
	return &browser{t, ctx}
}

func (b *browser) open(url string) {
	b.Helper()
	require.NoError(b, chromedp.Do(b.ctx, chromedp.Navigate(url)))
}

// run evaluates a script that is true when what it does could be done.
func (b *browser) run(script string) {
	b.Helper()
	done, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("(() => {"+script+"; return true })()"))
	require.NoError(b, err, script)
	require.True(b, done)
}

// await waits until an expression holds. The page itself looks again and again; when it
// is left for another page meanwhile, that one does.
func (b *browser) await(what, expression string) {
	b.Helper()
	script := fmt.Sprintf(`new Promise((answer) => {
		const late = performance.now() + 20000;
		const look = () => { let ok = false; try { ok = !!(%s) } catch {} ok || performance.now() > late ? answer(ok) : setTimeout(look, 20) };
		look() })`, expression)
	var came bool
	err := errors.New("not asked yet")
	for tries := 0; err != nil && tries < 10; tries++ {
		came, err = chromedp.Run(b.ctx, chromedp.Evaluate[bool](script, chromedp.EvalAwaitPromise))
	}
	require.NoError(b, err, what)
	if !came {
		seen, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.body.innerText + "\n--- staff ---\n" + (document.querySelector("iframe")?.contentDocument.body.innerText || "")`))
		require.FailNow(b, what+" never came", "the page shows (%v):\n%s", err, seen)
	}
}

// Words for scripts: the phone's texts, the document of the staff view, a form's send.
const (
	onPhone = `document.getElementById("slips").innerText`
	atShop  = `document.querySelector("iframe").contentDocument`
	ready   = `document.getElementById("slips") && document.documentElement.classList.contains("scripted") && ` + atShop + `.getElementById("pulse")?.dataset.state === "live"`
	typeIn  = `const set = (field, words) => { field.value = words; field.dispatchEvent(new Event("input", { bubbles: true })) };`
)

func TestDemoInARealBrowser(t *testing.T) {
	d := startDemo(t)
	b := openBrowser(t, 1280, 800)
	b.open(d.url + "/")
	b.await("the page", ready)
	b.run(`window.loadedOnce = true; ` + atShop + `.defaultView.loadedOnce = true`)

	// An owner texts; the reply comes by itself, and the board beside it knows.
	b.run(typeIn + `set(document.getElementById("text"), "how long"); document.querySelector("#text-form .main").click()`)
	b.await("the reply", onPhone+`.includes("to go, until 11:02 am")`)
	b.await("an empty field", `document.getElementById("text").value === ""`)

	b.await("replies to tap", `[...document.querySelectorAll(".chip")].some((c) => c.value === "HOW LONG")`)

	// A jump: the nudge arrives, and the board moves on without a reload.
	b.run(`document.querySelector("#jump button").click()`)
	b.await("the nudge", onPhone+`.includes("Time! Jets OFF")`)
	b.await("other replies to tap", `[...document.querySelectorAll(".chip")].some((c) => c.value === "DONE") && ![...document.querySelectorAll(".chip")].some((c) => c.value === "FOAM")`)
	b.await("the board", atShop+`.getElementById("service-+15415550142").innerText.includes("Wiping")`)

	// The owner calls for a person; the shop sees it, opens it, claims it, replies.
	b.run(`[...document.querySelectorAll(".chip")].find((c) => c.value === "PERSON").click()`)
	b.await("the handover", atShop+`.getElementById("needs-+15415550142")`)
	b.run(`document.querySelector("#theirs a").click()`)
	b.await("the conversation", atShop+`.querySelector(".case-acts .main") && `+atShop+`.getElementById("pulse").dataset.state === "live"`)
	b.run(`const shop = ` + atShop + `; ` + typeIn + ` set(shop.getElementById("reply"), "half a th"); shop.querySelector(".case-acts .main").click()`)
	b.await("the claim", atShop+`.getElementById("cases").innerText.includes("Dana has it")`)
	b.await("the claim on the phone", onPhone+`.includes("Dana from Fernhollow Tub Supply is on it")`)
	b.run(`if (` + atShop + `.getElementById("reply").value !== "half a th") throw new Error("what was typed is gone")`)
	b.run(`const shop = ` + atShop + `; ` + typeIn + ` set(shop.getElementById("reply"), "Dana here, I am looking at it."); shop.querySelector("#reply-form .main").click()`)
	b.await("the person's reply", onPhone+`.includes("Dana here, I am looking at it.")`)
	b.run(`if (!window.loadedOnce) throw new Error("the phone's page was loaded again")`)
}

func TestDemoPickingAnOwnerInARealBrowser(t *testing.T) {
	d := startDemo(t)
	b := openBrowser(t, 390, 844)
	b.open(d.url + "/")
	b.await("the page", ready)
	b.run(`const pick = document.getElementById("owner"); pick.value = "+15415550143"; pick.dispatchEvent(new Event("change", { bubbles: true }))`)
	b.await("Walt", `document.querySelector(".handset-top").innerText.includes("Walt Greer") && `+ready)

	// On a narrow screen the two sides take turns.
	b.await("one side", `document.querySelector(".shopside").offsetParent === null`)
	b.run(`document.querySelector("[data-show=staff]").click()`)
	b.await("the other side", `document.querySelector(".shopside").offsetParent !== null && document.querySelector(".pocket").offsetParent === null`)
	wide, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](`document.documentElement.scrollWidth > innerWidth || `+atShop+`.documentElement.scrollWidth > `+atShop+`.defaultView.innerWidth`))
	require.NoError(t, err)
	require.False(t, wide, "nothing sticks out at the side")
}

func TestStaffPageTellsWhenItIsStale(t *testing.T) {
	d := startDemo(t)
	b := openBrowser(t, 1280, 800)
	b.open(d.url + "/staff/conversation?with=%2B15415550144")
	b.await("a live page", `document.getElementById("pulse").dataset.state === "live"`)

	// Without a connection a reply is not sent, says so, and stays in its field.
	b.run(typeIn + `window.fetch = () => Promise.reject(new Error("no network")); set(document.getElementById("reply"), "Hello June"); document.querySelector("#reply-form .main").click()`)
	b.await("the trouble", `document.querySelector("#reply-form .trouble").innerText.includes("not sent")`)
	kept, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.getElementById("reply").value + "|" + document.getElementById("reply-count").innerText`))
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(kept, "Hello June|10 characters, 1 text"), kept)
}
