// What the reading page decides by itself about the text in its fields. Knows no page.

const TICKET = /([A-Z][A-Z0-9]{0,5}-\d{4,})\s*$/i;

// A ticket's number at the end of what stands in a field, and what stood there before it; null if there is none.
export const ticketAtEnd = (text) => {
  const found = TICKET.exec(text);
  return found ? { number: found[1].toUpperCase(), before: text.slice(0, found.index) } : null;
};

export const sameTicket = (one, other) => one.trim().toUpperCase() === other.trim().toUpperCase();

// The id of the same field of the other lens; "" for a field that belongs to neither.
export const otherEye = (id) => {
  if (id.startsWith("id_right-")) return id.replace("id_right-", "id_left-");
  return id.startsWith("id_left-") ? id.replace("id_left-", "id_right-") : "";
};

// Which pasted values go into their fields, and which do not because something else stands there: [name, pasted, typed].
// typed: the text in each field, or null where there is no such field.
export const kept = (typed, values) => {
  const taken = [];
  const refused = [];
  for (const [name, value] of Object.entries(values)) {
    const own = typed[name];
    if (own === null || own === undefined) continue;
    if (own.trim() === "" || own.trim() === value) taken.push([name, value]);
    else refused.push([name, value, own.trim()]);
  }
  return { taken, refused };
};
