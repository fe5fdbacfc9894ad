// A page outlives its sign-in. Whoever was idle is signed out and the page covered; a form is never sent to a server
// that would only answer with the sign-in page, and nothing typed is lost: one signs in again in a second window and
// goes on here.
(() => {
  const { user, idle } = document.body.dataset;
  const cover = document.getElementById("signed-out");
  if (!user || !cover) return;
  const FRESH = 60_000; // what was heard a moment ago still holds
  const said = cover.querySelector("[data-said]");
  let heardAt = Date.now();

  const outOfReach = Symbol("the server cannot be reached");
  const whoIsSignedIn = async () => {
    try {
      const answer = await fetch("/still-signed-in/", { cache: "no-store" });
      return answer.ok ? (await answer.json()).name : outOfReach;
    } catch {
      return outOfReach;
    }
  };

  // Whether this page's own person is signed in; if not, the page is covered and says so.
  const stillHere = async () => {
    const name = await whoIsSignedIn();
    if (name === outOfReach) {
      document.dispatchEvent(new CustomEvent("answered", { detail: { status: 0 }, cancelable: true }));
      return false;
    }
    if (name === user) {
      heardAt = Date.now();
      if (cover.open) cover.close();
      return true;
    }
    said.textContent = name
      ? "Somebody else is signed in here now. They must sign out before you can go on."
      : "What you typed is still on this page.";
    if (!cover.open) cover.showModal();
    return false;
  };

  document.addEventListener(
    "submit",
    async (event) => {
      const { target: form, submitter } = event;
      if (form.method !== "post" || form.hasAttribute("hx-post") || Date.now() - heardAt < FRESH) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      if (await stillHere()) form.requestSubmit(submitter);
    },
    true,
  );
  document.addEventListener("signed-out", stillHere);
  cover.addEventListener("cancel", (event) => event.preventDefault());
  cover.querySelector("[data-goes-on]").addEventListener("click", stillHere);
  window.addEventListener("focus", () => cover.open && stillHere());
  setInterval(() => {
    if (!cover.open && Date.now() - heardAt > idle * 60_000) stillHere();
  }, FRESH / 2);
})();
