// Asking a passkey, new or known. The server says what to ask (data-passkey) and hears the answer (data-answer); bytes
// travel as base64url. Without passkeys in the browser the part is hidden.
(() => {
  const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
  const text = (buffer) =>
    btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");

  const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
  const post = async (address, body) => {
    const headers = { "Content-Type": "application/json", "X-CSRFToken": token() };
    const answer = await fetch(address, { method: "POST", headers, body: body && JSON.stringify(body) });
    if (!answer.headers.get("Content-Type")?.startsWith("application/json")) location.reload(); // locked, or signed out
    return [answer.ok, await answer.json()];
  };

  const known = (options) => ({
    ...options,
    challenge: bytes(options.challenge),
    ...(options.user && { user: { ...options.user, id: bytes(options.user.id) } }),
    excludeCredentials: options.excludeCredentials?.map((one) => ({ ...one, id: bytes(one.id) })),
    allowCredentials: options.allowCredentials?.map((one) => ({ ...one, id: bytes(one.id) })),
  });
  const told = (made) => {
    const response = { clientDataJSON: text(made.response.clientDataJSON) };
    for (const name of ["attestationObject", "authenticatorData", "signature", "userHandle"]) {
      if (made.response[name]) response[name] = text(made.response[name]);
    }
    if (made.response.getTransports) response.transports = made.response.getTransports();
    const { id, type } = made;
    return { id, rawId: text(made.rawId), type, response, clientExtensionResults: made.getClientExtensionResults() };
  };

  const ask = async (part) => {
    const isNew = "new" in part.dataset;
    const name = part.querySelector("[name=name]")?.value.trim();
    if (isNew && !name) return "Give the passkey a name first.";
    const [ready, options] = await post(part.dataset.passkey);
    if (!ready) return options.said;
    const publicKey = known(options);
    const made = await (isNew ? navigator.credentials.create({ publicKey }) : navigator.credentials.get({ publicKey }));
    const [taken, answer] = await post(part.dataset.answer, isNew ? { name, passkey: told(made) } : told(made));
    if (!taken) return answer.said;
    if (answer.go === "codes") document.getElementById("new-codes").requestSubmit();
    else if (isNew) location.reload();
    else location.assign(answer.go);
    return "";
  };

  for (const part of document.querySelectorAll("[data-passkey]")) {
    const said = part.querySelector("[data-said]");
    const button = part.querySelector("[data-ask]");
    if (!window.PublicKeyCredential) {
      button.disabled = true;
      said.textContent = "This browser knows no passkeys.";
    }
    button.addEventListener("click", async () => {
      button.disabled = true;
      try {
        said.textContent = await ask(part);
      } catch {
        said.textContent = "The passkey did not answer. Try again, or use another way.";
      }
      button.disabled = false;
    });
  }
})();
