// The comparison by keys: the arrows go from lens to lens, and Enter takes the one in focus, as on any button.
(() => {
  const steps = { ArrowDown: 1, ArrowUp: -1 };

  document.addEventListener("keydown", (event) => {
    const step = steps[event.key];
    const row = step && !event.ctrlKey && !event.metaKey && !event.altKey && event.target.closest(".lens-table tr");
    if (!row) return;
    const rows = [...document.querySelectorAll(".lens-table tr:has([data-take])")];
    const next = rows[rows.indexOf(row) + step]?.querySelector("[data-take]");
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
})();
