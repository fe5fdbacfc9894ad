// The reading page: a scanner may type anywhere, and nothing typed is lost to what is pasted.
import assert from "node:assert/strict";
import { test } from "node:test";
import { orderDesk } from "./sources.mjs";

const { kept, otherEye, sameTicket, ticketAtEnd } = await orderDesk("readings");

test("a scanner's number leaves the field it was typed into", () => {
  assert.deepEqual(ticketAtEnd("D-00042"), { number: "D-00042", before: "" });
  assert.deepEqual(ticketAtEnd("-2.25br2-00007 "), { number: "BR2-00007", before: "-2.25" });
});

test("a power is no ticket", () => {
  for (const text of ["-2.25", "+0.50", "172", "", "31.5", "D-12"]) assert.equal(ticketAtEnd(text), null);
});

test("a ticket is the same in any spelling, and another number is another's", () => {
  assert.equal(sameTicket(" d-00042", "D-00042"), true);
  assert.equal(sameTicket("D-00043", "D-00042"), false);
});

test("arrows go to the same field of the other lens only", () => {
  assert.equal(otherEye("id_right-sphere"), "id_left-sphere");
  assert.equal(otherEye("id_left-pd_mm"), "id_right-pd_mm");
  assert.equal(otherEye("id_note"), "");
});

test("what was typed stays, and what was pasted beside it is named", () => {
  const typed = { "right-sphere": "", "right-axis": "90", "left-sphere": "-3.00" };
  const values = { "right-sphere": "-2.25", "right-axis": "90", "left-sphere": "-3.12", "left-none": "1" };
  const { taken, refused } = kept(typed, values);
  assert.deepEqual(taken, [["right-sphere", "-2.25"], ["right-axis", "90"]]);
  assert.deepEqual(refused, [["left-sphere", "-3.12", "-3.00"]]);
});
