// The marks of one photo while they are being edited, and their form in the record (a part of fitting-points/1). A lens
// box is square to the frame: its sides are kept along axes turned by "turn" degrees about the middle of the photo, so
// that a tilted head does not make the boxes wider.
import { between, turned } from "./geometry.js";

export const EYES = ["right", "left"];
const SIDES = ["temporal", "nasal", "top", "bottom"];
const POINTS = { front: ["right.pupil", "left.pupil"], side: ["rim_top", "rim_bottom", "cornea", "level.0", "level.1"] };
// Marked only where an eye may be turned, so nobody is asked for them.
const REFLECTIONS = ["right.reflection", "left.reflection"];
const ENDS = ["scale.ends.0", "scale.ends.1"];
const KEPT = {
  front: ["gaze", "gaze_up_mm", "gaze_in_mm", "camera_distance_mm", "camera_pitch_deg", "camera_pitch_sd_deg", "sides", "face_form_deg"],
  side: [],
};

const tenth = (value) => Math.round(value * 10) / 10;
const hundredth = (value) => Math.round(value * 100) / 100;
const fine = ([x, y]) => [hundredth(x), hundredth(y)];

const leanOf = ([ax, ay], [bx, by]) => (Math.atan2(by - ay, bx - ax) * 180) / Math.PI;
const halfway = ([ax, ay], [bx, by]) => [(ax + bx) / 2, (ay + by) / 2];
const SQUARE_DEG = 0.2;
const UNSEEN = { zoom: 0.05, by: "mouse" };

// How far stored boxes are turned. Boxes drawn on this page have the middles of their sides as marks, so their own axes
// show it. Marks made elsewhere may touch the lens anywhere on a side; for those the line through both boxes shows it.
const turnOf = (boxes) => {
  for (const { nasal, temporal, top, bottom } of boxes) {
    const level = nasal[0] > temporal[0] ? leanOf(temporal, nasal) : leanOf(nasal, temporal);
    const upright = leanOf(top, bottom) - 90;
    if (Math.abs(level - upright) < SQUARE_DEG && Math.abs(level) <= 30) return tenth(level);
  }
  if (boxes.length < 2) return 0;
  const lean = leanOf(...boxes.map(({ top, bottom }) => halfway(top, bottom)));
  return Math.abs(lean) <= 30 ? tenth(lean) : 0;
};

export class Marks {
  constructor({ view, width, height, frame }) {
    this.view = view;
    this.frame = frame;
    this.size = [width, height];
    this.middle = [width / 2, height / 2];
    this.read({});
  }

  // Reads the record. Throws nothing: what is missing is not set.
  read(part) {
    this.turn = 0;
    this.boxes = { right: null, left: null };
    this.points = {};
    this.settings = Object.fromEntries(KEPT[this.view].map((name) => [name, part[name] ?? null]));
    this.settings.mark_sd_px = part.mark_sd_px ?? null;
    const { made, reflection, ...extra } = part.extra ?? {};
    for (const eye of EYES) if (reflection?.[eye]) this.points[`${eye}.reflection`] = [...reflection[eye]];
    // How each mark was made, by its name in the record: how large the photo was shown, and by which hand.
    [this.made, this.extra] = [{ ...made }, extra];
    this.scale = part.scale ? { ...part.scale } : null;
    if (part.scale?.ends) ENDS.forEach((name, index) => (this.points[name] = [...part.scale.ends[index]]));
    if (this.view === "side") this.readSide(part);
    else this.readFront(part);
  }

  readSide(part) {
    for (const name of ["rim_top", "rim_bottom", "cornea"]) if (part[name]) this.points[name] = [...part[name]];
    if (part.level) part.level.forEach((end, index) => (this.points[`level.${index}`] = [...end]));
    if (!part.scale && this.frame.b_mm) this.scale = { by: "length", length_mm: this.frame.b_mm };
    const { by, length_mm, ends } = this.scale ?? {};
    const same = (a, b) => a && b && a[0] === b[0] && a[1] === b[1];
    const atRims = ends ? same(ends[0], part.rim_top) && same(ends[1], part.rim_bottom) : length_mm === this.frame.b_mm;
    // The known length is the depth of the front between its rim marks: they serve both purposes and move together.
    this.alongRims = by === "length" && Boolean(atRims);
  }

