// The questions of the order desk: one on its way at a time, in the order in which they were meant, and none lost.
import assert from "node:assert/strict";
import test from "node:test";
import { orderDesk } from "./sources.mjs";

const { Questions } = await orderDesk("questions");

const SAVE = { saves: true };

// Questions whose answers come when they are told to.
const desk = () => {
  const asked = [];
  const answers = [];
  const questions = new Questions((question) => {
    asked.push(question);
    return new Promise((answer) => answers.push(answer));
  });
  const answer = async () => {
    answers.shift()();
    await new Promise((next) => setImmediate(next));
  };
  return { asked, answer, questions };
};

test("a question goes at once, and the next only after its answer", async () => {
  const { asked, answer, questions } = desk();
  const press = { address: "settle" };
  questions.add(SAVE);
  questions.add(press);
  assert.deepEqual(asked, [SAVE]);
  assert.equal(questions.isIdle, false);
  await answer();
  assert.deepEqual(asked, [SAVE, press]);
  await answer();
  assert.equal(questions.isIdle, true);
});

test("savings that wait are one, and no press is lost among them", async () => {
  const { asked, answer, questions } = desk();
  const [first, second] = [{ address: "one" }, { address: "two" }];
  questions.add(SAVE);
  for (const question of [SAVE, { saves: true }, first, SAVE, SAVE, second]) questions.add(question);
  for (let left = 5; left; left -= 1) await answer();
  assert.deepEqual(asked, [SAVE, SAVE, first, SAVE, second]);
});

test("what waits is forgotten if the page is no longer the one it was meant for", async () => {
  const { asked, answer, questions } = desk();
  questions.add(SAVE);
  questions.add({ address: "settle" });
  questions.forget();
  await answer();
  assert.deepEqual(asked, [SAVE]);
  assert.equal(questions.isIdle, true);
});
