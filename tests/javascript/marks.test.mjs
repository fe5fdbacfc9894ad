// The marks of one photo: from the record, while they are worked on, and back to the record.
import assert from "node:assert/strict";
import { describe, test } from "node:test";
import { marking } from "./sources.mjs";

const { Marks } = await marking("marks");
const { handlesOf } = await marking("draw");

const LEVEL = {
  right: { pupil: [320, 410], temporal: [200, 400], nasal: [440, 400], top: [320, 310], bottom: [320, 490] },
  left: { pupil: [690, 412], temporal: [800, 400], nasal: [560, 400], top: [680, 310], bottom: [680, 490] },
};
const front = (part = {}) => {
  const marks = new Marks({ view: "front", width: 1000, height: 800, frame: { b_mm: 38 } });
  marks.read(part);
  return marks;
};
const side = (part = {}, frame = { b_mm: 38 }) => {
  const marks = new Marks({ view: "side", width: 1000, height: 800, frame });
  marks.read(part);
  return marks;
};
const near = (found, expected, within = 0.011) =>
  found.forEach((value, axis) => assert.ok(Math.abs(value - expected[axis]) <= within, `${found} is not ${expected}`));

describe("a photo from the front", () => {
  test("without marks has none, and a record of nothing", () => {
    assert.deepEqual(front().names(), ["right.box", "left.box", "right.pupil", "left.pupil", "right.reflection", "left.reflection"]);
    assert.deepEqual(front().names().filter(Marks.optional), ["right.reflection", "left.reflection"]);
    const extra = { reflection: { left: [5.25, 6] }, worn: { right: { sphere: -8 } } };
    const reflected = front({ extra });
    assert.deepEqual(["right", "left"].map((eye) => reflected.has(`${eye}.reflection`)), [false, true]);
    assert.deepEqual(reflected.part().extra, { worn: { right: { sphere: -8 } }, reflection: { left: [5.25, 6] } });
    reflected.remove("left.reflection");
    assert.deepEqual(reflected.part().extra, { worn: { right: { sphere: -8 } } });
    assert.ok(front().names().every((name) => !front().has(name)));
    assert.deepEqual(front().part(), {});
    assert.equal(front().lean(), null);
  });

  test("comes back from the record as it went in", () => {
    const part = { gaze: "straight", camera_distance_mm: 1000, scale: { by: "frame" }, ...LEVEL };
    const marks = front(part);
    assert.equal(marks.turn, 0);
    assert.deepEqual(marks.part(), part);
  });

  test("how each mark was made goes to the record with it, comes back, and goes with it", () => {
    const marks = front(LEVEL);
    assert.ok(!("extra" in marks.part()));
    const [far, near] = [{ zoom: 0.2, by: "mouse" }, { zoom: 3, by: "touch" }];
    marks.tell("right.box", far);
    marks.tell("right.temporal+top", near);
    marks.tell("left.pupil", near);
    const made = { "right.temporal": near, "right.nasal": far, "right.top": near, "right.bottom": far, "left.pupil": near };
    assert.deepEqual(marks.part().extra, { made });
    const again = front({ ...marks.part(), extra: { made, renewed: true } });
    assert.deepEqual(again.part().extra, { renewed: true, made });
    again.remove("right.box");
    again.tell("left.pupil");
    assert.deepEqual(again.part().extra, { renewed: true });
  });

  test("leaning boxes are kept square to the frame: as wide and as high as level ones", () => {
    const marks = front(LEVEL);
    marks.turnTo(8);
    const again = front(marks.part());
    assert.equal(again.turn, 8);
    for (const eye of ["right", "left"]) {
      near([again.boxes[eye].bottom - again.boxes[eye].top], [180], 0.05);
      near([Math.abs(again.boxes[eye].nasal - again.boxes[eye].temporal)], [240], 0.05);
    }
  });

  test("turning leaves the middle of each box where it is, and goes no farther than 30 degrees", () => {
    const marks = front(LEVEL);
    const before = ["right.box", "left.box"].map((name) => marks.place(name));
    marks.turnTo(45);
    assert.equal(marks.turn, 30);
    ["right.box", "left.box"].forEach((name, index) => near(marks.place(name), before[index]));
    marks.turnTo(-45);
    assert.equal(marks.turn, -30);
  });

  test("marks made elsewhere tell by the line through both boxes how far they lean", () => {
    const touched = (dx, dy) => ({ temporal: [dx, dy + 3], nasal: [dx + 240, dy - 9], top: [dx + 90, dy - 90], bottom: [dx + 110, dy + 90] });
    const rise = 360 * Math.tan((5 * Math.PI) / 180);
    const left = touched(560, 400 + rise);
    const marks = front({ right: touched(200, 400), left: { ...left, temporal: left.nasal, nasal: left.temporal } });
    assert.equal(marks.turn, 5);
    near([marks.lean()], [5], 0.5);
  });

  test("a box with a side missing is not set, and its pupil is", () => {
    const { top, ...rest } = LEVEL.right;
    const marks = front({ right: rest, left: LEVEL.left });
    assert.deepEqual([marks.has("right.box"), marks.has("right.pupil"), marks.has("left.box")], [false, true, true]);
  });

  test("a drawn box has its nasal side towards the nose, whichever corner came first", () => {
    const marks = front();
    marks.drawBox("right", [440, 490], [200, 310]);
    marks.drawBox("left", [560, 310], [800, 490]);
    assert.deepEqual(marks.boxes.right, { temporal: 200, nasal: 440, top: 310, bottom: 490 });
    assert.deepEqual(marks.boxes.left, { temporal: 800, nasal: 560, top: 310, bottom: 490 });
  });

  test("a side moves across itself only, a corner both ways, a box as a whole; the other eye stays", () => {
    const marks = front(LEVEL);
    marks.put("right.nasal", [450, 123]);
    assert.deepEqual(marks.boxes.right, { temporal: 200, nasal: 450, top: 310, bottom: 490 });
    marks.put("right.temporal+top", [190, 300]);
    assert.deepEqual(marks.boxes.right, { temporal: 190, nasal: 450, top: 300, bottom: 490 });
    marks.put("right.box", [330, 405]);
    assert.deepEqual(marks.boxes.right, { temporal: 200, nasal: 460, top: 310, bottom: 500 });
    assert.deepEqual(front(LEVEL).boxes.left, marks.boxes.left);
  });

  test("a mark never leaves the photo", () => {
    const marks = front();
    marks.put("right.pupil", [-4, 812.5]);
    assert.deepEqual(marks.place("right.pupil"), [0, 800]);
    marks.put("left.pupil", [1000.2, 400.04]);
    assert.deepEqual(marks.place("left.pupil"), [1000, 400]);
  });

  test("keys move a box along its own axes, a side along one", () => {
    const marks = front(LEVEL);
    marks.nudge("right.box", 1, -0.1);
    assert.deepEqual(marks.boxes.right, { temporal: 201, nasal: 441, top: 309.9, bottom: 489.9 });
    marks.nudge("left.bottom", 5, 10);
    assert.deepEqual(marks.boxes.left, { temporal: 800, nasal: 560, top: 310, bottom: 500 });
    marks.nudge("right.pupil", 0.1, 10);
    assert.deepEqual(marks.points["right.pupil"], [320.1, 420]);
  });

  test("a typed side begins a box of the usual size, a typed pupil begins in the middle", () => {
    const marks = front();
    marks.setNumber("right.top", 1, 321.26);
    assert.deepEqual(marks.boxes.right, { temporal: 250, nasal: 470, top: 321.3, bottom: 479.2 });
    marks.setNumber("left.nasal", 0, 555);
    assert.deepEqual(marks.boxes.left, { temporal: 750, nasal: 555, top: 320.8, bottom: 479.2 });
    marks.setNumber("left.pupil", 0, 640);
    assert.deepEqual([marks.number("left.pupil", 0), marks.number("left.pupil", 1)], [640, 400]);
    assert.equal(marks.number("right.pupil", 0), undefined);
    assert.equal(marks.number("right.top", 1), 321.3);
  });

  test("taking off a side takes off its box; the pupil and the other box stay", () => {
    const marks = front(LEVEL);
    marks.remove("right.nasal");
    assert.deepEqual(["right.box", "right.pupil", "left.box"].map((name) => marks.has(name)), [false, true, true]);
    marks.remove("left.pupil");
    assert.deepEqual(["right.pupil", "left.pupil"].map((name) => marks.has(name)), [true, false]);
  });

  test("what was undone is independent of what is done next", () => {
    const marks = front(LEVEL);
    const state = marks.state();
    marks.put("right.pupil", [1, 1]);
    marks.drawBox("left", [0, 0], [10, 10]);
    marks.restore(state);
    marks.put("left.pupil", [2, 2]);
    assert.deepEqual(state.points["left.pupil"], [690, 412]);
    assert.deepEqual([marks.place("right.pupil"), marks.boxes.left.temporal], [[320, 410], 800]);
  });

  test("a line of the list owns the sides of its box", () => {
    assert.equal(Marks.owner("right.nasal"), "right.box");
    assert.equal(Marks.owner("right.pupil"), "right.pupil");
  });

  test("every set mark can be taken hold of, and none that is not", () => {
    const { pupil, ...box } = LEVEL.right;
    const handles = handlesOf(front({ right: box, left: { pupil } }));
    assert.equal(handles.length, 1 + 8);
    assert.ok(handles.includes("left.pupil") && handles.includes("right.nasal+bottom"));
    assert.ok(!handles.some((name) => name.startsWith("left.") && name !== "left.pupil"));
  });
});