  readFront(part) {
    const whole = (marks) => Boolean(marks) && SIDES.every((side) => marks[side]);
    this.turn = turnOf(EYES.map((eye) => part[eye]).filter(whole));
    for (const eye of EYES) {
      const marks = part[eye];
      if (marks?.pupil) this.points[`${eye}.pupil`] = [...marks.pupil];
      if (whole(marks)) this.boxes[eye] = this.levelBox(marks);
    }
  }

  levelBox(marks) {
    const level = (side) => turned(marks[side], -this.turn, this.middle);
    return {
      temporal: hundredth(level("temporal")[0]),
      nasal: hundredth(level("nasal")[0]),
      top: hundredth(level("top")[1]),
      bottom: hundredth(level("bottom")[1]),
    };
  }

  // The whole current state, half-drawn lines included, for undo. "restore" brings it back.
  state() {
    const { turn, boxes, points, settings, scale, alongRims, made, extra } = this;
    return structuredClone({ turn, boxes, points, settings, scale, alongRims: Boolean(alongRims), made, extra });
  }

  restore(state) {
    Object.assign(this, structuredClone(state));
  }

  // The form for the record: only what is set.
  part() {
    const part = Object.fromEntries(Object.entries(this.settings).filter(([, value]) => value !== null && value !== ""));
    const scale = this.scaleForRecord();
    if (scale) part.scale = scale;
    const extra = { ...this.extra, ...(Object.keys(this.made).length ? { made: { ...this.made } } : {}) };
    const reflected = REFLECTIONS.filter((name) => this.points[name]).map((name) => [name.split(".")[0], fine(this.points[name])]);
    if (reflected.length) extra.reflection = Object.fromEntries(reflected);
    if (Object.keys(extra).length) part.extra = extra;
    if (this.view === "side") return { ...part, ...this.sideMarks() };
    for (const eye of EYES) {
      const marks = this.eyeMarks(eye);
      if (Object.keys(marks).length) part[eye] = marks;
    }
    return part;
  }

  sideMarks() {
    const found = {};
    for (const name of ["rim_top", "rim_bottom", "cornea"]) if (this.points[name]) found[name] = fine(this.points[name]);
    const level = [this.points["level.0"], this.points["level.1"]];
    if (level.every(Boolean)) found.level = level.map(fine);
    return found;
  }

  eyeMarks(eye) {
    const marks = {};
    const pupil = this.points[`${eye}.pupil`];
    if (pupil) marks.pupil = fine(pupil);
    if (this.boxes[eye]) for (const side of SIDES) marks[side] = fine(this.place(`${eye}.${side}`));
    return marks;
  }

  scaleForRecord() {
    if (!this.scale?.by) return null;
    const { by, length_mm, in_front_of_lens_plane_mm } = this.scale;
    if (by === "frame") return { by };
    const ends = this.alongRims ? [this.points.rim_top, this.points.rim_bottom] : ENDS.map((name) => this.points[name]);
    const scale = { by };
    if (by === "length" && Number.isFinite(length_mm)) scale.length_mm = length_mm;
    if (Number.isFinite(in_front_of_lens_plane_mm)) scale.in_front_of_lens_plane_mm = in_front_of_lens_plane_mm;
    if (ends.every(Boolean)) scale.ends = ends.map(fine);
    return scale;
  }

  get wantsEnds() {
    return Boolean(this.scale && this.scale.by !== "frame" && !this.alongRims);
  }

