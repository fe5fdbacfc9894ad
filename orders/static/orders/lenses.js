// The comparison by keys and on paper: the arrows go from lens to lens, and Enter takes the one in focus, as on any button.
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

  // Only these stand on the printed sheet; without this script the browser's own print does the same.
  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
})();
