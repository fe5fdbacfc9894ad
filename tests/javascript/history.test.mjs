// Undo and redo of the marking page.
import assert from "node:assert/strict";
import { afterEach, beforeEach, describe, mock, test } from "node:test";
import { marking } from "./sources.mjs";

const { History } = await marking("history");

const at = (x) => ({ points: { "right.pupil": [x, 5] } });

describe("history", () => {
  let history;
  let clock;
  beforeEach(() => {
    clock = 10_000;
    mock.method(performance, "now", () => clock);
    history = new History(at(0));
  });
  afterEach(() => mock.restoreAll());
  const keepLater = (x, ms, name) => {
    clock += ms;
    return history.keep(at(x), name);
  };

  test("starts with nothing to undo or redo", () => {
    assert.deepEqual([history.canUndo, history.canRedo], [false, false]);
    assert.deepEqual([history.undo(), history.redo()], [null, null]);
  });

  test("goes back and forth, step by step", () => {
    keepLater(1, 5000, "a");
    keepLater(2, 5000, "a");
    assert.deepEqual([history.undo(), history.undo(), history.undo()], [at(1), at(0), null]);
    assert.deepEqual([history.redo(), history.redo(), history.redo()], [at(1), at(2), null]);
  });

  test("a step that changes nothing is none", () => {
    assert.equal(keepLater(0, 5000, "a"), false);
    assert.equal(history.canUndo, false);
    assert.equal(keepLater(1, 5000, "a"), true);
  });

  test("small steps on one mark are one up to nine tenths of a second apart, and no longer", () => {
    keepLater(1, 5000, "a");
    keepLater(2, 899, "a");
    keepLater(3, 899, "a");
    assert.deepEqual(history.undo(), at(0));
    history.redo();
    keepLater(4, 5000, "a");
    keepLater(5, 900, "a");
    assert.deepEqual([history.undo(), history.undo()], [at(4), at(3)]);
  });

  test("a step on another mark, or on none, stands alone", () => {
    keepLater(1, 5000, "a");
    keepLater(2, 10, "b");
    keepLater(3, 10, null);
    keepLater(4, 10, null);
    assert.deepEqual([history.undo(), history.undo(), history.undo()], [at(3), at(2), at(1)]);
  });

  test("what comes after an undo is a step of its own and drops what was undone", () => {
    keepLater(1, 5000, "a");
    keepLater(2, 5000, "a");
    history.undo();
    keepLater(9, 10, "a");
    assert.equal(history.canRedo, false);
    assert.deepEqual([history.undo(), history.undo()], [at(1), at(0)]);
  });

  test("keeps two hundred states and forgets the oldest first", () => {
    for (let x = 1; x <= 250; x += 1) keepLater(x, 5000, null);
    let [undone, last] = [0, null];
    while (history.canUndo) [undone, last] = [undone + 1, history.undo()];
    assert.deepEqual([undone, last], [199, at(51)]);
  });

  test("what is handed in may be changed afterwards", () => {
    const marks = at(1);
    clock += 5000;
    history.keep(marks, "a");
    marks.points["right.pupil"][0] = 77;
    keepLater(2, 5000, "b");
    assert.deepEqual(history.undo(), at(1));
  });
});
