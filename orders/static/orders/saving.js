// What was chosen at the order desk, what of it is saved, and what is on its way to the server. Knows no page.

// The version and the token change by themselves; they are no choices of the person's.
const AUTOMATIC = ["version", "csrfmiddlewaretoken"];

// The choices among a form's entries: each name with all its values.
export const choicesOf = (entries) => {
  const found = new Map();
  for (const [name, value] of entries) {
    if (!AUTOMATIC.includes(name)) found.set(name, [...(found.get(name) ?? []), value]);
  }
  return found;
};

const text = (values) => JSON.stringify(values ?? null);
const alike = (one, other) => text([...one]) === text([...other]);

export class Saving {
  constructor(choices) {
    this.saved = choices;
    this.sent = null;
  }

  // Whether leaving now would lose something; what is still on its way could be lost.
  wouldLose(choices) {
    return !alike(choices, this.saved);
  }

  // Whether there is anything to send; what is on its way is not sent twice.
  hasNews(choices) {
    return !alike(choices, this.sent ?? this.saved);
  }

  send(choices) {
    this.sent = choices;
  }

  answered(successful) {
    if (successful && this.sent) this.saved = this.sent;
    this.sent = null;
  }

  // What changed by itself, with the page, is no news.
  takeAsSaved(choices) {
    this.saved = choices;
  }

  // What was chosen since the server was last asked: [name, values] of each name that differs, in the order of the form.
  chosenSince(choices) {
    const before = this.sent ?? this.saved;
    const names = new Set([...choices.keys(), ...before.keys()]);
    return [...names]
      .filter((name) => text(choices.get(name)) !== text(before.get(name)))
      .map((name) => [name, choices.get(name) ?? []]);
  }
}
