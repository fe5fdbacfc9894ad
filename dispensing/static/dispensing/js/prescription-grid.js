// Typing a prescription without a mouse: arrows between the eyes, Enter reads the pasted line, or ticks a field that was
// read off the paper as seen.
(() => {
  const other = { right: "left", left: "right" };
  const readLine = () => document.getElementById("read-line").click();

  // The tick of a control that holds what was read off the paper, if it still waits for one.
  const tick = (control) => {
    const box = control.closest?.(".field")?.querySelector('input[name="seen"]');
    return box && !box.checked ? box : null;
  };
  const within = (selector) => [...document.querySelectorAll(`#prescription-form ${selector}`)];
  const isEmpty = (control) => !control.value.trim();
  // Where there is still something to do: what was read and nobody looked at, what could not be read, what is needed.
  const nextToDo = () => {
    const controls = (parts) => parts.map((part) => part.closest(".field").querySelector("input, select"));
    const unseen = controls(within('input[name="seen"]:not(:checked)')).find((control) => !isEmpty(control));
    const unread = controls(within(".from-paper.unsure")).find(isEmpty);
    const needed = within(":is(input, select)[required]").find(isEmpty);
    return unseen ?? unread ?? needed ?? document.querySelector("#prescription-form button.primary");
  };
  const goTo = (control) => {
    control.focus();
    control.select?.();
  };

  const isTyped = (control) => (control.type === "checkbox" ? control.checked : Boolean(control.value.trim()));

  // What was read fills the fields by itself only while nobody has typed in them; else there is the button.
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.target.id !== "paper" && event.detail.elt?.id !== "paper") return;
    if (![...document.querySelectorAll(".eye-fields input, #id_line")].some(isTyped)) document.querySelector("#fill-from-paper[data-fills]")?.click();
  });

  // A file dropped anywhere on the page is the paper, as if it had been chosen.
  const wanted = () => document.getElementById("id_paper_file");
  document.addEventListener("dragover", (event) => {
    if (wanted()) event.preventDefault();
  });
  document.addEventListener("drop", (event) => {
    const input = wanted();
    if (!input || !event.dataTransfer.files.length) return;
    event.preventDefault();
    input.files = event.dataTransfer.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  });

  // The line has the focus before the scripts are here, so a quick typist's Enter may come first: as a line end at the
  // end of the text, or while the button has no one to answer it yet.
  let ready = false;
  let pressedEarly = false;
  document.addEventListener("DOMContentLoaded", () => {
    ready = true;
    if (pressedEarly || document.getElementById("id_line")?.value.endsWith("\n")) readLine();
  });

  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (field.id === "id_line" && event.key === "Enter" && !event.shiftKey) {
      event.preventDefault();
      event.stopImmediatePropagation();
      if (ready) readLine();
      else pressedEarly = true;
      return;
    }
    const mark = event.key === "Enter" ? tick(field) : null;
    if (mark) {
      event.preventDefault();
      event.stopImmediatePropagation();
      mark.checked = true;
      goTo(nextToDo());
      return;
    }
    if (event.key === "Enter" && field.closest?.(".field")?.querySelector(".from-paper") && !isEmpty(field)) {
      event.preventDefault();
      goTo(nextToDo());
      return;
    }
    if (!["ArrowUp", "ArrowDown"].includes(event.key) || field.tagName !== "INPUT") return;
    const [, eye, rest] = field.id.match(/^id_(right|left)-(.+)$/) ?? [];
    if (!eye) return;
    event.preventDefault();
    const next = document.getElementById(`id_${other[eye]}-${rest}`);
    next.focus();
    next.select();
  }, true);

  // After a line is read, move to where typing continues: the line if it was refused, else the first empty required
  // field.
  document.body.addEventListener("prescription-read", () => {
    const line = document.getElementById("id_line");
    const date = document.getElementById("id_tested_on");
    const unseen = document.querySelector('#prescription-form input[name="seen"]:not(:checked)');
    if (line.getAttribute("aria-invalid")) line.focus();
    else if (unseen) goTo(nextToDo());
    else (date.value ? document.getElementById("id_right-sphere") : date).focus();
  });
})();
