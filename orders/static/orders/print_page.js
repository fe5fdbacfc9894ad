// The button that prints the page; the browser's own command does the same.
document.querySelector("[data-prints]")?.addEventListener("click", () => window.print());
