// Puts the lists of a lens on the page, and never into a field that somebody is just choosing from.
import { chosenIn, listsOf } from "./offers.js";

const SELECTS = ["design", "material", "corridor_mm", "blank_mm"];

const text = ({ label, offered, why }) => (offered ? label : `${label} (${why})`);

const option = (one, chosen) => {
  const made = new Option(text(one), one.value, false, one.value === chosen);
  // The one that is chosen can still be sent, so that the server can say what is wrong with it.
  made.disabled = !one.offered && one.value !== chosen;
  return made;
};

const options = (list, chosen) => {
  const made = [];
  for (const one of list) {
    const group = one.group && made.at(-1)?.label === one.group ? made.at(-1) : null;
    if (group) group.append(option(one, chosen));
    else if (one.group) {
      const started = document.createElement("optgroup");
      started.label = one.group;
      started.append(option(one, chosen));
      made.push(started);
    } else made.push(option(one, chosen));
  }
  return made;
};

// The designs of one kind stand together, in the order in which a catalogue first names the kind.
const inGroups = (list) => {
  const groups = [...new Set(list.map(({ group }) => group))];
  return groups.flatMap((group) => list.filter((one) => one.group === group));
};

export class LensLists {
  constructor(fieldset, eye) {
    this.fieldset = fieldset;
    this.eye = eye;
    this.wishes = {};
    for (const name of SELECTS) this.wishes[name] = this.control(name).value;
    this.shown = new Map();
    for (const name of SELECTS) this.control(name).addEventListener("change", () => this.chosen(name));
  }

  control(name) {
    return document.getElementById(`id_${this.eye}-${name}`);
  }

  chosen(name) {
    this.wishes[name] = this.control(name).value;
  }

  // As stored: a corridor that only follows the suggestion goes on following it.
  start(lists) {
    this.started = true;
    if (lists.suggested && lists.suggested === this.wishes.corridor_mm) this.wishes.corridor_mm = "";
  }

  // Makes the lists anew, except the one that has the focus; true if that one has to wait.
  follow(lab, fitting, empty) {
    const lists = listsOf(lab, this.wishes, fitting, empty);
    if (!lists) return false;
    if (!this.started) this.start(lists);
    lists.design = inGroups(lists.design);
    const chosen = chosenIn(lists, this.wishes);
    const waiting = SELECTS.filter((name) => !this.fill(name, lists[name], chosen[name]));
    if (!this.tick(lists.treatments)) waiting.push("treatments");
    this.fieldset.querySelector(".corridor").hidden = !lists.hasCorridors;
    return waiting.length > 0;
  }

  fill(name, list, chosen) {
    const control = this.control(name);
    const made = JSON.stringify([list, chosen]);
    if (this.shown.get(name) === made) return true;
    if (control === document.activeElement) return false;
    control.replaceChildren(...options(list, chosen));
    control.value = chosen;
    this.shown.set(name, made);
    return true;
  }

  tick(list) {
    const place = document.getElementById(`id_${this.eye}-treatments`);
    const made = JSON.stringify(list);
    if (this.shown.get("treatments") === made) return true;
    if (place.contains(document.activeElement)) return false;
    const ticked = new Set([...place.querySelectorAll("input:checked")].map(({ value }) => value));
    place.replaceChildren(...list.map((one, at) => this.box(one, at, ticked.has(one.value))));
    this.shown.set("treatments", made);
    return true;
  }

  box(one, at, checked) {
    const [holder, label, input] = ["div", "label", "input"].map((tag) => document.createElement(tag));
    Object.assign(input, {
      type: "checkbox",
      name: `${this.eye}-treatments`,
      value: one.value,
      id: `id_${this.eye}-treatments_${at}`,
      checked,
      disabled: !one.offered && !checked,
    });
    label.htmlFor = input.id;
    label.append(input, ` ${text(one)}`);
    holder.append(label);
    return holder;
  }

  // The other lens's choices, when this one begins to have its own.
  copyFrom(other) {
    this.wishes = { ...other.wishes };
    for (const control of other.fieldset.querySelectorAll("[name]")) {
      const own = document.getElementById(control.id.replace(`_${other.eye}-`, `_${this.eye}-`));
      if (own && ["checkbox", "radio"].includes(own.type)) own.checked = control.checked;
      else if (own) own.value = control.value;
    }
  }
}
