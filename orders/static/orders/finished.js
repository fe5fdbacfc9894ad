// The reading page of a finished pair, without a mouse: Enter and arrows between fields, a pasted lensmeter text, the
// ticket's code. The server says what it thinks beside the fields; what stands in a field is changed by hands alone.
import { kept, otherEye, sameTicket, ticketAtEnd } from "./readings.js";

const form = document.querySelector("[data-readings]");
const ticket = document.getElementById("ticket");

const judge = () => htmx.trigger(form, "judge");
const fields = () => [...form.querySelectorAll("input:not([type=hidden]):not([type=file]), select, summary, button.primary")];
const seen = (field) => field.offsetParent !== null;

const sayTicket = (number) => {
  const place = document.getElementById("ticket-said");
  if (!number) return;
  const own = ticket.dataset.ticket;
  place.textContent = sameTicket(number, own)
    ? `This is the ticket of this order, ${own}.`
    : `This is the ticket of ${number}, not of this order, ${own}. What you typed stays; open the other one under “Next ticket”.`;
  place.classList.toggle("late", !sameTicket(number, own));
};

const next = (field) => {
  const all = fields().filter(seen);
  const after = all[all.indexOf(field) + 1];
  after?.focus();
  after?.select?.();
};

// A hand scanner types wherever the cursor is: its number leaves the field again and goes where it belongs.
const takeTicket = (field) => {
  const found = ticketAtEnd(field.value);
  if (!found) return false;
  field.value = found.before;
  ticket.value = found.number;
  sayTicket(found.number);
  judge();
  return true;
};

const onEnter = (event) => {
  const field = event.target;
  if (event.key !== "Enter" || event.ctrlKey || event.metaKey || !["INPUT", "SELECT"].includes(field.tagName)) return;
  if (field.type === "file") return;
  event.preventDefault();
  if (!takeTicket(field)) next(field);
};

const onArrow = (event) => {
  const field = event.target;
  if (!["ArrowUp", "ArrowDown"].includes(event.key) || field.tagName !== "INPUT") return;
  const other = document.getElementById(otherEye(field.id));
  if (!other) return;
  event.preventDefault();
  other.focus();
  other.select();
};

const exchange = () => {
  for (const right of form.querySelectorAll("[name^='right-']")) {
    const left = form.elements[right.name.replace("right-", "left-")];
    if (left) [right.value, left.value] = [left.value, right.value];
  }
  judge();
};

const takeOver = () => {
  const source = document.getElementById("pasted-values");
  if (!source) return;
  const values = JSON.parse(source.textContent);
  const typed = Object.fromEntries(Object.keys(values).map((name) => [name, form.elements[name]?.value ?? null]));
  const { taken, refused } = kept(typed, values);
  for (const [name, value] of taken) form.elements[name].value = value;
  if (refused.length) {
    const said = document.createElement("p");
    said.className = "small late";
    const words = refused.map(([name, pasted, own]) => {
      const label = form.querySelector(`label[for="${form.elements[name].id}"]`);
      return `${label?.textContent.replace(/\s+/g, " ").trim()}: ${own} stays, ${pasted} was pasted`;
    });
    said.textContent = `Kept as typed. ${words.join("; ")}.`;
    document.getElementById("pasted").append(said);
  }
  judge();
};

if (form) {
  let changed = false;
  form.addEventListener("keydown", onEnter);
  form.addEventListener("keydown", onArrow);
  form.addEventListener("input", () => { changed = true; });
  form.addEventListener("submit", () => { changed = false; });
  window.addEventListener("beforeunload", (event) => {
    if (changed) event.preventDefault();
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-exchange]")) exchange();
    if (event.target.closest("[data-all-fine]")) {
      for (const one of form.querySelectorAll("select[name^='point-']")) if (!one.value) one.value = "fine";
      changed = true;
    }
  });
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.target.id === "pasted" || event.detail.target?.id === "pasted") takeOver();
  });
  ticket.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    sayTicket(ticket.value.trim());
    ticket.select();
  });
  ticket.addEventListener("change", () => sayTicket(ticket.value.trim()));
}

for (const file of document.querySelectorAll("[data-send-at-once]")) {
  file.addEventListener("change", () => file.form.requestSubmit());
}
