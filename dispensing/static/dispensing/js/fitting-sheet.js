// Typing a fitting without a mouse: arrows go where they point. Up and down lead to the figure above or below, left and
// right to the other eye once the caret stands at that end of what is typed.
(() => {
  const steps = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

  const lines = () =>
    [...document.querySelectorAll(".fitting-line")].map((line) => [...line.querySelectorAll(".eye input")]);

  const isAtTheEnd = (field, way) => {
    const all = field.value.length;
    const isWhole = field.selectionStart === 0 && field.selectionEnd === all;
    return isWhole || (field.selectionStart === field.selectionEnd && field.selectionStart === (way < 0 ? 0 : all));
  };

  // The PDs last measured, put in as copied from an earlier record, so that nobody takes them for measured today.
  document.addEventListener("click", (event) => {
    if (!event.target.closest("[data-take-over]")) return;
    const last = Object.entries(JSON.parse(document.getElementById("last-pds").textContent));
    for (const [name, value] of last) document.getElementsByName(name)[0].value = value;
    const first = document.getElementsByName(last[0][0])[0];
    first.focus();
    first.dispatchEvent(new Event("input", { bubbles: true }));
  });

  document.addEventListener("keydown", (event) => {
    const field = event.target;
    const [down, across] = steps[event.key] ?? [];
    if (down === undefined || event.shiftKey || event.ctrlKey || event.altKey || event.metaKey) return;
    if (!field.matches(".fitting-line .eye input") || (across && !isAtTheEnd(field, across))) return;
    const sheet = lines();
    const row = sheet.findIndex((line) => line.includes(field));
    const column = sheet[row].indexOf(field);
    const line = sheet[row + down];
    const next = across ? line[column + across] : line?.[Math.min(column, line.length - 1)];
    if (!next) return;
    event.preventDefault();
    next.focus();
    next.select();
  });
})();
