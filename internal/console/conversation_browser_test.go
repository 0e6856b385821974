package console_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/smstext"
)

const talk = "conversation?with=%2B15415550142"

// TestAMessageTypedIsNeverLost: the server is cut off, words are typed, the page is loaded
// anew, the server comes back; the words are there, are sent, and are sent once.
func TestAMessageTypedIsNeverLost(t *testing.T) {
	k := newCounter(t)
	k.hear("hi")
	b := browse(t, 1280, 800)
	b.open(k.url + talk)
	b.live()

	k.cut()
	b.await("word that the page is stale", `document.getElementById("pulse").dataset.state === "stale"`)
	b.fill("reply", "Hello Ada, Dana here.")
	b.press("reply-form", "")
	b.await("word that it is not sent", `document.querySelector("#reply-form .trouble").innerText.includes("not sent")`)
	require.Equal(t, "Hello Ada, Dana here.", b.text(`document.getElementById("reply").value`))
	k.start()
	b.live()
	b.await("word that it can be sent", `document.querySelector("#reply-form .trouble").innerText.includes("connection is back")`)
	require.Empty(t, k.replies(), "nothing goes out by itself")

	b.run(`window.loadedOnce = true; location.reload()`)
	b.await("the page anew", `!window.loadedOnce && document.getElementById("reply").value === "Hello Ada, Dana here."`)
	b.live()
	b.press("reply-form", "")
	b.shows("lines", "Hello Ada, Dana here.")
	b.await("an empty field", `document.getElementById("reply").value === "" && sessionStorage.length === 0`)
	require.Equal(t, []string{"Hello Ada, Dana here."}, k.replies())

	// The act is done and its answer gets lost: pressed again, it is not sent again.
	k.lost(true)
	b.fill("reply", "Is the cover off?")
	b.press("reply-form", "")
	b.await("word that it is not known to be sent", `document.querySelector("#reply-form .trouble").innerText.includes("No connection")`)
	k.lost(false)
	b.press("reply-form", "")
	b.await("an empty field", `document.getElementById("reply").value === ""`)
	require.Equal(t, []string{"Hello Ada, Dana here.", "Is the cover off?"}, k.replies())

	// The same, and the words are changed before they are sent again: the new ones have not
	// gone out, the page says so, and the next press sends them.
	k.lost(true)
	b.fill("reply", "Jets off.")
	b.press("reply-form", "")
	b.await("word that it is not known to be sent", `document.querySelector("#reply-form .trouble").innerText.includes("No connection")`)
	k.lost(false)
	b.fill("reply", "Jets off, please.")
	b.press("reply-form", "")
	b.await("word of what went out", `document.querySelector("#reply-form .trouble").innerText.includes("went out after all")`)
	require.Equal(t, "Jets off, please.", b.text(`document.getElementById("reply").value`))
	b.press("reply-form", "")
	b.await("an empty field", `document.getElementById("reply").value === ""`)
	require.Equal(t, []string{"Hello Ada, Dana here.", "Is the cover off?", "Jets off.", "Jets off, please."}, k.replies())
}

// TestTwoBrowsers: what one of the staff does shows on the other's page by itself, and each
// is told of the other.
func TestTwoBrowsers(t *testing.T) {
	k := newCounter(t)
	k.hear("hi", "I want to talk to a person")
	dana := browse(t, 1280, 800)
	dana.open(k.url + talk)
	dana.live()
	luis := dana.stranger(390, 844)
	luis.open(k.url + talk)
	luis.run(`const who = document.getElementById("who"); who.value = "luis"; who.form.submit()`)
	luis.await("Luis's page", `document.querySelector("#reply-form label").innerText === "Reply as Luis"`)
	luis.live()
	dana.shows("company", "Luis has this conversation open too.")
	luis.shows("company", "Dana has this conversation open too.")

	luis.fill("reply", "Hi Ada, ")
	dana.shows("company", "Luis is writing to this owner.")
	dana.fill("reply", "half a thought")
	luis.run(`document.querySelector("#cases .main").click()`)
	dana.shows("cases", "Luis has it")
	dana.shows("talk-now", "Luis has this conversation. The tub helper keeps quiet.")
	require.Equal(t, "half a thought", dana.text(`document.getElementById("reply").value`))
	luis.fill("reply", "Hi Ada, Luis here.")
	luis.press("reply-form", "")
	dana.shows("lines", "Hi Ada, Luis here.")
	dana.await("word that he is done", `!document.getElementById("company").innerText.includes("writing")`)
	wide := luis.text(`String(document.documentElement.scrollWidth > innerWidth)`)
	require.Equal(t, "false", wide, "nothing sticks out at the side")
}

