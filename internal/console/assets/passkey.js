// Signs in with a passkey, or makes one. A page that has data-passkey shows its button only
// where the browser can do it; everything else on such a page works without this file.
"use strict";
(() => {
  if (!window.PublicKeyCredential) return;

  const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
  const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");

  async function post(address, body) {
    const answer = await fetch(address, { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify(body) });
    const said = await answer.json().catch(() => ({}));
    if (!answer.ok) throw new Error(said.problem || "That did not work (" + answer.status + "). Reload the page and try again.");
    return said;
  }

  // ask hands the server's options to the authenticator.
  async function ask(kind, options) {
    const key = options.publicKey;
    key.challenge = bytes(key.challenge);
    if (key.user) key.user.id = bytes(key.user.id);
    for (const list of [key.excludeCredentials, key.allowCredentials]) for (const one of list || []) one.id = bytes(one.id);
    return kind === "create" ? navigator.credentials.create({ publicKey: key }) : navigator.credentials.get({ publicKey: key });
  }

  // written is the authenticator's answer as JSON.
  function written(made) {
    const r = made.response, response = { clientDataJSON: text(r.clientDataJSON) };
    if (r.attestationObject) response.attestationObject = text(r.attestationObject);
    if (r.getTransports) response.transports = r.getTransports();
    if (r.authenticatorData && r.signature) {
      response.authenticatorData = text(r.authenticatorData);
      response.signature = text(r.signature);
      if (r.userHandle) response.userHandle = text(r.userHandle);
    }
    return { id: made.id, rawId: text(made.rawId), type: made.type, response, clientExtensionResults: {} };
  }

  for (const place of document.querySelectorAll("[data-passkey]")) {
    const { passkey: kind, ask: from, answer: to, code, back } = place.dataset;
    const button = place.querySelector("button"), trouble = place.querySelector(".trouble");
    place.hidden = false;
    button.addEventListener("click", async () => {
      trouble.textContent = "";
      button.setAttribute("aria-disabled", "true");
      try {
        const { options, ticket } = await post(from, { code });
        const made = await ask(kind, options);
        location.assign((await post(to, { code, back, ticket, answer: written(made) })).to);
      } catch (e) {
        trouble.textContent = e instanceof DOMException ? "Nothing was chosen, or this device could not do it. Try again." : e.message;
      }
      button.removeAttribute("aria-disabled");
    });
  }
})();
