// What to do with the server's answers, or the lack of one, while a page is being filled in: nothing typed is ever
// lost.
(() => {
  const say = (text) => {
    const place = document.getElementById("trouble");
    place.querySelector("p").textContent = text;
    place.hidden = false;
  };

  // Signing in again in another window gives a new token; without this, forms opened earlier would be refused.
  const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1];
  document.addEventListener("submit", (event) => {
    const field = event.target.elements.csrfmiddlewaretoken;
    if (field && token()) field.value = token();
  });
  document.addEventListener("htmx:configRequest", (event) => {
    if (!token()) return;
    event.detail.headers["X-CSRFToken"] = token();
    event.detail.parameters.delete?.("csrfmiddlewaretoken");
  });

  // Signing in and signing out give a new token, so a page that the back button brings back from the browser's memory
  // may belong to somebody who has left the desk.
  const tokenWhenOpened = token();
  window.addEventListener("pageshow", (event) => {
    if (!event.persisted || token() === tokenWhenOpened) return;
    document.body.hidden = true;
    location.reload();
  });

  // What there is to say of an answer; nothing if it is one to show.
  const troubleWith = ({ address, status }) => {
    if (!status) return "The server cannot be reached. What you typed is still here.";
    if (new URL(address || location.href, location.href).pathname === "/sign-in/") {
      document.dispatchEvent(new CustomEvent("signed-out"));
      return "You are no longer signed in. Sign in again in a second window, then go on here: what you typed is still there.";
    }
    if (status === 503) return "The database cannot be reached at the moment. What you typed is still here; try again in a minute.";
    if (status === 507) return "The server's disk is full or cannot be written to, so nothing is saved. What you typed is still here.";
    return status >= 400 ? "The server could not work this out. What you typed is still here; try once more." : "";
  };

  const heard = (answer) => {
    const trouble = troubleWith(answer);
    if (trouble) say(trouble);
    else document.getElementById("trouble").hidden = true;
    return trouble;
  };

  document.addEventListener("htmx:beforeSwap", (event) => {
    const { xhr } = event.detail;
    if (heard({ address: xhr.responseURL, status: xhr.status })) event.detail.shouldSwap = false;
  });
  document.addEventListener("htmx:sendError", () => heard({ status: 0 }));
  // A page's own script that asks the server without htmx; what it hears is not shown if this says so.
  document.addEventListener("answered", (event) => {
    if (heard(event.detail)) event.preventDefault();
  });

  // An answer that comes between the press and the release of a button would take the button from under the finger, and
  // the press with it. Who asked and listens for "again" is told to ask once more after the release.
  let pressed = null;
  const toAskAgain = new Set();
  const release = () => {
    pressed = null;
    for (const asker of toAskAgain) htmx.trigger(asker, "again");
    toAskAgain.clear();
  };
  for (const press of ["pointerdown", "keydown"]) {
    document.addEventListener(press, (event) => (pressed = event.target), true);
  }
  for (const end of ["pointerup", "pointercancel", "keyup"]) {
    document.addEventListener(end, () => setTimeout(release), true);
  }
  window.addEventListener("blur", release);
  document.addEventListener("htmx:beforeSwap", (event) => {
    const asker = event.detail.requestConfig.elt;
    if (!pressed || !event.detail.target.contains(pressed) || !asker.matches('[hx-trigger*="again"]')) return;
    event.detail.shouldSwap = false;
    toAskAgain.add(asker);
  });
})();
