// Proposed pupils: shown dashed with their confidence. A person turns them into marks, one at a time.
import { ask } from "./server.js";

const WORDS = { right: "right", left: "left" };

export const listenToProposals = (list, desk, url) => {
  const show = () => {
    for (const row of list.querySelectorAll("[data-proposal]")) {
      const proposal = desk.proposals.find((one) => one.eye === row.dataset.proposal);
      row.hidden = !proposal;
      if (proposal) {
        const [x, y] = proposal.pupil.map((value) => value.toFixed(1));
        row.querySelector(".proposal-words").textContent =
          `Proposed at ${x}, ${y}; confidence ${Math.round(100 * proposal.confidence)} %.`;
      }
    }
    desk.paint();
  };

  const settle = (eye, take) => {
    const proposal = desk.proposals.find((one) => one.eye === eye);
    desk.proposals = desk.proposals.filter((one) => one !== proposal);
    if (take && proposal) {
      desk.choose(`${eye}.pupil`);
      desk.change(() => desk.marks.put(`${eye}.pupil`, proposal.pupil));
      desk.done(`${eye}.pupil`);
      list.querySelector(`[data-select="${eye}.pupil"]`).focus();
    }
    show();
  };

  list.addEventListener("click", (event) => {
    const { accept, refuse } = event.target.dataset;
    if (accept) settle(accept, true);
    if (refuse) settle(refuse, false);
  });

  return async (button) => {
    button.disabled = true;
    desk.say("Looking for the pupils …");
    try {
      desk.proposals = (await ask(url, { marks: desk.marks.part() })).proposals;
      const missing = Object.keys(WORDS).filter((eye) => !desk.proposals.some((one) => one.eye === eye));
      const found = desk.proposals.length ? "Look at each proposal closely, then take or leave it." : "";
      const lost = missing.length ? `No ${missing.map((eye) => WORDS[eye]).join(" or ")} pupil was found; mark it by hand.` : "";
      desk.say(`${found} ${lost}`.trim());
    } catch (fault) {
      desk.say(fault.message);
    }
    button.disabled = false;
    show();
  };
};
