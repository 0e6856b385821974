// Looks as one types, and sounds on an emergency where somebody has asked for that. Without
// it the form is sent by its button, and the title tells of an emergency.
"use strict";
(() => {
  // ---- finding as one types ----
  const form = document.querySelector("form[data-find]");
  let soon;
  function look() {
    const asked = new URLSearchParams(location.search);
    const words = form.elements.find.value.trim();
    if (words) asked.set("find", words); else asked.delete("find");
    asked.delete("after");
    const query = asked.toString();
    history.replaceState(null, "", location.pathname + (query ? "?" + query : ""));
    document.dispatchEvent(new Event("look"));
  }
  form?.addEventListener("input", () => { clearTimeout(soon); soon = setTimeout(look, 200); });
  form?.addEventListener("submit", (e) => {
    if (!document.body.dataset.live) return;
    e.preventDefault();
    clearTimeout(soon);
    look();
  });

  // ---- a sound on an emergency ----
  const button = document.getElementById("sound");
  if (!button || !window.AudioContext) return;
  let audio, before = alarm(), again;
  button.hidden = false;

  function alarm() { return document.title.startsWith("EMERGENCY"); }

  // Two notes, three times: told apart from a phone's, and over in two seconds.
  function sound() {
    button.dataset.sounded = Number(button.dataset.sounded || 0) + 1;
    const start = audio.currentTime + 0.05;
    for (let i = 0; i < 6; i++) {
      const tone = audio.createOscillator(), loud = audio.createGain(), at = start + i * 0.3;
      tone.frequency.value = i % 2 ? 660 : 880;
      loud.gain.setValueAtTime(0, at);
      loud.gain.linearRampToValueAtTime(0.25, at + 0.02);
      loud.gain.linearRampToValueAtTime(0, at + 0.26);
      tone.connect(loud).connect(audio.destination);
      tone.start(at);
      tone.stop(at + 0.28);
    }
  }

  // While an emergency is nobody's, it sounds once and then every half minute.
  function shown() {
    const now = alarm();
    if (audio && now && !before) {
      sound();
      again = setInterval(() => alarm() ? sound() : clearInterval(again), 30000);
    }
    if (!now) clearInterval(again);
    before = now;
  }
  document.addEventListener("shown", shown);

  button.addEventListener("click", () => {
    if (audio) {
      audio.close();
      audio = null;
      clearInterval(again);
    } else {
      audio = new AudioContext();
      before = false;
      shown();
    }
    button.setAttribute("aria-pressed", audio ? "true" : "false");
    button.textContent = audio ? "Sound is on" : "Sound on an emergency";
  });
})();
