// What is chosen, told as text beside "Change": it follows its fields, and opening it goes to the first of them.

const chosen = (field) => {
  if (field.matches("select")) return field.value ? field.selectedOptions[0]?.text ?? "" : "";
  if (["checkbox", "radio"].includes(field.type)) {
    return field.checked ? (field.labels[0]?.textContent ?? "").trim() : "";
  }
  return field.value.trim();
};

const fieldsOf = (fold) => [...fold.querySelectorAll(".told-fields [name]")];

export const tell = (root) => {
  for (const fold of root.querySelectorAll("details.told")) {
    const said = fieldsOf(fold).filter((field) => !field.closest("[hidden]")).map(chosen).filter(Boolean);
    const place = fold.querySelector(".told-words");
    const empty = fieldsOf(fold)[0]?.matches("select") ? fieldsOf(fold)[0].options[0]?.text : "";
    const words = said.join(", ") || empty || place.dataset.none;
    if (place.textContent !== words) place.textContent = words;
  }
};

// A fold that somebody opens is opened to choose in it, and the very next key already counts.
export const openTo = (root) => {
  root.addEventListener("click", (event) => {
    const fold = event.target.closest("details.told > summary")?.parentElement;
    if (!fold || fold.open) return;
    event.preventDefault();
    fold.open = true;
    (fieldsOf(fold).find((field) => field.checked) ?? fieldsOf(fold).find((field) => !field.disabled))?.focus();
  });
};
