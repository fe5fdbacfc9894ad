// Undo and redo: the marks as they stood after each step. Small steps on the same mark in quick succession count as
// one.
const TOGETHER_MS = 900;
const MOST = 200;

export class History {
  constructor(first) {
    this.steps = [JSON.stringify(first)];
    this.at = 0;
    this.last = { name: null, when: 0 };
  }

  // Keep the state after a step on "name"; returns false if nothing changed.
  keep(part, name = null) {
    const text = JSON.stringify(part);
    if (text === this.steps[this.at]) return false;
    const now = performance.now();
    const goesOn = name && name === this.last.name && now - this.last.when < TOGETHER_MS && this.at > 0;
    this.steps.length = goesOn ? this.at : this.at + 1;
    this.steps.push(text);
    if (this.steps.length > MOST) this.steps.shift();
    this.at = this.steps.length - 1;
    this.last = { name, when: now };
    return true;
  }

  get canUndo() {
    return this.at > 0;
  }

  get canRedo() {
    return this.at < this.steps.length - 1;
  }

  undo() {
    this.last.name = null;
    return this.canUndo ? JSON.parse(this.steps[--this.at]) : null;
  }

  redo() {
    this.last.name = null;
    return this.canRedo ? JSON.parse(this.steps[++this.at]) : null;
  }
}
