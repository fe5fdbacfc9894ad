// The marking page: joins photo, marks, list, settings and server. Figures are never computed here.
import { View, between } from "./geometry.js";
import { Painter } from "./draw.js";
import { History } from "./history.js";
import { listenToKeys } from "./keys.js";
import { listenToList, showList } from "./list.js";
import { Magnifier } from "./magnifier.js";
import { Marks } from "./marks.js";
import { listenToPointers } from "./pointers.js";
import { listenToProposals } from "./proposals.js";
import { straight } from "./equaliser.js";
import { SignedOut, ask, soonLive, soonSaved } from "./server.js";
import { listenToSettings, showSettings } from "./settings.js";

const byId = (id) => document.getElementById(id);
const data = JSON.parse(byId("marking-data").textContent);
const [picture, canvas] = ["picture", "canvas"].map(byId);
const [list, settings, told, now] = ["mark-list", "settings", "told", "now"].map(byId);
const [saved, summary, zoomed] = ["saved", "summary", "zoomed"].map(byId);
const page = document.querySelector(".marking");
const ZOOM_STEP = 1.5;
// A mark brought to the middle is shown so large that the hand adds next to nothing to what the photo itself blurs.
const NEAR_ZOOM = 4;
const NEAR_SCALE = 2;

class Desk {
  constructor() {
    this.marks = new Marks(data);
    this.marks.read(data.marks);
    this.view = new View([data.width, data.height]);
    this.painter = new Painter(picture, canvas, this.view);
    this.magnifier = new Magnifier(byId("magnifier"), this.view);
    this.history = new History(this.marks.state());
    this.readOnly = data.readOnly;
    this.version = data.version;
    Object.assign(this, { chosen: null, moving: false, drawing: null, proposals: {}, settled: new Set(), looking: null, begun: false, suspects: new Set(), image: null });
    this.live = soonLive(() => this.askLive());
    this.save = soonSaved(() => this.askSave());
    this.painting = false;
  }

  // --- showing

  paint() {
    if (this.painting) return;
    this.painting = true;
    requestAnimationFrame(() => {
      this.painting = false;
      this.painter.paintPicture(this.image);
      this.painter.paintMarks(this.marks, this);
      zoomed.textContent = `${Math.round(100 * this.view.scale)} %`;
    });
  }

  look(point) {
    this.magnifier.show(this.image, point);
  }

  say(text) {
    now.textContent = text;
  }

  showAll(typedIn = null) {
    showList(list, this, typedIn);
    showSettings(settings, page, this);
    const turn = byId("turn");
    if (turn && turn !== document.activeElement) turn.value = this.marks.turn.toFixed(1);
    for (const [name, can] of [["undo", this.history.canUndo], ["redo", this.history.canRedo]]) {
      const button = page.querySelector(`[data-tool=${name}]`);
      if (button) button.disabled = !can;
    }
    this.paint();
  }

  // --- choosing

  choose(name) {
    if (name === this.chosen) return;
    this.chosen = name;
    this.sayWhatToDo();
    showList(list, this, document.activeElement?.closest?.("[data-mark]"));
    this.look(null);
    this.paint();
  }

  sayWhatToDo() {
    if (this.readOnly) return;
    const name = this.chosen;
    const words = name && list.querySelector(`[data-row="${Marks.owner(name)}"]`);
    if (!words) {
      this.say("No mark is chosen: pull any mark to move it, or pull the photo.");
      return;
    }
    const group = words.closest("fieldset").querySelector("legend").textContent;
    const label = words.querySelector("[data-select]").firstChild.textContent.trim();
    const unset = name.endsWith(".box") ? "pull a box round it, or press Enter" : "press where it lies, or press Enter";
    this.say(`${group}, ${label.toLowerCase()}: ${this.marks.has(name) ? "move it by pulling or with the arrow keys" : unset}.`);
  }

  next(step) {
    const names = this.marks.stops();
    const at = names.indexOf(this.chosen);
    this.choose(names[(at + step + names.length) % names.length]);
    if (this.marks.has(this.chosen)) this.showChosen();
  }

  chooseUnset() {
    if (this.looking) return;
    this.choose(this.marks.names().find((name) => !this.marks.has(name) && !Marks.optional(name)) ?? null);
  }

  // What is left to do once every proposal was looked at: a side that nobody saw, then what is not marked.
  afterLooking() {
    const [unseen] = this.marks.unseen();
    if (!unseen) {
      this.chooseUnset();
      this.showFrame();
      this.sayWhatToDo();
    } else {
      this.choose(unseen);
      this.bringToMiddle();
      this.say(`The ${unseen.replace(".", " ")} side was not found and stands where the sizes of the frame put it: pull it to its edge.`);
    }
    this.paint();
  }

  showChosen() {
    const place = this.chosen && this.marks.place(this.chosen);
    if (!place) return;
    if (!this.view.shows(place)) this.view.centre(place);
    this.look(this.chosen.endsWith(".box") ? null : place);
    this.paint();
  }

