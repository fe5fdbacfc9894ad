// Drawing: the photo on one canvas (which brightness and contrast affect), the marks on another above it. Every line is
// drawn dark and then light, so that it shows on skin, hair and dark lenses alike.
import { EYES } from "./marks.js";
import { evenOut } from "./equaliser.js";

const DARK = "rgb(0 0 0 / 75%)";
const LIGHT = "#ffffff";
const CHOSEN = "#ffd08a";
const SUSPECT = "#ff6b61";
export const HANDLE = 7;
const BOX_HANDLES = ["temporal", "nasal", "top", "bottom", "temporal+top", "nasal+top", "temporal+bottom", "nasal+bottom"];

export const handlesOf = (marks) => {
  const boxes = EYES.filter((eye) => marks.boxes[eye]).flatMap((eye) => BOX_HANDLES.map((part) => `${eye}.${part}`));
  return [...marks.names().filter((name) => !name.endsWith(".box") && marks.has(name)), ...boxes];
};

export class Painter {
  constructor(picture, overlay, view) {
    this.picture = picture.getContext("2d", { alpha: false });
    this.overlay = overlay.getContext("2d");
    this.view = view;
  }

  resize([width, height], ratio) {
    for (const { canvas } of [this.picture, this.overlay]) {
      canvas.width = Math.round(width * ratio);
      canvas.height = Math.round(height * ratio);
    }
    this.ratio = ratio;
    this.painted = null;
  }

  // Only if the photo or its view has changed: a large photo takes longer to paint than all the marks together.
  paintPicture(image) {
    const { picture: pen, view, ratio } = this;
    const shown = [view.scale, view.left, view.top, Boolean(image)].join();
    if (shown === this.painted) return;
    this.painted = shown;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = "#2b353a";
    pen.fillRect(0, 0, pen.canvas.width, pen.canvas.height);
    if (!image) return;
    pen.setTransform(ratio * view.scale, 0, 0, ratio * view.scale, ratio * view.left, ratio * view.top);
    // At high magnification single pixels are shown unsmoothed, because a mark is set between them.
    pen.imageSmoothingEnabled = view.scale < 4;
    pen.drawImage(image, 0, 0, view.photo[0], view.photo[1]);
    if (!this.even) return;
    const { width, height } = pen.canvas;
    const shownNow = pen.getImageData(0, 0, width, height);
    evenOut(shownNow.data, width, height);
    pen.putImageData(shownNow, 0, 0);
  }

