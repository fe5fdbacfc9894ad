// Keys that work on every page: "/" goes to the patient finder, "?" opens the list of keys. They do nothing while
// someone is typing.
(() => {
  const typing = (target) => target.closest("input, textarea, select, [contenteditable]") !== null;

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
    if (event.key === "/") {
      const finder = document.querySelector("[data-finder]");
      if (!finder) return;
      event.preventDefault();
      finder.focus();
      finder.select();
    }
    if (event.key === "?") document.getElementById("keys")?.showModal();
  });

  // Ctrl+Enter sends the current form from any of its fields.
  document.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) event.target.closest("form")?.requestSubmit();
  });
})();
