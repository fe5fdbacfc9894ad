// The order desk: while a draft is being saved, leaving the page asks first; Ctrl+S saves at once.
(() => {
  const draft = document.getElementById("draft");
  if (!draft) return;
  let unsaved = false;
  draft.addEventListener("input", () => { unsaved = true; });
  document.body.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.successful) unsaved = false;
  });
  window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });
  document.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s") {
      event.preventDefault();
      htmx.trigger(draft, "change");
    }
  });
})();
