// Proposed marks: found by the server, shown dashed with their confidence. A person looks at each lens and takes what is
// right: one look and one press a lens. Nothing is taken that was not on the screen, and what was set or left by hand
// is never brought back.
import { ask } from "./server.js";
import { EYES } from "./marks.js";
import { SIDES, wholeBox } from "./known-frame.js";

const WORDS = { right: "Right lens", left: "Left lens", points: "Card" };

// Nobody has looked at anything in less: a key meant for something else takes nothing.
const LOOK_MS = 400;

// Looked at one after the other: each lens with its eye, then what belongs to neither.
export const LOOKS = [...EYES, "points"];

// What the server found, by eye and mark, without what was settled by hand meanwhile.
export const unsettled = (found, marks, settled) => {
  const left = { right: {}, left: {}, points: {} };
  for (const { mark, at, confidence } of found) {
    const [eye, name] = mark.split(".");
    const own = EYES.includes(eye);
    const owner = !own || name === "pupil" ? mark : `${eye}.box`;
    if (!settled.has(owner) && !marks.has(owner)) left[own ? eye : "points"][own ? name : mark] = { at, confidence };
  }
  return left;
};

export const listenToProposals = (bar, desk, url, frame) => {
  const [words, take] = [bar.querySelector("#look-words"), bar.querySelector("[data-tool=take]")];
  const points = (eye) => [...Object.values(desk.proposals[eye] ?? {})].map((one) => one.at);
  const corners = (eye) => {
    const all = points(eye);
    const wide = all.length > 1 ? all : all.flatMap(([x, y]) => [[x - 150, y - 100], [x + 150, y + 100]]);
    // Room below, where the question stands, so that it hides nothing of what it asks about.
    const [across, down] = [0, 1].map((axis) => [Math.min, Math.max].map((pick) => pick(...wide.map((point) => point[axis]))));
    const width = across[1] - across[0];
    const tall = Math.max(down[1] - down[0], 0.4 * width);
    const { clientWidth, clientHeight } = document.getElementById("canvas");
    // `frame` leaves a fifth of all on either side of it.
    const free = Math.max((1.4 * (bar.offsetTop - 16)) / clientHeight - 0.2, 0.2);
    const room = Math.max(1.5 * tall, tall / free, (width * clientHeight) / clientWidth);
    return [...wide, [wide[0][0], down[0] + room]];
  };
  const waiting = () => LOOKS.filter((eye) => points(eye).length);

  const told = (eye) => {
    const one = desk.proposals[eye];
    if (eye === "points") {
      const sure = Math.round(100 * Math.min(...Object.values(one).map(({ confidence }) => confidence)));
      return `${WORDS[eye]}: the middles of both short sides proposed (${sure} %). Are both where they belong?`;
    }
    const parts = [];
    if (one.pupil) parts.push(`the pupil (${Math.round(100 * one.pupil.confidence)} %)`);
    const unsure = SIDES.filter((side) => one[side]?.unsure);
    if (SIDES.every((side) => one[side])) parts.push(unsure.length ? `the box, without its ${unsure.join(" and ")}` : "the box");
    const after = unsure.length ? " A red side was not found: pull it to its edge afterwards." : "";
    return `${WORDS[eye]}: ${parts.join(" and ")} proposed. Is every line where it belongs?${after}`;
  };

  const show = () => {
    const [eye] = waiting();
    desk.looking = eye ?? null;
    bar.hidden = !eye;
    if (eye) {
      desk.say("");
      words.textContent = told(eye);
      desk.view.frame(corners(eye));
      take.disabled = true;
      setTimeout(() => {
        take.disabled = false;
        if (desk.looking === eye && !bar.contains(document.activeElement)) take.focus({ preventScroll: true });
      }, LOOK_MS);
    }
    desk.paint();
  };

  const seen = (eye) => points(eye).every((point) => desk.view.shows(point));

  const settle = (eye, taken) => {
    const one = desk.proposals[eye];
    delete desk.proposals[eye];
    if (taken) {
      desk.change(() => desk.marks.take(eye, one));
      desk.done(`take ${eye}`, true);
    }
    for (const name of eye === "points" ? Object.keys(one) : [`${eye}.pupil`, `${eye}.box`]) desk.settled.add(name);
    show();
    if (!waiting().length) {
      desk.afterLooking();
      document.getElementById("canvas").focus({ preventScroll: true });
    }
  };

  desk.takeLooked = () => {
    const eye = desk.looking;
    if (!eye) return;
    // Moved away from it, nobody has seen it where it is taken: it is shown again first.
    if (seen(eye)) settle(eye, true);
    else show();
  };
  desk.leaveLooked = () => desk.looking && settle(desk.looking, false);
  // Marking by hand instead: what is proposed goes, and nothing of it comes back by itself.
  desk.byHand = () => {
    if (!desk.looking) return;
    desk.proposals = {};
    [desk.looking, bar.hidden] = [null, true];
  };

  return async (button = null) => {
    if (button) {
      button.disabled = true;
      desk.settled.clear();
    }
    desk.say("Looking for the eyes and the lenses …");
    try {
      const found = (await ask(url, { marks: desk.marks.part() })).proposals;
      const left = unsettled(found, desk.marks, desk.settled);
      const boxes = wholeBox(left, frame);
      for (const eye of EYES) {
        const { pupil } = left[eye];
        desk.proposals[eye] = { ...(pupil && { pupil }), ...boxes[eye] };
      }
      desk.proposals.points = left.points;
      if (!button && desk.begun) {
        desk.proposals = {};
        desk.sayWhatToDo();
        return;
      }
      if (!waiting().length) desk.say("Nothing is surely found on this photo; mark it by hand.");
    } catch (fault) {
      desk.say(fault.message);
    }
    if (button) button.disabled = false;
    show();
  };
};
