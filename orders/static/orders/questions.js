// What the desk asks the server: one question at a time is on its way, in the order in which they were meant, and none
// is lost. Knows no page.

export class Questions {
  // ask: sends one question and resolves when its answer is dealt with, whatever became of it.
  constructor(ask) {
    this.ask = ask;
    this.waiting = [];
    this.onItsWay = null;
  }

  get isIdle() {
    return !this.onItsWay && this.waiting.length === 0;
  }

  // A saving that waits takes along whatever is typed until it goes; a press never stands in for anything else.
  add(question) {
    if (question.saves && this.waiting.at(-1)?.saves) return;
    this.waiting.push(question);
    if (!this.onItsWay) this.go();
  }

  // Nothing that waits was meant for the page as it now is.
  forget() {
    this.waiting = [];
  }

  async go() {
    while (this.waiting.length) {
      this.onItsWay = this.waiting.shift();
      await this.ask(this.onItsWay);
      this.onItsWay = null;
    }
  }
}