// TestTasksOfAConversation does what staff do, on the page, with the real turns behind it.
func TestTasksOfAConversation(t *testing.T) {
	k := newCounter(t)
	k.hear("flush", "375 gallons", "1", "yes", "yes", "yes", "pump", "1", "no", "3 7.4 100", "done")
	b := browse(t, 1280, 900)
	b.open(k.url + talk)
	b.live()
	b.shows("doses", "advised, not confirmed")
	b.shows("doses", "3 3/4 level teaspoons")
	require.Contains(t, b.text(`document.querySelector("#charts svg desc").textContent`), "The band to soak in is 3 to 5.")

	// A fact, for a reason: the dose is worked out anew.
	b.fill("value-volume_us_gal", "250")
	b.press("set-volume_us_gal", "")
	b.run(`if (document.getElementById("set-volume_us_gal").checkValidity()) throw new Error("no reason was asked for")`)
	b.fill("why-volume_us_gal", "the plate says 250")
	b.press("set-volume_us_gal", "")
	b.shows("lines", "Dana set the volume to 250 gallons (was 375 gallons). Reason: the plate says 250")
	b.shows("doses", "2 1/2 level teaspoons")

	// A test that was read wrong.
	b.run(`const fix = [...document.querySelectorAll(".fix")].find((d) => d.innerText.includes("Correct the test")); fix.open = true; fix.querySelector("[name=free_chlorine_ppm]").value = "4"; fix.querySelector("[name=reason]").value = "photo"; fix.querySelector("button").click()`)
	b.shows("lines", "Dana corrected the test of")
	b.await("the new value", `document.querySelector("#charts figure").innerText.includes("4")`)

	// The present step, and the diagram that marks it.
	b.run(`document.getElementById("diagram-more").open = true; document.getElementById("diagram-words").open = true`)
	b.shows("diagram", "Add product here now")
	b.await("the picture", `document.querySelector("#diagram img").naturalWidth > 300 && document.getElementById("diagram-box").scrollTop > 0`)

	// The wait is guarded while product is in: earlier goes, away does not.
	k.hear("done")
	b.shows("timers", "watches over the tub")
	require.Equal(t, "0", b.text(`String(document.querySelectorAll("#timers button[value=drop_timer]").length)`))
	at := k.clock.Now().Add(10 * time.Minute).In(time.FixedZone("shop", -7*3600)).Format("2006-01-02T15:04")
	b.run(fmt.Sprintf(`const f = document.querySelector("#timers form"); f.querySelector("[name=at]").value = %q; f.querySelector("button[value=move_timer]").click()`, at))
	b.shows("lines", "Dana moved the wait soak over")

	// Pause, language, go on.
	b.press("pause-form", "")
	b.shows("talk-now", "Dana has this conversation")
	b.run(`document.getElementById("language").value = "es"`)
	b.press("speak-form", "")
	b.shows("lines", "Dana changed the language to es")
	b.press("go-on-form", "")
	b.shows("lines", "Dana handed the conversation back")
	b.await("the helper", `!document.getElementById("talk-now").innerText.includes("keeps quiet")`)
}

// TestTextsAreCountedAsTheyAreSent: what the page says is what the sender counts.
func TestTextsAreCountedAsTheyAreSent(t *testing.T) {
	k := newCounter(t)
	k.hear("hi")
	b := browse(t, 1280, 800)
	b.open(k.url + talk)
	b.live()
	for _, text := range []string{
		"a", strings.Repeat("a", 160), strings.Repeat("a", 161), strings.Repeat("a", 306), strings.Repeat("a", 307), "{[~]}\\|^\u20ac",
		strings.Repeat("a", 152) + "\u20ac" + strings.Repeat("b", 152), "104\u00b0F \u201cin the tub\u201d\u2026", strings.Repeat("\u00e1", 70), strings.Repeat("\u00e1", 71),
		strings.Repeat("\u00e1", 66) + "\U0001F600\U0001F600\U0001F600", "two\nlines", "1\u00bd tsp",
	} {
		shape := smstext.Count(smstext.Fold(text))
		parts := "1 text"
		if shape.Parts > 1 {
			parts = fmt.Sprint(shape.Parts, " texts")
		}
		want := fmt.Sprintf("%d characters, %s", shape.Units, parts)
		if shape.Encoding != smstext.GSM7 {
			want += " (a special character makes texts shorter)"
		}
		b.fill("reply", text)
		b.await(want, fmt.Sprintf(`document.getElementById("reply-count").innerText === %q`, want))
	}
}
