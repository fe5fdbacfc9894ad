// What is known about a photo and cannot be marked: where the patient looked, the scale, measured lengths.

// A figure as people write it, with a comma or a true minus; null for anything else.
export const number = (text) => {
  const value = Number(text.trim().replace("−", "-").replace(",", "."));
  return text.trim() === "" || !Number.isFinite(value) ? null : value;
};
const LENGTHS = ["length_mm", "in_front_of_lens_plane_mm"];
const FACTS = ["camera_distance_mm", "camera_pitch_deg", "gaze_up_mm", "gaze_in_mm", "face_form_deg"];

// Lenses worn on the photo, as {right: {sphere, …}, left: {…}}, without what is not known.
const withWorn = (worn, [, eye, name], value) => {
  const { [name]: before, ...others } = worn?.[eye] ?? {};
  const lens = value === null ? others : { ...others, [name]: value };
  const { [eye]: gone, ...rest } = worn ?? {};
  const all = Object.keys(lens).length ? { ...rest, [eye]: lens } : rest;
  return Object.keys(all).length ? all : undefined;
};

const scaleChoice = (marks) => (marks.alongRims ? "rims" : (marks.scale?.by ?? ""));

export const showSettings = (form, page, desk) => {
  const { marks } = desk;
  const { gaze, scale, ...fields } = Object.fromEntries([...form.elements].filter((one) => one.name).map((one) => [one.name, one]));
  for (const radio of form.querySelectorAll("[name=gaze]")) radio.checked = radio.value === marks.settings.gaze;
  if (scale) scale.value = scaleChoice(marks);
  const write = (field, value) => {
    if (field && field !== document.activeElement) field.value = value ?? "";
  };
  for (const name of LENGTHS) write(fields[name], marks.scale?.[name]);
  for (const name of FACTS) write(fields[name], marks.settings[name]);
  for (const name of Object.keys(fields).filter((one) => one.startsWith("worn."))) {
    const [, eye, what] = name.split(".");
    write(fields[name], marks.extra.worn?.[eye]?.[what]);
  }
  if (fields.sides) fields.sides.value = marks.settings.sides ?? "";
  if (fields.renewed) fields.renewed.checked = marks.extra.renewed === true;
  for (const one of form.elements) one.disabled = desk.readOnly;
  for (const part of page.querySelectorAll("[data-for]")) part.hidden = !part.dataset.for.split(" ").includes(scaleChoice(marks));
};

export const listenToSettings = (form, desk, frame) => {
  const chooseScale = (choice) => {
    const { marks } = desk;
    const kept = Object.fromEntries(LENGTHS.map((name) => [name, marks.scale?.[name]]).filter(([, value]) => value !== undefined));
    marks.alongRims = choice === "rims";
    if (choice === "rims") marks.scale = { by: "length", length_mm: frame.b_mm };
    else marks.scale = choice ? { ...kept, by: choice } : null;
  };

  form.addEventListener("input", (event) => {
    const { name, value } = event.target;
    desk.change(() => {
      const { marks } = desk;
      if (name === "gaze" || name === "sides") marks.settings[name] = value || null;
      else if (name === "renewed") {
        if (event.target.checked) marks.extra.renewed = true;
        else delete marks.extra.renewed;
      }
      else if (name.startsWith("worn.")) {
        const worn = withWorn(marks.extra.worn, name.split("."), number(value));
        if (worn) marks.extra.worn = worn;
        else delete marks.extra.worn;
      }
      else if (name === "scale") chooseScale(value);
      else if (LENGTHS.includes(name)) marks.scale = { ...marks.scale, [name]: number(value) };
      else if (FACTS.includes(name)) marks.settings[name] = number(value);
      if (name === "camera_pitch_deg") marks.settings.camera_pitch_sd_deg = null;
    });
    desk.done(`setting ${name}`);
  });
  form.addEventListener("submit", (event) => event.preventDefault());
};
