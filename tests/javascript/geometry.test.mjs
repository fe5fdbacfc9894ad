// Turning points, and the view that carries photo pixels to the screen and back.
import assert from "node:assert/strict";
import { beforeEach, describe, test } from "node:test";
import { marking, near } from "./sources.mjs";

const { View, apart, between, turned } = await marking("geometry");

const isNear = (found, expected) => assert.ok(near(found, expected), `${found} is not ${expected}`);

describe("turning", () => {
  test("a quarter turn carries right to down, about any middle", () => {
    isNear(turned([1, 0], 90, [0, 0]), [0, 1]);
    isNear(turned([5, 2], 90, [3, 2]), [3, 4]);
  });

  test("three, four and thirty degrees: the sides of a known triangle", () => {
    isNear(turned([10, 0], (Math.atan2(3, 4) * 180) / Math.PI, [0, 0]), [8, 6]);
    isNear(turned([2, 0], -30, [0, 0]), [Math.sqrt(3), -1]);
  });

  test("turned back it is where it was", () => {
    isNear(turned(turned([17.3, -4.1], 12.5, [100, 40]), -12.5, [100, 40]), [17.3, -4.1]);
  });
});

test("distances are straight, and limits hold on both sides", () => {
  assert.equal(apart([1, 1], [4, 5]), 5);
  assert.deepEqual([-1, 0, 7, 10, 11].map((value) => between(0, value, 10)), [0, 0, 7, 10, 10]);
});

describe("a photo of 400 by 300 on a screen of 1000 by 600", () => {
  let view;
  beforeEach(() => {
    view = new View([400, 300]);
    view.resize([1000, 600]);
  });

  test("is shown whole, in the middle", () => {
    assert.deepEqual([view.scale, view.left, view.top], [2, 100, 0]);
    assert.deepEqual(view.toScreen([0, 0]), [100, 0]);
    assert.deepEqual(view.toScreen([400, 300]), [900, 600]);
  });

  test("goes to the screen and back", () => {
    view.zoom(3.7, [430, 210]);
    isNear(view.toPhoto(view.toScreen([123.4, 56.7])), [123.4, 56.7]);
  });

  test("what lies under the pointer stays there while the wheel turns", () => {
    const under = view.toPhoto([500, 300]);
    view.zoom(4, [500, 300]);
    assert.equal(view.scale, 8);
    isNear(view.toScreen(under), [500, 300]);
  });

  test("is enlarged 24 times at most, and never made smaller than itself or than the whole", () => {
    view.zoom(11.9);
    assert.equal(view.scale, 23.8);
    view.zoom(2);
    assert.equal(view.scale, 24);
    view.zoom(1e-6);
    assert.deepEqual([view.scale, view.left, view.top], [1, 300, 150]);
    const large = new View([4000, 3000]);
    large.resize([1000, 600]);
    large.zoom(1e-6);
    assert.equal(large.scale, 0.2);
  });

  test("cannot be pulled off the screen", () => {
    view.zoom(2);
    view.pan(1e5, 1e5);
    assert.deepEqual([view.left, view.top], [0, 0]);
    view.pan(-1e5, -1e5);
    assert.deepEqual([view.left, view.top], [1000 - 1600, 600 - 1200]);
    view.pan(7, 5);
    assert.deepEqual([view.left, view.top], [-593, -595]);
  });

  test("follows the window: whole it stays whole, enlarged it keeps its middle", () => {
    view.resize([400, 600]);
    assert.deepEqual([view.scale, view.left, view.top], [1, 0, 150]);
    view.zoom(4);
    const middle = view.toPhoto([200, 300]);
    view.resize([500, 400]);
    assert.equal(view.scale, 4);
    isNear(view.toScreen(middle), [250, 200]);
  });

  test("shows some places with room around them", () => {
    view.frame([[100, 100], [200, 150], [150, 120]]);
    assert.ok(Math.abs(view.scale - 1000 / 140) < 1e-9, "the wider side decides, with two fifths to spare");
    isNear(view.toScreen([150, 125]), [500, 300]);
    assert.ok(view.shows([100, 100]) && view.shows([200, 150]));
    assert.ok(!view.shows([50, 125]) && !view.shows([150, 20]));
  });

  test("shows a place on its very edge and none beyond", () => {
    assert.ok(view.shows([450, 0]) && view.shows([-50, 300]));
    assert.ok(!view.shows([450.1, 0]) && !view.shows([200, 300.1]) && !view.shows([200, -0.1]));
  });
});