  // Sets what was proposed for an eye: {pupil, temporal, nasal, top, bottom}, each with its place on the photo; for
  // what belongs to no eye each mark by its own name. A side that was not found but worked out is noted as seen from so
  // far away that its ± says so.
  take(eye, proposed) {
    if (!EYES.includes(eye)) {
      for (const [name, { at }] of Object.entries(proposed)) {
        this.put(name, at);
        this.tell(name);
      }
      return;
    }
    if (proposed.pupil) {
      this.put(`${eye}.pupil`, proposed.pupil.at);
      this.tell(`${eye}.pupil`);
    }
    if (!SIDES.every((side) => proposed[side])) return;
    const marks = Object.fromEntries(SIDES.map((side) => [side, proposed[side].at]));
    if (!EYES.some((one) => this.boxes[one])) this.turn = turnOf([marks]);
    this.boxes[eye] = this.levelBox(marks);
    for (const side of SIDES) this.tell(`${eye}.${side}`, proposed[side].unsure ? { ...UNSEEN } : null);
  }

  // Sides that stand where nobody saw an edge.
  unseen() {
    return Object.keys(this.made).filter((name) => this.made[name].zoom === UNSEEN.zoom);
  }

  // The names that the keys go through: a box, then each of its sides.
  stops() {
    return this.names().flatMap((name) => {
      const eye = name.split(".")[0];
      return name.endsWith(".box") && this.boxes[eye] ? [name, ...SIDES.map((side) => `${eye}.${side}`)] : [name];
    });
  }

  // The names that can be chosen, in the best order for setting them.
  names() {
    const ends = this.wantsEnds ? ENDS : [];
    return this.view === "front" ? ["right.box", "left.box", ...POINTS.front, ...REFLECTIONS, ...ends] : [...POINTS.side, ...ends];
  }

  // Those that a photo can do without.
  static optional(name) {
    return REFLECTIONS.includes(name);
  }

  has(name) {
    const [eye, what] = name.split(".");
    if (SIDES.includes(what) || what === "box") return Boolean(this.boxes[eye]);
    return Boolean(this.points[name]);
  }

  // Which line of the list a mark belongs to: the sides of a box belong to the box.
  static owner(name) {
    const [eye, what] = name.split(".");
    return SIDES.includes(what) ? `${eye}.box` : name;
  }

  // The names in the record that a mark of the page stands for: a corner is two sides, a box all four.
  static inRecord(name) {
    const [eye, what] = name.split(".");
    if (what === "box") return SIDES.map((side) => `${eye}.${side}`);
    return what?.includes("+") ? what.split("+").map((side) => `${eye}.${side}`) : [name];
  }

  // Note how a mark was made; without "how", as if nobody knew.
  tell(name, how = null) {
    for (const one of Marks.inRecord(name)) {
      if (how) this.made[one] = how;
      else delete this.made[one];
    }
  }

  // Where a mark is on the photo: for a side of a box its middle, for a corner ("right.temporal+top") where its sides
  // meet.
  place(name) {
    const [eye, what] = name.split(".");
    const box = this.boxes[eye];
    if (!box || !(what === "box" || what.split("+").every((side) => SIDES.includes(side)))) return this.points[name];
    const [one, other] = what.split("+");
    const middle = [(box.temporal + box.nasal) / 2, (box.top + box.bottom) / 2];
    const level = [...middle];
    for (const side of [one, other]) {
      if (side === "temporal" || side === "nasal") level[0] = box[side];
      if (side === "top" || side === "bottom") level[1] = box[side];
    }
    return turned(level, this.turn, this.middle);
  }

  corners(eye) {
    return ["temporal+top", "nasal+top", "nasal+bottom", "temporal+bottom"].map((name) => this.place(`${eye}.${name}`));
  }

  // Put a mark at a point of the photo. A box moves as a whole, a side only at right angles to itself.
  put(name, point) {
    const held = point.map((value, axis) => tenth(between(0, value, this.size[axis])));
    const [eye, what] = name.split(".");
    if (!this.boxes[eye] || what === "pupil") {
      this.points[name] = held;
      return;
    }
    const level = turned(held, -this.turn, this.middle).map(tenth);
    const box = this.boxes[eye];
    if (what === "box") {
      this.shift(box, level[0] - (box.temporal + box.nasal) / 2, level[1] - (box.top + box.bottom) / 2);
      return;
    }
    for (const side of what.split("+")) box[side] = level[side === "temporal" || side === "nasal" ? 0 : 1];
  }

