// Mouse, pen and fingers on the photo: dragging marks, drawing a box, moving the photo, pinching, the wheel.
import { apart } from "./geometry.js";
import { HANDLE, handlesOf } from "./draw.js";

const REACH = { mouse: 9, pen: 12, touch: 22 };
const SMALLEST_BOX = 12;

// "desk" is the marking page: view, marks, chosen, moving, readOnly and choose(), change(), done(), paint(), look().
export const listenToPointers = (canvas, desk) => {
  const down = new Map();
  let action = null;

  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };

  const handOf = ({ pointerType }) => (pointerType in REACH ? pointerType : "mouse");

  const set = (name, point, event) => {
    desk.byHand();
    desk.change(() => {
      desk.marks.put(name, point);
      desk.madeBy(name, handOf(event));
    });
  };

  const near = (screen, kind) => {
    // While a mark is waiting to be set, another is only picked up if the pointer is very close to it.
    const waiting = desk.chosen && !desk.marks.has(desk.chosen);
    const reach = Math.max(REACH[kind] ?? REACH.mouse, HANDLE) / (waiting ? 2 : 1);
    let best = null;
    for (const name of handlesOf(desk.marks)) {
      const far = apart(screen, desk.view.toScreen(desk.marks.place(name)));
      // If several marks are close together, the chosen one wins.
      const weight = far - (name === desk.chosen ? 4 : 0);
      if (far <= reach && (!best || weight < best.weight)) best = { name, weight };
    }
    return best?.name ?? null;
  };

  const begin = (event) => {
    const screen = at(event);
    const panning = desk.readOnly || desk.moving || event.button === 1;
    const unset = desk.chosen && !desk.marks.has(desk.chosen) ? desk.chosen : null;
    const name = panning ? null : near(screen, event.pointerType);
    if (name) {
      const place = desk.view.toScreen(desk.marks.place(name));
      desk.choose(name);
      return { kind: "pull", name, off: [place[0] - screen[0], place[1] - screen[1]] };
    }
    if (unset?.endsWith(".box") && !panning) desk.byHand();
    if (unset?.endsWith(".box") && !panning) return { kind: "box", name: unset, from: desk.view.toPhoto(screen), by: handOf(event) };
    if (unset && !panning) {
      set(unset, desk.view.toPhoto(screen), event);
      desk.look(desk.view.toPhoto(screen));
      return { kind: "pull", name: unset, off: [0, 0], fresh: true };
    }
    return { kind: "pan", last: screen };
  };

  const pinch = () => {
    const [one, other] = [...down.values()];
    return { middle: [(one[0] + other[0]) / 2, (one[1] + other[1]) / 2], wide: apart(one, other) };
  };

  canvas.addEventListener("pointerdown", (event) => {
    if (event.button > 1) return;
    event.preventDefault();
    canvas.focus({ preventScroll: true });
    try {
      canvas.setPointerCapture(event.pointerId);
    } catch {
      // A pointer that has already gone needs no capture.
    }
    down.set(event.pointerId, at(event));
    if (down.size === 2) {
      // The first finger may have set or dragged something before the second touched; neither was intended.
      if (action?.before) desk.takeBack(action.before);
      action = null;
      stop();
      const { middle, wide } = pinch();
      action = { kind: "pinch", point: desk.view.toPhoto(middle), wide: Math.max(wide, 1), scale: desk.view.scale };
    } else if (down.size === 1) {
      const before = { state: desk.marks.state(), chosen: desk.chosen };
      action = { ...begin(event), before };
    }
    desk.paint();
  });

  canvas.addEventListener("pointermove", (event) => {
    const screen = at(event);
    if (!down.has(event.pointerId)) {
      hover(screen);
      return;
    }
    down.set(event.pointerId, screen);
    if (action?.kind === "pinch" && down.size === 2) {
      const { middle, wide } = pinch();
      desk.view.lay(action.point, middle, (action.scale * wide) / action.wide);
    } else if (action?.kind === "pan") {
      desk.view.pan(screen[0] - action.last[0], screen[1] - action.last[1]);
      action.last = screen;
    } else if (action?.kind === "box") {
      action.to = desk.view.toPhoto(screen);
      desk.drawing = [action.from, action.to];
      desk.look(action.to);
    } else if (action?.kind === "pull") {
      const point = desk.view.toPhoto([screen[0] + action.off[0], screen[1] + action.off[1]]);
      set(action.name, point, event);
      desk.look(desk.marks.place(action.name));
    }
    desk.paint();
  });

  const hover = (screen) => {
    const placing = desk.chosen && !desk.marks.has(desk.chosen) && !desk.readOnly && !desk.moving;
    const name = desk.readOnly || desk.moving ? null : near(screen, "mouse");
    canvas.style.cursor = name ? "move" : placing ? "crosshair" : "grab";
    desk.look(placing && !name ? desk.view.toPhoto(screen) : null);
  };

  const stop = () => {
    if (action?.kind === "box" && action.to && apart(desk.view.toScreen(action.from), desk.view.toScreen(action.to)) > SMALLEST_BOX) {
      const eye = action.name.split(".")[0];
      desk.change(() => {
        desk.marks.drawBox(eye, action.from, action.to);
        desk.madeBy(action.name, action.by);
      });
      desk.done(action.name, true);
    } else if (action?.kind === "pull") desk.done(action.name, action.fresh);
    action = null;
    desk.drawing = null;
    desk.look(null);
  };

  for (const kind of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(kind, (event) => {
      if (!down.delete(event.pointerId)) return;
      stop();
      // After a pinch, the finger still down moves the photo; it never sets a mark.
      if (down.size === 1) action = { kind: "pan", last: [...down.values()][0] };
      desk.paint();
    });
  }
  canvas.addEventListener("pointerleave", () => down.size || desk.look(null));

  canvas.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      const step = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? event.deltaY * 16 : event.deltaY;
      desk.view.zoom(Math.exp(-step / 400), at(event));
      desk.paint();
    },
    { passive: false },
  );
};