  // When a marked photo is opened again, it shows the frame rather than the whole room.
  showFrame() {
    const boxes = ["right", "left"].filter((eye) => this.marks.boxes[eye]);
    if (boxes.length === 2) this.view.frame(boxes.flatMap((eye) => this.marks.corners(eye)));
  }

  bringToMiddle() {
    const place = this.chosen && this.marks.place(this.chosen);
    if (!place) return;
    if (!this.chosen.endsWith(".box")) this.view.zoom(Math.max(1, Math.max(NEAR_ZOOM * this.view.whole, NEAR_SCALE) / this.view.scale));
    this.view.centre(place);
    this.paint();
  }

  // --- changing

  change(step, typedIn = null) {
    if (this.readOnly) return;
    step();
    this.showAll(typedIn);
    this.live.want();
  }

  // A step is complete: it can be undone, and is saved. "fresh": the mark was set for the first time.
  done(name, fresh = false) {
    this.settled.add(Marks.owner(name.replace(/^(put|off) /, "")));
    if (this.readOnly || !this.history.keep(this.marks.state(), fresh ? null : name)) return;
    this.showAll(document.activeElement?.closest?.("[data-mark]"));
    this.save.want();
    saved.textContent = "Saving …";
    if (fresh) this.chooseUnset();
  }

  // How a mark was set: the server makes its ± from it.
  madeBy(name, by) {
    this.marks.tell(name, { zoom: Number(this.view.scale.toPrecision(3)), by });
  }

  nudge(dx, dy) {
    this.change(() => {
      this.marks.nudge(this.chosen, dx, dy);
      this.madeBy(this.chosen, "keys");
    });
    this.done(this.chosen);
    this.showChosen();
  }

  putInMiddle() {
    const name = this.chosen;
    if (!name || this.readOnly) return;
    const middle = this.view.toPhoto([this.view.size[0] / 2, this.view.size[1] / 2]);
    if (name.endsWith(".box") && !this.marks.has(name)) {
      const eye = name.split(".")[0];
      // Where the picture is: in the middle of what is shown, and half as wide.
      const wide = (0.5 * Math.min(this.view.size[0], 1.4 * this.view.size[1])) / this.view.scale;
      this.change(() => {
        this.marks.boxes[eye] = this.marks.usualBox(eye, middle, Math.min(wide, 0.3 * this.view.photo[0]));
        this.madeBy(name, "keys");
      });
    } else {
      this.change(() => {
        this.marks.put(name, middle);
        this.madeBy(name, "keys");
      });
    }
    this.done(`put ${name}`);
    this.sayWhatToDo();
    this.showChosen();
  }

  takeOff() {
    this.settled.add(this.chosen && Marks.owner(this.chosen));
    if (!this.chosen || !this.marks.has(this.chosen) || this.readOnly) return;
    const name = Marks.owner(this.chosen);
    this.change(() => this.marks.remove(name));
    this.done(`off ${name}`);
    this.choose(name);
    this.sayWhatToDo();
  }

  putBack(state) {
    if (!state) return;
    this.marks.restore(state);
    this.showAll();
    this.live.want();
    this.save.want();
    saved.textContent = "Saving …";
  }

  // Undo whatever the first of two fingers did.
  takeBack({ state, chosen }) {
    this.marks.restore(state);
    this.chosen = chosen;
    this.showAll();
    this.live.want();
  }

  // --- tools

  tool(name, button = null) {
    const jobs = {
      in: () => this.zoom(ZOOM_STEP),
      out: () => this.zoom(1 / ZOOM_STEP),
      fit: () => this.view.fit(),
      move: () => this.toggleMoving(button),
      undo: () => this.putBack(this.history.undo()),
      redo: () => this.putBack(this.history.redo()),
      propose: () => this.propose(button),
      take: () => this.takeLooked(),
      leave: () => this.leaveLooked(),
      even: () => this.toggleEven(button),
      level: () => this.cameraWasLevel(),
      settle: () => this.turnWithFrame(),
    };
    jobs[name]();
    this.paint();
  }

  zoom(factor) {
    const place = this.chosen && this.marks.place(this.chosen);
    this.view.zoom(factor, place && this.view.shows(place) ? this.view.toScreen(place) : undefined);
  }

  toggleMoving(button) {
    this.moving = !this.moving;
    button.setAttribute("aria-pressed", String(this.moving));
  }

  toggleEven(button) {
    this.painter.even = !this.painter.even;
    this.painter.painted = null;
    button.setAttribute("aria-pressed", String(this.painter.even));
  }

  cameraWasLevel() {
    const height = data.height / 2;
    this.change(() => {
      this.marks.put("level.0", [0, height]);
      this.marks.put("level.1", [data.width, height]);
    });
    this.done("level");
    this.chooseUnset();
  }

  turnWithFrame() {
    const lean = this.marks.lean();
    if (lean === null) {
      this.say("Draw both boxes first.");
      return;
    }
    this.change(() => this.marks.turnTo(between(-30, lean, 30)));
    this.done("turn");
  }