  // Move a mark by horizontal and vertical steps in pixels; a box moves along its own axes.
  nudge(name, dx, dy) {
    const [eye, what] = name.split(".");
    const box = this.boxes[eye];
    if (!box || what === "pupil") this.put(name, [this.points[name][0] + dx, this.points[name][1] + dy]);
    else if (what === "box") this.shift(box, dx, dy);
    else box[what] = tenth(box[what] + (what === "top" || what === "bottom" ? dy : dx));
  }

  shift(box, dx, dy) {
    for (const side of ["temporal", "nasal"]) box[side] = tenth(box[side] + dx);
    for (const side of ["top", "bottom"]) box[side] = tenth(box[side] + dy);
  }

  // A new box from two opposite corners on the photo; which side is nasal depends on which eye it is.
  drawBox(eye, from, to) {
    const [a, b] = [from, to].map((point) => turned(point, -this.turn, this.middle).map(tenth));
    const [west, east] = [Math.min(a[0], b[0]), Math.max(a[0], b[0])];
    const [temporal, nasal] = eye === "right" ? [west, east] : [east, west];
    this.boxes[eye] = { temporal, nasal, top: Math.min(a[1], b[1]), bottom: Math.max(a[1], b[1]) };
  }

  // The number that the list shows; for a side of a box it is measured along the box's own axes.
  number(name, axis) {
    const [eye, what] = name.split(".");
    if (SIDES.includes(what)) return this.boxes[eye]?.[what];
    return this.points[name]?.[axis];
  }

  setNumber(name, axis, value) {
    const [eye, what] = name.split(".");
    if (SIDES.includes(what)) {
      if (!this.boxes[eye]) this.boxes[eye] = this.usualBox(eye);
      this.boxes[eye][what] = tenth(value);
      return;
    }
    const point = this.points[name] ? [...this.points[name]] : [...this.middle];
    point[axis] = value;
    this.put(name, point);
  }

  // Where a box starts if it is typed or placed with a key instead of drawn.
  usualBox(eye, [x, y] = [this.middle[0] + (eye === "right" ? -0.14 : 0.14) * this.size[0], this.middle[1]], width = 0.22 * this.size[0]) {
    const half = width / 2;
    const out = eye === "right" ? -half : half;
    return { temporal: tenth(x + out), nasal: tenth(x - out), top: tenth(y - 0.36 * width), bottom: tenth(y + 0.36 * width) };
  }

  remove(name) {
    this.tell(Marks.owner(name));
    const [eye, what] = name.split(".");
    if (what === "box" || SIDES.includes(what)) this.boxes[eye] = null;
    else delete this.points[name];
  }

  // Turn the axes of the boxes, keeping the middle of each box where it is on the photo.
  turnTo(degrees) {
    const middles = EYES.map((eye) => this.boxes[eye] && this.place(`${eye}.box`));
    this.turn = tenth(between(-30, degrees, 30));
    EYES.forEach((eye, index) => middles[index] && this.moveMiddle(eye, middles[index]));
  }

  moveMiddle(eye, point) {
    const box = this.boxes[eye];
    const level = turned(point, -this.turn, this.middle);
    const [dx, dy] = [level[0] - (box.temporal + box.nasal) / 2, level[1] - (box.top + box.bottom) / 2];
    for (const side of ["temporal", "nasal"]) box[side] = hundredth(box[side] + dx);
    for (const side of ["top", "bottom"]) box[side] = hundredth(box[side] + dy);
  }

  // How far the line through the two box middles leans in the photo.
  lean() {
    if (!EYES.every((eye) => this.boxes[eye])) return null;
    const [right, left] = EYES.map((eye) => this.place(`${eye}.box`));
    return (Math.atan2(left[1] - right[1], left[0] - right[0]) * 180) / Math.PI;
  }
}