describe("the scale of a photo", () => {
  test("ends are asked for where a length is known and not the frame's", () => {
    const ends = [[10, 10], [110, 10]];
    const marks = front({ scale: { by: "card", ends } });
    assert.ok(marks.wantsEnds);
    assert.deepEqual(marks.names().slice(-2), ["scale.ends.0", "scale.ends.1"]);
    assert.deepEqual(marks.part().scale, { by: "card", ends });
    assert.ok(!front({ scale: { by: "frame" } }).wantsEnds);
  });

  test("a half-marked line is not recorded, nor a length that is no number", () => {
    const marks = front({ scale: { by: "length", length_mm: null } });
    marks.put("scale.ends.0", [10, 10]);
    assert.deepEqual(marks.part().scale, { by: "length" });
    marks.put("scale.ends.1", [50, 10]);
    marks.scale.length_mm = 40;
    marks.scale.in_front_of_lens_plane_mm = -3;
    assert.deepEqual(marks.part().scale, {
      by: "length", length_mm: 40, in_front_of_lens_plane_mm: -3, ends: [[10, 10], [50, 10]],
    });
  });
});

describe("a photo from the side", () => {
  test("takes the depth of the frame along the rim as its scale, and the rim's marks serve twice", () => {
    const marks = side();
    assert.deepEqual([marks.alongRims, marks.wantsEnds, marks.scale.length_mm], [true, false, 38]);
    marks.put("rim_top", [500, 200]);
    marks.put("rim_bottom", [520, 400]);
    assert.deepEqual(marks.part().scale, { by: "length", length_mm: 38, ends: [[500, 200], [520, 400]] });
    marks.put("rim_bottom", [525, 410]);
    assert.deepEqual(marks.part().scale.ends[1], [525, 410]);
  });

  test("a scale marked elsewhere stays where it was marked", () => {
    const rims = { rim_top: [500, 200], rim_bottom: [520, 400] };
    const ends = [[1, 1], [2, 2]];
    assert.ok(!side({ ...rims, scale: { by: "length", length_mm: 38, ends } }).alongRims);
    assert.ok(side({ ...rims, scale: { by: "length", length_mm: 38, ends: [rims.rim_top, rims.rim_bottom] } }).alongRims);
    assert.ok(!side({ scale: { by: "length", length_mm: 37 } }).alongRims);
  });

  test("has no scale where the frame has no depth", () => {
    assert.equal(side({}, { b_mm: null }).scale, null);
    assert.deepEqual(side({}, { b_mm: null }).part(), {});
  });

  test("a level line is recorded with both its ends only", () => {
    const marks = side();
    marks.put("level.0", [10, 10]);
    assert.ok(!("level" in marks.part()));
    marks.put("level.1", [900, 12]);
    assert.deepEqual(marks.part().level, [[10, 10], [900, 12]]);
    assert.deepEqual(side(marks.part()).points["level.1"], [900, 12]);
  });
});
