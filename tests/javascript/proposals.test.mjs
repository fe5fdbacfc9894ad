// Proposals in the browser: what was settled stays settled, boxes are made whole by the frame's sizes, light is evened.
import assert from "node:assert/strict";
import { describe, test } from "node:test";
import { marking } from "./sources.mjs";

const { unsettled } = await marking("proposals");
const { wholeBox } = await marking("known-frame");
const { evenOut, straight } = await marking("equaliser");
const { Marks } = await marking("marks");

const FRAME = { a_mm: 50, b_mm: 40, dbl_mm: 20 };
const PLACES = {
  right: { temporal: [200, 400], nasal: [450, 400], top: [325, 300], bottom: [325, 500] },
  left: { temporal: [800, 400], nasal: [550, 400], top: [675, 300], bottom: [675, 500] },
};
const found = (...without) => {
  const sides = {};
  for (const eye of ["right", "left"]) {
    sides[eye] = {};
    for (const [side, at] of Object.entries(PLACES[eye])) if (!without.includes(`${eye}.${side}`)) sides[eye][side] = { at, confidence: 0.9 };
  }
  return sides;
};
const front = () => new Marks({ view: "front", width: 1000, height: 800, frame: FRAME });

describe("what comes from the server", () => {
  const answer = [
    { mark: "right.pupil", at: [320, 410], confidence: 0.9 },
    { mark: "right.top", at: [325, 300], confidence: 0.9 },
    { mark: "left.pupil", at: [690, 410], confidence: 0.8 },
  ];

  test("is left out where a mark is set already or was settled by hand", () => {
    const marks = front();
    marks.put("left.pupil", [1, 1]);
    const left = unsettled(answer, marks, new Set(["right.box"]));
    assert.deepEqual(Object.keys(left.right), ["pupil"]);
    assert.deepEqual(left.left, {});
  });

  test("becomes marks of nobody's hand, and the names keys go through include every side", () => {
    const marks = front();
    marks.take("right", { ...wholeBox(found(), FRAME).right, pupil: { at: [320, 410], confidence: 0.9 } });
    assert.deepEqual(marks.boxes.right, { temporal: 200, nasal: 450, top: 300, bottom: 500 });
    assert.deepEqual(marks.points["right.pupil"], [320, 410]);
    assert.deepEqual(marks.unseen(), []);
    assert.ok(!("extra" in marks.part()));
    assert.deepEqual(marks.stops().slice(0, 6), ["right.box", "right.temporal", "right.nasal", "right.top", "right.bottom", "left.box"]);
  });
});

describe("a box of which a side was not found", () => {
  for (const missing of ["right.temporal", "left.nasal", "right.top", "left.bottom"]) {
    test(`gets its ${missing} from the sizes of the frame, and says that nobody saw it`, () => {
      const [eye, side] = missing.split(".");
      const box = wholeBox(found(missing), FRAME)[eye];
      assert.deepEqual(box[side], { at: PLACES[eye][side], confidence: 0, unsure: true });
      const marks = front();
      marks.take(eye, box);
      assert.deepEqual(marks.unseen(), [missing]);
      marks.tell(missing, { zoom: 2, by: "mouse" });
      assert.deepEqual(marks.unseen(), []);
    });
  }

  test("is no box where too little of it was found", () => {
    const few = found("right.temporal", "right.nasal", "right.top");
    assert.ok(!("right" in wholeBox(few, FRAME)));
    assert.ok("left" in wholeBox(few, FRAME));
    assert.ok(!("left" in wholeBox(found("left.temporal"), { a_mm: null, b_mm: null, dbl_mm: null })));
  });
});

describe("a dark lens", () => {
  const side = 60;
  const picture = () => {
    const data = new Uint8ClampedArray(side * side * 4).fill(255);
    for (let i = 0; i < side * side; i += 1) {
      const [x, y] = [i % side, Math.floor(i / side)];
      const dark = x < side / 2;
      const spot = Math.hypot(x - 15, y - 30) < 3;
      for (let part = 0; part < 3; part += 1) data[4 * i + part] = spot ? 6 : dark ? 18 : 200;
    }
    return data;
  };

  test("shows a pupil that stood out by a few grey values, once its light is evened out", () => {
    const data = picture();
    evenOut(data, side, side);
    const at = (x, y) => data[4 * (y * side + x)];
    assert.ok(at(8, 30) - at(15, 30) > 40);
    assert.ok(at(50, 30) < 200);
  });

  test("is turned black by no contrast", () => {
    for (const contrast of [1, 2, 3]) {
      const { slope, intercept } = straight(1, contrast);
      assert.ok(slope * 0.08 + intercept > 0);
      assert.ok(slope * 0.5 + intercept > 0.5 * (contrast > 1));
    }
    assert.deepEqual(straight(1, 1), { slope: 1, intercept: 0 });
  });
});
