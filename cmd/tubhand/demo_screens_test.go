package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// screen is a picture of a page as the README shows it.
type screen struct {
	file          string
	width, height int64
	path          string
	before        func(b *browser) // what is done on the page before the picture
}

// say types a text on the phone and sends it.
func (b *browser) say(words, then string) {
	b.Helper()
	b.run(typeIn + `set(document.getElementById("text"), "` + words + `"); document.querySelector("#text-form .main").click()`)
	b.await("the answer to "+words, then)
}

// live waits for a page of the staff view that stands alone.
func (b *browser) live() {
	b.await("a live page", `document.getElementById("pulse").dataset.state === "live"`)
}

func screens() []screen {
	quiet := func(b *browser) { b.await("the page", ready) }
	return []screen{
		{"demo-phone.png", 390, 844, "/", quiet},
		{"demo-desktop.png", 1280, 800, "/", func(b *browser) {
			quiet(b)
			b.say("how long do I have to wait?", onPhone+`.includes("to go, until 11:02 am")`)
		}},
		{"", 1280, 800, "/?owner=%2B15415550145", func(b *browser) {
			quiet(b)
			b.say("my wife just got a zap when she touched the tub", onPhone+`.includes("911")`)
		}},
		{"console-board.png", 1280, 800, "/staff/", (*browser).live},
		{"console-board-narrow.png", 390, 844, "/staff/", (*browser).live},
		{"console-conversation.png", 1280, 800, "/staff/conversation?with=%2B15415550144", func(b *browser) {
			b.live()
			b.run(`document.querySelector(".case-acts .main").click()`)
			b.await("the claim", `document.getElementById("cases").innerText.includes("Dana has it")`)
			b.run(typeIn + `set(document.getElementById("reply"), "Hi June, Dana here. 15 is high. Cover open, jets on, and test again at noon."); document.querySelector("#reply-form .main").click()`)
			b.await("the reply", `document.getElementById("lines").innerText.includes("Hi June, Dana here.") && document.getElementById("lines").innerText.includes("sent")`)
		}},
	}
}

// Every page fits its width, and its picture is small. The pictures in testdata are
// these: TUBHAND_SCREENSHOTS=$PWD/testdata/screenshots go test ./cmd/tubhand -run Screens
func TestDemoScreens(t *testing.T) {
	d := startDemo(t)
	b := openBrowser(t, 1280, 800)
	for _, s := range screens() {
		require.NoError(t, chromedp.Do(b.ctx, chromedp.EmulateViewport(s.width, s.height)))
		b.open(d.url + s.path)
		s.before(b)
		b.run(`if (document.documentElement.scrollWidth > innerWidth) throw new Error("wider than the window")`)
		if s.file == "" {
			continue
		}
		picture, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
		require.NoError(t, err)
		require.Less(t, len(picture), 300<<10, s.file)
		if folder := os.Getenv("TUBHAND_SCREENSHOTS"); folder != "" {
			require.NoError(t, os.WriteFile(filepath.Join(folder, s.file), picture, 0o644))
		}
	}
}
