// The lists of a lens: what the chosen lab offers in the chosen design and material. Knows no page.
//
// What is not offered stays in its list, said to be so and why. The wish is what somebody chose by hand; a list comes
// back to it as soon as it is offered again, so that passing other designs while choosing one by typing loses nothing.

const NO_DESIGN = { materials: null, corridors: [], blanks: [], suggested: {} };

const design = (lab, id) => lab?.designs.find((one) => one.id === id);

const because = (offered, where) => (offered ? "" : `not in ${where}`);

// Each row: value, label, offered, and why it is not.
const row = ([value, label], offered = true, why = "") => ({ value, label, offered, why });

const materials = (lab, chosen) =>
  lab.materials.map(([id, name]) => {
    const offered = !chosen?.materials || chosen.materials.includes(id);
    return row([id, name], offered, because(offered, chosen?.name));
  });

const treatments = (lab, material) =>
  lab.treatments.map(({ id, name, materials: takes }) => {
    const offered = !material || takes.length === 0 || takes.includes(material);
    const named = lab.materials.find(([one]) => one === material)?.[1];
    return row([id, name], offered, because(offered, named));
  });

const offers = (list, value) => list.some((one) => one.value === value && one.offered);

// The lists of one lens. wishes: what was last chosen by hand, by field; fitting: the fitting chosen.
export const listsOf = (lab, wishes, fitting, empty) => {
  if (!lab) return null;
  const now = design(lab, wishes.design) ?? NO_DESIGN;
  const first = (name, list) => [row(["", empty[name]]), ...list];
  return {
    design: first("design", lab.designs.map(({ id, name, kind }) => ({ ...row([id, name]), group: lab.groups[kind] }))),
    material: first("material", materials(lab, now)),
    corridor_mm: first("corridor_mm", now.corridors.map((one) => row(one))),
    blank_mm: first("blank_mm", now.blanks.map((one) => row(one))),
    treatments: treatments(lab, wishes.material),
    suggested: now.suggested[fitting] ?? "",
    hasCorridors: now.corridors.length > 0,
  };
};

// What each list then shows as chosen. A material that the design does not have stays, for somebody chose it; a size
// that the design does not have is none, and the corridor is then the one that the fitted height suggests.
export const chosenIn = (lists, wishes) => ({
  design: offers(lists.design, wishes.design) ? wishes.design : "",
  material: lists.material.some(({ value }) => value === wishes.material) ? wishes.material : "",
  corridor_mm: offers(lists.corridor_mm, wishes.corridor_mm) && wishes.corridor_mm ? wishes.corridor_mm : lists.suggested,
  blank_mm: offers(lists.blank_mm, wishes.blank_mm) ? wishes.blank_mm : "",
});
