// Puts an answer's parts in the place of those that they replace. A part that says the same stays as it is, and so does
// each item of a list that does, with what is typed in it; where something is replaced, focus and open folds are kept.

const items = (part) => [...part.querySelectorAll("[data-item]")];

export class Parts {
  constructor(root) {
    this.said = new Map();
    for (const part of root.querySelectorAll("[data-part]")) this.remember(part);
  }

  remember(part) {
    this.said.set(part.id, part.innerHTML);
    for (const item of items(part)) this.said.set(item.id, item.outerHTML);
  }

  // fresh: the answer, parsed. Returns whether anything was replaced.
  take(fresh) {
    let replaced = false;
    for (const part of fresh.querySelectorAll("[data-part]")) {
      const now = document.getElementById(part.id);
      if (!now || this.said.get(part.id) === part.innerHTML) continue;
      replaced = true;
      this.replace(now, part);
    }
    return replaced;
  }

  replace(now, part) {
    const hand = handOn(now);
    const open = [...now.querySelectorAll("details[open][id]")].map(({ id }) => id);
    const typed = [...now.querySelectorAll("input[name=reason]")].map(({ id, value }) => [id, value]);
    const alike = items(part).filter((item) => this.said.get(item.id) === item.outerHTML);
    this.remember(part);
    for (const item of alike) {
      const live = document.getElementById(item.id);
      if (live) item.replaceWith(live);
    }
    now.replaceChildren(...part.childNodes);
    for (const id of open) {
      const fold = document.getElementById(id);
      if (fold) fold.open = true;
    }
    for (const [id, value] of typed) {
      const field = document.getElementById(id);
      if (field && value) field.value = value;
    }
    hand();
  }
}

// Where the focus is within a part; the returned function puts it back there.
const handOn = (part) => {
  const field = part.contains(document.activeElement) ? document.activeElement : null;
  const marked = field?.selectionStart != null ? [field.selectionStart, field.selectionEnd] : null;
  return () => {
    if (!field || document.activeElement === field) return;
    const again = field.isConnected ? field : document.getElementById(field.id);
    again?.focus({ preventScroll: true });
    if (again && marked) again.setSelectionRange(...marked);
  };
};

// While a button of the mouse or the space bar is down, what lies under it must not be replaced, or the press is lost.
export class Hands {
  constructor() {
    this.down = new Set();
    this.waiting = [];
    document.addEventListener("pointerdown", () => this.press("pointer"), true);
    for (const end of ["pointerup", "pointercancel"]) {
      document.addEventListener(end, () => this.lift("pointer"), true);
    }
    document.addEventListener("keydown", ({ key }) => key === " " && this.press("space"), true);
    document.addEventListener("keyup", ({ key }) => key === " " && this.lift("space"), true);
    window.addEventListener("blur", () => ["pointer", "space"].forEach((what) => this.lift(what)));
  }

  press(what) {
    this.down.add(what);
  }

  // The click follows the release, so what waits goes on after it.
  lift(what) {
    setTimeout(() => {
      this.down.delete(what);
      if (this.down.size === 0) this.waiting.splice(0).forEach((go) => go());
    });
  }

  free() {
    return this.down.size === 0 ? Promise.resolve() : new Promise((go) => this.waiting.push(go));
  }
}
