// Small pure parts of the marking page: tilt in words, sharpness as a number, typed figures, steps of the arrow keys.
import assert from "node:assert/strict";
import { describe, test } from "node:test";
import { marking } from "./sources.mjs";

const { words } = await marking("tilt");
const { laplacianVariance, sharpnessOf } = await marking("sharpness");
const { number } = await marking("settings");
const { stepOf } = await marking("keys");

describe("tilt", () => {
  test("a device held upright and level is said to be so", () => {
    assert.equal(words({ beta: 90, gamma: 0 }, true), "sideways level, ahead level");
  });

  test("upright, gamma leans and beta nods", () => {
    assert.equal(words({ beta: 95.4, gamma: -3.4 }, true), "sideways 3° too far left, ahead 5° upwards");
    assert.equal(words({ beta: 78, gamma: 12 }, true), "sideways 12° too far right, ahead 12° downwards");
  });

  test("on its side, beta leans and gamma nods, whichever side it lies on", () => {
    assert.equal(words({ beta: 4, gamma: 84 }, false), "sideways 4° too far right, ahead 6° downwards");
    assert.equal(words({ beta: -4, gamma: -97 }, false), "sideways 4° too far left, ahead 7° upwards");
  });

  test("less than one degree is level, one degree is not", () => {
    assert.equal(words({ beta: 90.99, gamma: -0.99 }, true), "sideways level, ahead level");
    assert.equal(words({ beta: 91, gamma: -1 }, true), "sideways 1° too far left, ahead 1° upwards");
  });

  test("without a sensor nothing is said", () => {
    assert.equal(words({ beta: null, gamma: 2 }, true), null);
    assert.equal(words({ beta: 2, gamma: null }, false), null);
  });
});

describe("sharpness", () => {
  test("an even picture and an even slope have none", () => {
    assert.equal(laplacianVariance(new Float32Array(35).fill(128), 7, 5), 0);
    assert.equal(laplacianVariance(Float32Array.from({ length: 35 }, (_, at) => 10 * (at % 7) + 3 * Math.floor(at / 7)), 7, 5), 0);
  });

  test("a chessboard: every inner point differs by 255 from its four neighbours", () => {
    const board = Float32Array.from({ length: 16 }, (_, at) => 255 * ((at + Math.floor(at / 4)) % 2));
    assert.equal(laplacianVariance(board, 4, 4), (4 * 255) ** 2);
  });

  test("one bright point: itself four times, its neighbours once each, over nine inner points", () => {
    const dot = new Float32Array(25);
    dot[12] = 100;
    assert.ok(Math.abs(laplacianVariance(dot, 5, 5) - (400 ** 2 + 4 * 100 ** 2) / 9) < 1e-9);
  });

  test("it falls when a picture is blurred: nothing for an even grey, much for a fine pattern, less for a coarse one", () => {
    const picture = (grey) => laplacianVariance(Float32Array.from({ length: 1600 }, (_, at) => grey(at % 40)), 40, 40);
    const [coarse, fine] = [picture((x) => 128 + 100 * Math.sin(x / 3)), picture((x) => (x % 2) * 200)];
    assert.ok(0 < coarse && coarse < 1000 && 1000 < fine, `${coarse}, ${fine}`);
    // Every point differs by 200 from both neighbours in its row; 19 columns go up for 19 that go down.
    assert.ok(Math.abs(fine - 400 ** 2) < 1);
  });

  test("the mean is taken off: all inner points alike have no variance", () => {
    const bowl = Float32Array.from({ length: 25 }, (_, at) => (at % 5) ** 2);
    assert.equal(laplacianVariance(bowl, 5, 5), 0);
  });

  test("a picture is looked at 320 wide, in grey as the eye sees it", () => {
    const drawn = [];
    const canvas = { getContext: () => pen };
    const pen = {
      drawImage: (...given) => drawn.push(given),
      getImageData: (left, top, width, height) => {
        const data = new Uint8ClampedArray(4 * width * height);
        // One green point in the middle of black.
        data[4 * (Math.floor(height / 2) * width + 160) + 1] = 200;
        return { data };
      },
    };
    const found = sharpnessOf("photo", 3840, 2160, canvas);
    assert.deepEqual(drawn, [["photo", 0, 0, 320, 180]]);
    const bright = 0.587 * 200;
    assert.ok(Math.abs(found - (20 * bright ** 2) / (318 * 178)) < 1e-3, String(found));
  });
});

test("a typed figure may have a comma or a true minus; what is no figure is none", () => {
  assert.deepEqual(["12,5", " 4 ", "−3.25", "1e2", "0"].map(number), [12.5, 4, -3.25, 100, 0]);
  assert.deepEqual(["", "  ", "abc", "1,2,3", "Infinity"].map(number), [null, null, null, null, null]);
});

test("arrow keys step by a tenth, with Shift by one, with Control or Command by ten", () => {
  assert.deepEqual([{}, { shiftKey: true }, { ctrlKey: true }, { metaKey: true, shiftKey: true }].map(stepOf), [0.1, 1, 10, 10]);
});
