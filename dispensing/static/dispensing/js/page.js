// Small behaviours of every page: dialogs, sending a form only once, the error summary, the open menu.
(() => {
  document.addEventListener("click", (event) => {
    const opener = event.target.closest("[data-opens]");
    if (opener) {
      event.preventDefault();
      document.getElementById(opener.dataset.opens)?.showModal();
    }
    if (event.target.closest("[data-closes]")) event.target.closest("dialog")?.close();
    for (const menu of document.querySelectorAll("details.person[open]")) {
      if (!menu.contains(event.target)) menu.open = false;
    }
  });

  document.addEventListener("keydown", (event) => {
    const menu = event.key === "Escape" && event.target.closest("details.person[open]");
    if (menu) {
      menu.open = false;
      menu.querySelector("summary").focus();
    }
  });

  // A second press of the button before the first is answered would send the form twice.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.hasAttribute("hx-post") || form.method === "get" || form.hasAttribute("data-many")) return;
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  });

  document.querySelector("[data-error-summary]")?.focus();
})();
