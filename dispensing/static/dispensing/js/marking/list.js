// The list of marks beside the photo: every mark can be chosen, read and set here without seeing the photo.
import { Marks } from "./marks.js";

const STATE = { set: "set", not: "not set", suspect: "look here first" };

export const listenToList = (list, desk) => {
  list.addEventListener("click", (event) => {
    const button = event.target.closest("[data-select]");
    if (!button) return;
    desk.choose(button.dataset.select);
    if (desk.marks.has(desk.chosen)) desk.showChosen();
  });

  list.addEventListener("focusin", (event) => {
    const { mark } = event.target.dataset;
    if (mark) desk.choose(mark);
  });

  list.addEventListener("input", (event) => {
    const { mark, axis } = event.target.dataset;
    const value = event.target.valueAsNumber;
    if (!mark || !Number.isFinite(value)) return;
    desk.change(() => {
      desk.marks.setNumber(mark, Number(axis), value);
      desk.marks.tell(mark);
    }, event.target);
    desk.done(mark);
  });

  // The field itself steps by a tenth; Shift makes it one, Control ten.
  list.addEventListener("keydown", (event) => {
    const { mark } = event.target.dataset;
    const sign = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!mark || !sign || !(event.shiftKey || event.ctrlKey) || event.target.readOnly) return;
    event.preventDefault();
    const step = sign * (event.ctrlKey ? 10 : 1);
    event.target.value = (event.target.valueAsNumber || 0) + step;
    event.target.dispatchEvent(new Event("input", { bubbles: true }));
  });
};

export const showList = (list, desk, typedIn = null) => {
  for (const field of list.querySelectorAll("[data-mark]")) {
    if (field === typedIn) continue;
    const number = desk.marks.number(field.dataset.mark, Number(field.dataset.axis));
    field.value = number === undefined ? "" : number.toFixed(1);
    field.readOnly = desk.readOnly;
  }
  const chosen = desk.chosen && Marks.owner(desk.chosen);
  const suspects = new Set([...desk.suspects].map(Marks.owner));
  for (const row of list.querySelectorAll("[data-row]")) {
    const name = row.dataset.row;
    const state = suspects.has(name) ? "suspect" : desk.marks.has(name) ? "set" : "not";
    row.dataset.state = state;
    row.querySelector(".mark-state").textContent = STATE[state];
    row.querySelector("[data-select]").setAttribute("aria-pressed", String(name === chosen));
  }
};
