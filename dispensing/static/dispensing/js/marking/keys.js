// The keyboard on the photo: moving, setting and removing the chosen mark. The numbers in the list have their own
// fields.
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const PAN_PX = 40;

export const stepOf = (event) => (event.ctrlKey || event.metaKey ? 10 : event.shiftKey ? 1 : 0.1);

export const listenToKeys = (canvas, page, desk) => {
  const arrow = (event) => {
    const [dx, dy] = ARROWS[event.key];
    if (!desk.chosen || !desk.marks.has(desk.chosen) || desk.readOnly) {
      desk.view.pan(-dx * PAN_PX, -dy * PAN_PX);
      desk.paint();
      return;
    }
    const step = stepOf(event);
    desk.nudge(dx * step, dy * step);
  };

  const alone = {
    n: () => desk.next(1),
    p: () => desk.next(-1),
    Enter: () => desk.putInMiddle(),
    Delete: () => desk.takeOff(),
    Backspace: () => desk.takeOff(),
    Escape: () => desk.choose(null),
    c: () => desk.bringToMiddle(),
    "+": () => desk.tool("in"),
    "=": () => desk.tool("in"),
    "-": () => desk.tool("out"),
    0: () => desk.tool("fit"),
  };

  canvas.addEventListener("keydown", (event) => {
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (event.altKey) return;
    if (key in ARROWS) arrow(event);
    else if (!event.ctrlKey && !event.metaKey && alone[key]) alone[key]();
    else return;
    event.preventDefault();
    event.stopPropagation();
  });

  // Undo works anywhere on the page, except while a setting is being typed, because its field has its own undo.
  page.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    if (event.target.closest("#settings")) return;
    const key = event.key.toLowerCase();
    if (key !== "z" && key !== "y") return;
    event.preventDefault();
    desk.tool(key === "y" || event.shiftKey ? "redo" : "undo");
  });
};
