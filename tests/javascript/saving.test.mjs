// The order desk: nothing is sent twice, nothing typed is lost, the latest choice wins.
import assert from "node:assert/strict";
import { beforeEach, describe, test } from "node:test";
import { orderDesk } from "./sources.mjs";

const { Saving, choicesOf } = await orderDesk("saving");

const choices = (fields) => choicesOf(Object.entries(fields));

test("choices are all values of a form but its version and its token", () => {
  const found = choicesOf([["csrfmiddlewaretoken", "t"], ["treatments", "ar"], ["version", "3"], ["supply", "edged"], ["treatments", "hard"]]);
  assert.deepEqual([...found], [["treatments", ["ar", "hard"]], ["supply", ["edged"]]]);
});

describe("saving", () => {
  const OLD = choices({ supply: "uncut", remarks: "" });
  const MINE = choices({ supply: "edged", remarks: "" });
  const NEXT = choices({ supply: "edged", remarks: "Ring first" });
  let saving;
  beforeEach(() => (saving = new Saving(OLD)));

  test("an untouched form has no news and nothing to lose", () => {
    const same = choices({ supply: "uncut", remarks: "", version: "9" });
    assert.deepEqual([saving.hasNews(same), saving.wouldLose(same), saving.chosenSince(same)], [false, false, []]);
  });

  test("what is on its way is not sent again, but could still be lost", () => {
    assert.equal(saving.hasNews(MINE), true);
    saving.send(MINE);
    assert.deepEqual([saving.hasNews(MINE), saving.wouldLose(MINE)], [false, true]);
    saving.answered(true);
    assert.deepEqual([saving.hasNews(MINE), saving.wouldLose(MINE)], [false, false]);
  });

  test("what was chosen while the answer was on its way is news, and is all that is put back", () => {
    saving.send(MINE);
    assert.equal(saving.hasNews(NEXT), true);
    assert.deepEqual(saving.chosenSince(NEXT), [["remarks", ["Ring first"]]]);
    saving.answered(true);
    assert.deepEqual([saving.hasNews(NEXT), saving.wouldLose(NEXT)], [true, true]);
  });

  test("going back to the old choice while the new one is on its way is news too: the latest wins", () => {
    saving.send(MINE);
    assert.equal(saving.hasNews(OLD), true);
    saving.answered(true);
    assert.equal(saving.hasNews(OLD), true);
  });

  test("a refused saving has saved nothing", () => {
    saving.send(MINE);
    saving.answered(false);
    assert.deepEqual([saving.hasNews(MINE), saving.wouldLose(MINE), saving.hasNews(OLD)], [true, true, false]);
  });

  test("an answer that belongs to no saving changes nothing", () => {
    saving.answered(true);
    assert.deepEqual([saving.hasNews(OLD), saving.hasNews(MINE)], [false, true]);
  });

  test("a box that was ticked off is put back as none", () => {
    const ticked = new Saving(choices({ supply: "edged", rush: "on" }));
    assert.deepEqual(ticked.chosenSince(choices({ supply: "edged" })), [["rush", []]]);
  });

  test("what changed with the page is no news", () => {
    saving.takeAsSaved(MINE);
    assert.deepEqual([saving.hasNews(MINE), saving.wouldLose(MINE)], [false, false]);
  });
});
