// Typing a prescription without a mouse: arrows between the eyes, Enter reads the pasted line.
(() => {
  const other = { right: "left", left: "right" };
  const readLine = () => document.getElementById("read-line").click();

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
    if (line.getAttribute("aria-invalid")) line.focus();
    else (date.value ? document.getElementById("id_right-sphere") : date).focus();
  });
})();
