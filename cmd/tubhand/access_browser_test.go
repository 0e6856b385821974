package main

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/webauthn"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// withAuthenticator gives the browser a passkey authenticator that says yes by itself.
func (b *browser) withAuthenticator() {
	b.Helper()
	require.NoError(b, chromedp.Do(b.ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		if _, err := cdp.Call(ctx, t, webauthn.Enable, webauthn.EnableParams{}); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, t, webauthn.AddVirtualAuthenticator, webauthn.AddVirtualAuthenticatorParams{
			Options: &webauthn.VirtualAuthenticatorOptions{
				Protocol: "ctap2", Ctap2version: "ctap2_1", Transport: "internal", HasResidentKey: true,
				HasUserVerification: true, IsUserVerified: true, AutomaticPresenceSimulation: true,
			},
		})
		return err
	})))
}

// staffServer is a server whose staff pages a browser reaches as localhost, and a link for
// its first manager.
func staffServer(t *testing.T) (at, link string) {
	t.Helper()
	file, data := shopFile(t, "http://127.0.0.1:9/out"), t.TempDir()
	made := tubhand(t, "account", "add", file, "--name", "Dana", "--data", data)
	require.Equal(t, 0, made.code, made.err)
	s := serveOn(t, "--shop", file, "--data", data, "--console", "127.0.0.1:0")
	at = strings.Replace(<-s.staff, "127.0.0.1", "localhost", 1) + "/staff/fernhollow/"
	return at, regexp.MustCompile(`set-up\?code=\S+`).FindString(made.out)
}

const button = `document.querySelector("[data-passkey] button")`

// press presses the page's button for passkeys.
func (b *browser) press() {
	b.Helper()
	b.await("a button for passkeys", button+`.checkVisibility()`)
	b.run(button + `.click()`)
}

func TestPasskeysInARealBrowser(t *testing.T) {
	at, link := staffServer(t)
	b := openBrowser(t, 1280, 800)
	b.withAuthenticator()
	b.open(at + link)
	b.press()
	b.await("the board", `document.querySelector(".mine").innerText.includes("Dana") && document.getElementById("pulse").dataset.state === "live"`)

	b.run(`document.querySelector(".mine form button").click()`)
	b.await("the sign-in page", `document.querySelector("h1").innerText === "Sign in"`)
	b.press()
	b.await("the board again", `document.getElementById("pulse").dataset.state === "live"`)

	// The authenticator has a key for this account already, and says so.
	b.open(at + "me")
	b.await("my page", `document.querySelector("main").innerText.includes("last used")`)
	b.press()
	b.await("that it is there already", `document.querySelector("[data-passkey] .trouble").innerText.includes("Try again")`)

	// Signed out in another tab, a page that is still open says that it is no longer live,
	// and keeps what is typed.
	b.open(at)
	b.await("the board", `document.getElementById("pulse").dataset.state === "live"`)
	b.run(`document.getElementById("find").value = "half a na"; fetch("sign-out", { method: "POST" })`)
	b.await("no longer live", `document.getElementById("pulse").dataset.state === "stale"`) // at the next beat, in 15 s
	b.run(`if (document.getElementById("find").value !== "half a na") throw new Error("what was typed is gone")`)

	// A link that is used up says so.
	b.open(at + link)
	b.await("a used-up link", `document.querySelector("[data-problem]").innerText.includes("used up")`)
}

func TestPasswordInARealBrowser(t *testing.T) {
	at, link := staffServer(t)
	b := openBrowser(t, 390, 844)
	shot := func(name string) {
		t.Helper()
		for _, width := range []int64{390, 1280} {
			require.NoError(t, chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 844)))
			b.run(`if (document.documentElement.scrollWidth > innerWidth) throw new Error("wider than the window")`)
			picture, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
			require.NoError(t, err)
			file := "access-" + name + map[int64]string{390: "-narrow", 1280: ""}[width] + ".png"
			require.Less(t, len(picture), 300<<10, file)
			if folder := os.Getenv("TUBHAND_SCREENSHOTS"); folder != "" {
				require.NoError(t, os.WriteFile(filepath.Join(folder, file), picture, 0o644))
			}
		}
	}
	b.open(at + link)
	b.await("the set-up page", `document.querySelector(".square path")`)
	shot("set-up")
	secret, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.querySelector(".secret").innerText.replaceAll(" ", "")`))
	require.NoError(t, err)
	b.run(typeIn + `for (const id of ["password", "again"]) set(document.getElementById(id), "warm cedar steps at dusk"); set(document.getElementById("onetime"), "` + oneTime(t, secret, 0) + `"); document.querySelector("form.end button.main").click()`)
	b.await("the recovery codes", `document.querySelectorAll(".codes li").length === 10`)
	shot("codes")
	b.open(at + "accounts")
	b.run(typeIn + `set(document.getElementById("name"), "Luis"); document.querySelector(".end button.main").click()`)
	b.await("a link for Luis", `document.getElementById("link").innerText.includes("/set-up?code=")`)
	shot("accounts")
	b.open(at + "me")
	b.await("my page", `document.querySelector("h1").innerText === "Dana"`)
	shot("me")
	b.open(at + "log")
	b.await("the log", `document.querySelector("tbody").innerText.includes("added account")`)
	shot("log")
	b.run(`document.querySelector(".mine form button").click()`)
	b.await("the sign-in page", `document.querySelector("h1").innerText === "Sign in"`)
	shot("sign-in")
	b.run(typeIn + `set(document.getElementById("name"), "dana"); set(document.getElementById("password"), "wrong"); set(document.getElementById("code"), "000000"); document.querySelector("form.end button.main").click()`)
	b.await("a refusal", `document.querySelector("form.end .trouble").innerText.includes("did not fit")`)
	b.run(typeIn + `set(document.getElementById("password"), "warm cedar steps at dusk"); set(document.getElementById("code"), "` + oneTime(t, secret, 30*time.Second) + `"); document.querySelector("form.end button.main").click()`)
	b.await("the board", `document.getElementById("pulse").dataset.state === "live"`)
}