  paintMarks(marks, { chosen, suspects, proposals, drawing }) {
    const { overlay: pen, ratio } = this;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, pen.canvas.width, pen.canvas.height);
    const colour = (name) => (name === chosen ? CHOSEN : suspects.has(name) ? SUSPECT : LIGHT);
    for (const eye of EYES) if (marks.boxes[eye]) this.box(marks, eye, { chosen, suspects, colour });
    if (drawing) this.line([drawing[0], [drawing[1][0], drawing[0][1]], drawing[1], [drawing[0][0], drawing[1][1]]], CHOSEN, { closed: true });
    this.lines(marks);
    for (const name of marks.names()) {
      if (!name.endsWith(".box") && marks.has(name)) this.cross(marks.points[name], colour(name), this.shortName(name));
    }
    for (const eye of EYES) if (proposals[eye]) this.proposal(eye, proposals[eye]);
    const loose = Object.values(proposals.points ?? {});
    for (const { at, confidence } of loose) this.cross(at, LIGHT, `? ${Math.round(100 * confidence)} %`, true);
    if (loose.length === 2) this.line(loose.map(({ at }) => at), LIGHT, { dashed: true });
  }

  box(marks, eye, { chosen, suspects, colour }) {
    const own = chosen?.startsWith(`${eye}.`) && chosen !== `${eye}.pupil`;
    this.line(marks.corners(eye), own ? CHOSEN : LIGHT, { closed: true });
    for (const part of BOX_HANDLES) {
      const name = `${eye}.${part}`;
      const whole = own && chosen === `${eye}.box`;
      this.knob(this.view.toScreen(marks.place(name)), whole ? CHOSEN : colour(name), suspects.has(name) ? 2 * HANDLE : HANDLE);
    }
    this.word(marks.place(`${eye}.temporal+top`), eye === "right" ? "R" : "L", [0, -12]);
  }

  // Lines join the marks that belong together: rim, level line, known length, and the middles of the boxes.
  lines(marks) {
    const joined = [["rim_top", "rim_bottom"], ["level.0", "level.1"]];
    if (marks.wantsEnds) joined.push(["scale.ends.0", "scale.ends.1"]);
    for (const [one, other] of joined) {
      if (marks.points[one] && marks.points[other]) this.line([marks.points[one], marks.points[other]], LIGHT, { dashed: one !== "rim_top" });
    }
    if (EYES.every((eye) => marks.boxes[eye])) {
      this.line([marks.place("right.nasal"), marks.place("left.nasal")], LIGHT, { dashed: true });
    }
  }

  line(points, colour, { closed = false, dashed = false } = {}) {
    const { overlay: pen } = this;
    const trace = () => {
      pen.beginPath();
      points.forEach((point, index) => pen[index ? "lineTo" : "moveTo"](...this.view.toScreen(point)));
      if (closed) pen.closePath();
      pen.stroke();
    };
    pen.setLineDash([]);
    [pen.strokeStyle, pen.lineWidth] = [DARK, 3.5];
    trace();
    pen.setLineDash(dashed ? [6, 5] : []);
    [pen.strokeStyle, pen.lineWidth] = [colour, 1.5];
    trace();
    pen.setLineDash([]);
  }

  knob([x, y], colour, side) {
    const { overlay: pen } = this;
    pen.beginPath();
    pen.rect(x - side / 2, y - side / 2, side, side);
    [pen.fillStyle, pen.strokeStyle, pen.lineWidth] = [colour, DARK, 1.5];
    pen.fill();
    pen.stroke();
  }

  // Open in the middle, so that the spot itself stays visible.
  cross(point, colour, word, dashed = false) {
    const { overlay: pen } = this;
    const [x, y] = this.view.toScreen(point);
    for (const [stroke, width] of [[DARK, 3.5], [colour, 1.5]]) {
      [pen.strokeStyle, pen.lineWidth] = [stroke, width];
      pen.setLineDash(dashed ? [4, 3] : []);
      pen.beginPath();
      pen.arc(x, y, 9, 0, 2 * Math.PI);
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(x + 3 * dx, y + 3 * dy);
        pen.lineTo(x + 15 * dx, y + 15 * dy);
      }
      pen.stroke();
    }
    pen.setLineDash([]);
    if (word) this.word(point, word, [14, -12]);
  }

  proposal(eye, { pupil, temporal, nasal, top, bottom }) {
    if (pupil) this.cross(pupil.at, LIGHT, `${eye === "right" ? "R" : "L"}? ${Math.round(100 * pupil.confidence)} %`, true);
    if (!(temporal && nasal && top && bottom)) return;
    // Each side through its own place, along the axes of the box that they make.
    const [across, down] = [[nasal.at, temporal.at], [bottom.at, top.at]].map(([a, b]) => [(a[0] - b[0]) / 2, (a[1] - b[1]) / 2]);
    for (const [side, half] of [[temporal, down], [nasal, down], [top, across], [bottom, across]]) {
      const [x, y] = side.at;
      this.line([[x - half[0], y - half[1]], [x + half[0], y + half[1]]], side.unsure ? SUSPECT : LIGHT, { dashed: true });
    }
  }

  word(point, text, [dx, dy]) {
    const { overlay: pen } = this;
    const [x, y] = this.view.toScreen(point);
    pen.font = "600 13px system-ui, sans-serif";
    [pen.strokeStyle, pen.lineWidth, pen.fillStyle, pen.lineJoin] = [DARK, 4, LIGHT, "round"];
    pen.strokeText(text, x + dx, y + dy);
    pen.fillText(text, x + dx, y + dy);
  }

  shortName(name) {
    return { "right.pupil": "", "left.pupil": "", rim_top: "rim", rim_bottom: "rim", cornea: "cornea", "level.0": "level", "right.reflection": "light", "left.reflection": "light" }[name] ?? "";
  }
}
