// What is typed on a conversation's page is kept by this browser until it is sent, whatever
// becomes of the connection or the page; what it costs as texts is counted by the server, by
// the rules that it is sent by; and who else has the conversation open is told.
"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const place = location.pathname + location.search;

  // ---- what is typed, and the number of its form, outlive the page ----

  const keyOf = (field) => "tubhand draft " + place + " " + field.id;
  const tokenOf = (form) => form.querySelector("input[name=token]");

  function save(field) {
    try {
      if (!field.value) { sessionStorage.removeItem(keyOf(field)); return; }
      sessionStorage.setItem(keyOf(field), JSON.stringify({ words: field.value, token: tokenOf(field.form).value, form: field.form.id }));
    } catch { /* a browser without room keeps it on the page alone */ }
  }

  function restore() {
    for (const field of document.querySelectorAll("[data-draft]")) {
      let kept = null;
      try { kept = JSON.parse(sessionStorage.getItem(keyOf(field))); } catch { /* not ours */ }
      if (!kept || field.value) continue;
      field.value = kept.words;
      tokenOf(field.form).value = kept.token; // sent before and not answered: still the same form
      field.closest("details")?.setAttribute("open", "");
      if (field.id === "reply") count(field);
    }
  }

  document.addEventListener("sent", (e) => {
    for (const name of Object.keys(sessionStorage)) {
      if (!name.startsWith("tubhand draft " + place + " ")) continue;
      try { if (JSON.parse(sessionStorage.getItem(name)).form === e.detail.form) sessionStorage.removeItem(name); } catch { /* not ours */ }
    }
    if (e.detail.form === "reply-form") { here(false); byId("reply-count").textContent = "A text holds 160 characters."; }
  });

  // The words before these went out after all: these need a number of their own.
  document.addEventListener("refused", (e) => {
    const form = byId(e.detail.form);
    if (e.detail.status !== 409 || !form) return;
    tokenOf(form).value = [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
    form.querySelectorAll("[data-draft]").forEach(save);
  });

  // ---- how many texts a reply takes ----

  let asking = 0, later = 0;
  const tell = (units, parts, wide, about) => {
    byId("reply-count").textContent = about + units + " characters, " + (parts === 1 ? "1 text" : parts + " texts") + (wide ? " (a special character makes texts shorter)" : "");
  };

  // estimate counts in the browser by the server's own table (3GPP TS 23.038), at once and
  // without a connection. Typography that is written plainly when it goes out is the server's to know.
  function estimate(field) {
    const words = field.value.replace(/\r?\n/g, "\n").trim();
    const width = (c) => (field.dataset.double.includes(c) ? 2 : field.dataset.plain.includes(c) ? 1 : 0);
    const wide = [...words].some((c) => !width(c));
    const [one, more] = wide ? [70, 67] : [160, 153];
    let units = 0, parts = words ? 1 : 0, used = 0;
    for (const c of words) {
      const w = wide ? c.length : width(c);
      if (used + w > more) { parts++; used = 0; }
      used += w;
      units += w;
    }
    return { units, parts: units && units <= one ? 1 : parts, wide };
  }

  function count(field) {
    const guess = estimate(field);
    tell(guess.units, guess.parts, guess.wide, guess.wide ? "About " : "");
    clearTimeout(later);
    if (!guess.wide) return;
    const mine = ++asking;
    later = setTimeout(async () => {
      try {
        const answer = await fetch(field.form.dataset.count, { method: "POST", body: new URLSearchParams({ text: field.value }) });
        const shape = await answer.json();
        if (answer.ok && mine === asking) tell(shape.units, shape.parts, shape.encoding !== "GSM-7", "");
      } catch { /* the estimate stands */ }
    }, 150);
  }

  // ---- who else is here ----

  let said = 0, quiet = 0;
  function here(writing) {
    const form = byId("reply-form");
    clearTimeout(quiet);
    if (!form || writing && Date.now() - said < 4000) { if (writing) quiet = setTimeout(() => here(false), 6000); return; }
    if (!writing && !said) return;
    said = writing ? Date.now() : 0;
    const conversation = form.querySelector("input[name=conversation]").value;
    fetch(form.dataset.here, { method: "POST", body: new URLSearchParams({ conversation, writing: writing ? "yes" : "no" }) }).catch(() => {});
    if (writing) quiet = setTimeout(() => here(false), 6000);
  }

  document.addEventListener("here", (e) => {
    const note = byId("company"), all = e.detail;
    const writing = all.filter((who) => who.writing).map((who) => who.name), open = all.filter((who) => !who.writing).map((who) => who.name);
    const list = (names) => names.join(", ").replace(/, ([^,]*)$/, " and $1");
    const words = [];
    if (writing.length) words.push(list(writing) + (writing.length > 1 ? " are" : " is") + " writing to this owner.");
    if (open.length) words.push(list(open) + (open.length > 1 ? " have" : " has") + " this conversation open too.");
    if (note.textContent !== words.join(" ")) note.textContent = words.join(" ");
  });

  // ---- the connection comes and goes ----

  document.addEventListener("pulse", (e) => {
    const form = byId("reply-form"), reply = byId("reply");
    if (e.detail === "stale") byId("company").textContent = "";
    if (!form || e.detail !== "live" || !reply.value || !form.dataset.unsent) return;
    delete form.dataset.unsent;
    form.querySelector(".trouble").textContent = "The connection is back. Your words are not sent yet: press Send.";
  });
  document.addEventListener("unsent", (e) => { const form = byId(e.detail.form); if (form) form.dataset.unsent = "yes"; });

  // ---- the diagram opens at the present step ----

  async function mark(details) {
    const box = byId("diagram-box"), picture = box?.querySelector("img");
    if (!picture || box.dataset.at === picture.src) return;
    box.dataset.at = picture.src;
    picture.loading = "eager";
    try {
      await picture.decode();
      const drawing = new DOMParser().parseFromString(await (await fetch(picture.src)).text(), "image/svg+xml");
      const step = drawing.querySelector(".state.here rect.box"), moved = step?.closest("g[transform]")?.getAttribute("transform").match(/translate\(([-\d.]+)[ ,]+([-\d.]+)\)/);
      if (!step || !moved || !details.open) return;
      const at = (name, by) => parseFloat(step.getAttribute(name)) + parseFloat(moved[by]);
      box.scrollTo(at("x", 1) + 90 - box.clientWidth / 2, at("y", 2) + 30 - box.clientHeight / 2);
    } catch { /* it is looked at from its beginning */ }
  }
  document.addEventListener("toggle", (e) => { if (e.target.id === "diagram-more" && e.target.open) mark(e.target); }, true);

  document.addEventListener("input", (e) => {
    const field = e.target;
    if (field.matches("[data-draft]")) save(field);
    if (field.id !== "reply") return;
    count(field);
    here(field.value !== "");
  });
  restore();
})();
