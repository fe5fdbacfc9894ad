// The lists of a lens on the order desk, as they follow lab, design and material.
import assert from "node:assert/strict";
import test from "node:test";
import { orderDesk } from "./sources.mjs";

const { chosenIn, listsOf } = await orderDesk("offers");

const EMPTY = { design: "A design", material: "A material", corridor_mm: "A corridor", blank_mm: "Smallest" };
const LAB = {
  groups: { single_vision: "Single vision", progressive: "Progressive" },
  designs: [
    { id: "sv", name: "Plain", kind: "single_vision", materials: ["m150", "glass"], corridors: [], blanks: [["65", "65 mm"]], suggested: {} },
    { id: "pro", name: "Long", kind: "progressive", materials: ["m150", "m160"], corridors: [["12", "12 mm"], ["16", "16 mm"]], blanks: [["70", "70 mm"]], suggested: { low: "12", high: "16" } },
  ],
  materials: [["m150", "Plastic 1.50"], ["m160", "Plastic 1.60"], ["glass", "Glass"]],
  treatments: [{ id: "hard", name: "Hard coat", materials: [] }, { id: "tint", name: "Tint", materials: ["m150"] }],
};
const lists = (wishes, fitting = "high") => listsOf(LAB, { design: "", material: "", corridor_mm: "", blank_mm: "", ...wishes }, fitting, EMPTY);
const said = (list) => list.map(({ label, offered, why }) => (offered ? label : `${label} (${why})`));

test("without a lab there are no lists", () => assert.equal(listsOf(undefined, {}, "", EMPTY), null));

test("what a design does not come in stays in its list and says why", () => {
  assert.deepEqual(said(lists({ design: "sv" }).material), ["A material", "Plastic 1.50", "Plastic 1.60 (not in Plain)", "Glass"]);
  assert.deepEqual(said(lists({}).material), ["A material", "Plastic 1.50", "Plastic 1.60", "Glass"]);
});

test("a treatment that the material does not take says so, and one for all materials is offered in each", () => {
  assert.deepEqual(said(lists({ material: "glass" }).treatments), ["Hard coat", "Tint (not in Glass)"]);
  assert.deepEqual(said(lists({ material: "m150" }).treatments), ["Hard coat", "Tint"]);
});

test("the corridor is the one wished for if the design has it, and else the one for the fitted height", () => {
  const chosen = (wishes, fitting) => chosenIn(lists(wishes, fitting), { blank_mm: "", ...wishes }).corridor_mm;
  assert.equal(chosen({ design: "pro", corridor_mm: "" }, "low"), "12");
  assert.equal(chosen({ design: "pro", corridor_mm: "" }, "high"), "16");
  assert.equal(chosen({ design: "pro", corridor_mm: "12" }, "high"), "12");
  assert.equal(chosen({ design: "pro", corridor_mm: "9" }, "high"), "16");
  assert.equal(chosen({ design: "pro", corridor_mm: "" }, "nobody measured it"), "");
  assert.equal(chosen({ design: "sv", corridor_mm: "12" }, "high"), "");
});

test("a material that is not offered stays chosen, a blank that is not is the smallest again", () => {
  const wishes = { design: "pro", material: "glass", corridor_mm: "", blank_mm: "65" };
  const chosen = chosenIn(lists(wishes), wishes);
  assert.deepEqual([chosen.material, chosen.blank_mm], ["glass", ""]);
});

test("a design of another lab is none, and then every material is offered", () => {
  const wishes = { design: "elsewhere", material: "m160", corridor_mm: "", blank_mm: "" };
  assert.equal(chosenIn(lists(wishes), wishes).design, "");
  assert.equal(lists(wishes).material.every(({ offered }) => offered), true);
});