  // --- server

  show(answer) {
    told.innerHTML = answer.html;
    summary.textContent = answer.summary;
    this.suspects = new Set([...answer.suspects.map((name) => name.split(".").slice(1).join(".")), ...this.marks.unseen()]);
    showList(list, this, document.activeElement?.closest?.("[data-mark]"));
    this.paint();
  }

  async askLive() {
    try {
      this.show(await ask(data.urls.live, { marks: this.marks.part() }));
      return false;
    } catch (fault) {
      return this.tellTrouble(fault);
    }
  }

  async askSave() {
    try {
      const answer = await ask(data.urls.save, { marks: this.marks.part(), version: this.version });
      this.version = answer.version;
      this.show(answer);
      this.clearTrouble();
      saved.textContent = this.save.wanted ? "Saving …" : "All marks are saved.";
      return false;
    } catch (fault) {
      saved.textContent = "Not saved.";
      return this.tellTrouble(fault);
    }
  }

  // Returns true if trying again may help.
  tellTrouble(fault) {
    const box = byId("marking-trouble");
    const { status, answer } = fault;
    const theirs = status === 409 && answer.version !== undefined ? answer : null;
    box.replaceChildren(this.troubleText(status || fault instanceof SignedOut ? fault.message : null));
    if (theirs) box.append(...this.choices(theirs));
    box.hidden = false;
    return !status;
  }

  troubleText(text) {
    const words = document.createElement("p");
    words.textContent = text ?? "The server cannot be reached. Your marks are still here, and are saved when it answers.";
    return words;
  }

  choices(theirs) {
    const button = (label, job) => {
      const one = Object.assign(document.createElement("button"), { type: "button", textContent: label });
      one.addEventListener("click", job);
      return one;
    };
    const settle = () => {
      this.version = theirs.version;
      this.clearTrouble();
      this.putBack(this.marks.state());
      this.history.keep(this.marks.state());
      this.showAll();
    };
    const takeTheirs = () => {
      this.marks.read(theirs.marks);
      settle();
    };
    return [button("Take their marks", takeTheirs), button("Keep mine instead", settle)];
  }

  clearTrouble() {
    byId("marking-trouble").hidden = true;
  }
}

const desk = new Desk();
// Whoever has begun is not disturbed by what the server finds late.
for (const kind of ["pointerdown", "keydown", "wheel"]) page.addEventListener(kind, () => (desk.begun = true), { capture: true, passive: true });
desk.propose = listenToProposals(byId("look-bar"), desk, data.urls.proposals, data.frame);
listenToPointers(canvas, desk);
listenToKeys(canvas, document, desk);
listenToList(list, desk);
listenToSettings(settings, desk, data.frame);

page.addEventListener("click", (event) => {
  const button = event.target.closest("[data-tool]");
  if (button) desk.tool(button.dataset.tool, button);
  const suspect = event.target.closest("[data-look]")?.dataset.look;
  if (suspect) {
    desk.choose(suspect.split(".").slice(1).join("."));
    if (desk.marks.place(desk.chosen)) desk.bringToMiddle();
    canvas.focus();
  }
});

byId("turn")?.addEventListener("input", (event) => {
  if (!Number.isFinite(event.target.valueAsNumber)) return;
  desk.change(() => desk.marks.turnTo(event.target.valueAsNumber));
  desk.done("turn");
});

for (const id of ["brightness", "contrast"]) {
  byId(id).addEventListener("input", () => {
    const { slope, intercept } = straight(byId("brightness").value / 100, byId("contrast").value / 100);
    for (const part of document.querySelectorAll("#light feFuncR, #light feFuncG, #light feFuncB")) {
      part.setAttribute("slope", slope);
      part.setAttribute("intercept", intercept);
    }
    for (const canvasLit of [picture, byId("magnifier")]) canvasLit.style.filter = "url(#light)";
  });
}

new ResizeObserver(() => {
  const { width, height } = canvas.getBoundingClientRect();
  desk.painter.resize([width, height], devicePixelRatio);
  desk.view.resize([width, height]);
  desk.paint();
}).observe(canvas);

// When someone leaves the page, anything not saved yet is sent at once.
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "hidden" && desk.save.wanted && !desk.save.running) desk.save.run();
});
window.addEventListener("beforeunload", (event) => {
  if (!desk.save.idle) {
    desk.save.run();
    event.preventDefault();
  }
});

const load = async () => {
  if (data.picture) {
    const photo = new Image();
    photo.src = data.urls.picture;
    try {
      await photo.decode();
      desk.image = photo;
    } catch {
      desk.say("The photo could not be loaded; load the page again.");
    }
  }
  desk.showAll();
  desk.showFrame();
  if (!desk.readOnly) desk.chooseUnset();
  desk.sayWhatToDo();
  desk.live.want();
  page.dataset.ready = "yes";
  // An untouched photo from the front is looked at by the server at once; whoever begins to mark is not disturbed.
  if (data.proposes && desk.image) desk.propose();
};
load();
