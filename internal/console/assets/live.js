// Keeps a page current and sends its forms, without ever losing what is being typed.
// A page is plain HTML that works without this file. Elements with data-part are kept
// as the server shows them now; lists in them (data-list) change row by row (data-key),
// so that a screen reader hears only what is new. What is typed, open or focused stays.
"use strict";
(() => {
  const STALE_AFTER = 40000; // ms without a heartbeat (they come every 15 s)
  const body = document.body;
  const pulse = document.getElementById("pulse");
  let source, heard = 0, reading = false, again = false, wait = 1000, lastRead = new Date();

  // ---- showing what the server shows now ----

  // keep carries over what belongs to this browser: open details, form tokens not yet used.
  function keep(fresh, used) {
    for (const d of document.querySelectorAll("details[id]")) {
      const twin = fresh.getElementById(d.id);
      if (twin) twin.open = d.open;
    }
    for (const t of document.querySelectorAll("input[name=token]")) {
      const twin = fresh.getElementById(t.id);
      if (twin && t.form !== used) twin.setAttribute("value", t.value);
    }
  }

  function changed(field) {
    if (field.tagName === "SELECT") return [...field.options].some((o) => o.selected !== o.defaultSelected);
    return field.type !== "hidden" && field.value !== field.defaultValue;
  }

  // swap replaces an element, and puts back what was typed in it and where the cursor was.
  function swap(old, fresh, used) {
    const typed = [...old.querySelectorAll("input[id],textarea[id],select[id]")].filter((f) => f.form !== used && changed(f));
    const active = old.contains(document.activeElement) ? document.activeElement : null;
    old.replaceWith(fresh);
    for (const f of typed) {
      const twin = document.getElementById(f.id);
      if (twin) twin.value = f.value;
    }
    const twin = active && active.id && document.getElementById(active.id);
    if (twin) {
      twin.focus({ preventScroll: true });
      if (active.selectionStart != null && twin.setSelectionRange) twin.setSelectionRange(active.selectionStart, active.selectionEnd);
    }
  }

  function sync(old, fresh, used) {
    if (old.isEqualNode(fresh)) return;
    if (!fresh.hasAttribute("data-list")) { swap(old, fresh, used); return; }
    const rows = new Map([...old.children].map((r) => [r.dataset.key, r]));
    let at = old.firstElementChild;
    for (const row of [...fresh.children]) {
      const known = rows.get(row.dataset.key);
      rows.delete(row.dataset.key);
      if (!known) {
        row.classList.add("fresh");
        old.insertBefore(row, at);
        continue;
      }
      if (known === at) at = at.nextElementSibling;
      else old.insertBefore(known, at);
      known.classList.remove("fresh");
      if (known.getAttribute("class") !== row.getAttribute("class") || !known.isEqualNode(row)) swap(known, row, used);
    }
    for (const gone of rows.values()) gone.remove();
  }

  function show(html, used) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    keep(fresh, used);
    document.title = fresh.title;
    for (const old of document.querySelectorAll("[data-part]")) {
      const twin = used && used.contains(old) ? null : fresh.getElementById(old.id); // a sent form comes whole, below
      if (twin) sync(old, twin, used);
    }
    if (used) { // its words are sent: a new token, and room for new words
      const twin = fresh.getElementById(used.id);
      if (twin && used.isConnected) swap(used, twin, used);
    }
    lastRead = new Date();
    document.dispatchEvent(new Event("shown"));
  }

  async function read() {
    if (reading) { again = true; return; }
    reading = true;
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
      if (answer.ok) show(await answer.text());
    } catch { /* the live connection tells when the server is away */ }
    reading = false;
    if (again) { again = false; read(); }
  }

  // ---- the live connection ----

  // tell lets a page's own script know.
  function tell(what, detail) { document.dispatchEvent(new CustomEvent(what, { detail })); }

  function say(state, words) {
    if (!pulse || pulse.dataset.state === state) return;
    pulse.dataset.state = state;
    pulse.textContent = words;
    tell("pulse", state);
  }

  function connect() {
    source = new EventSource(body.dataset.live);
    source.addEventListener("beat", () => { heard = Date.now(); wait = 1000; say("live", "Live"); read(); });
    source.addEventListener("change", () => { heard = Date.now(); read(); });
    source.addEventListener("here", (e) => { heard = Date.now(); tell("here", JSON.parse(e.data)); });
    source.addEventListener("error", () => {
      stale();
      if (source.readyState !== EventSource.CLOSED) return; // it tries again by itself
      setTimeout(connect, wait);
      wait = Math.min(wait * 2, 30000);
    });
  }

  function stale() {
    const at = lastRead.toLocaleTimeString([], { hour: "numeric", minute: "2-digit" });
    say("stale", "Not live since " + at + ". Connecting again");
  }

  setInterval(() => {
    if (!heard || Date.now() - heard < STALE_AFTER) return;
    stale();
    source.close();
    heard = Date.now();
    connect();
  }, 5000);
  document.addEventListener("look", read); // a page's own script has changed what is looked for
  addEventListener("pagehide", () => source.close());
  addEventListener("pageshow", (e) => { if (e.persisted) connect(); });

  // ---- forms ----

  async function send(form, button) {
    const trouble = form.querySelector(".trouble");
    const fields = new FormData(form, button);
    form.dataset.busy = "yes";
    if (button) button.setAttribute("aria-disabled", "true");
    trouble.textContent = "";
    try {
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(fields), headers: { Accept: "text/html" } });
      const html = await answer.text();
      const draft = button && button.name === "quick" && form.querySelector("textarea"); // a tapped reply leaves what is typed
      if (answer.ok) { tell("sent", { form: form.id }); show(html, form); }
      else tell("refused", { form: form.id, status: answer.status });
      if (answer.ok && draft) document.getElementById(draft.id).value = draft.value;
      else trouble.textContent = new DOMParser().parseFromString(html, "text/html").querySelector("[data-problem]")?.textContent
        || "That did not work (" + answer.status + "). Your words are still here.";
    } catch {
      tell("unsent", { form: form.id });
      trouble.textContent = "No connection, so it is not sent. Your words are still here; try again.";
    }
    delete form.dataset.busy;
    if (button) button.removeAttribute("aria-disabled");
  }

  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (form.method !== "post" || !form.querySelector(".trouble, [data-silent]")) return;
    e.preventDefault();
    if (!form.dataset.busy) send(form, e.submitter);
  });
  document.addEventListener("change", (e) => {
    if (e.target.matches("[data-submit]")) e.target.form.requestSubmit();
  });
  document.addEventListener("keydown", (e) => {
    if (e.key !== "Enter" || e.target.tagName !== "TEXTAREA" || e.isComposing) return;
    if (!e.ctrlKey && !e.metaKey && (e.shiftKey || !e.target.hasAttribute("data-enter"))) return;
    e.preventDefault();
    e.target.form.requestSubmit(e.target.form.querySelector("button.main"));
  });

  document.documentElement.classList.add("scripted");
  connect();
})();
