// The order desk: saves the draft as it is typed, sends nothing twice, and loses nothing that is typed meanwhile.
import { Saving, choicesOf } from "./saving.js";

const WAIT_MS = 600;

const work = (draft) => {
  const choices = () => choicesOf(new FormData(draft));
  const saving = new Saving(choices());
  let timer = 0;
  let leavingFor = null;

  const save = () => {
    clearTimeout(timer);
    if (saving.hasNews(choices())) htmx.trigger(draft, "save");
  };
  draft.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(save, WAIT_MS);
  });
  draft.addEventListener("change", save);
  document.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s") {
      event.preventDefault();
      htmx.trigger(draft, "save");
    }
  });
  window.addEventListener("beforeunload", (event) => {
    if (saving.wouldLose(choices())) event.preventDefault();
  });
  // A link followed while something is unsaved waits for the saving, instead of asking whether to lose it.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || link.target || !saving.wouldLose(choices())) return;
    if (link.origin !== location.origin || link.getAttribute("href").startsWith("#")) return;
    event.preventDefault();
    leavingFor = link.href;
    save();
  });

  document.body.addEventListener("htmx:beforeRequest", (event) => {
    if (event.detail.elt === draft) saving.send(choices());
  });
  document.body.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.elt === draft) saving.answered(event.detail.successful);
    const refused = !event.detail.successful || document.getElementById("both-versions");
    if (refused) leavingFor = null;
    else if (leavingFor && !saving.wouldLose(choices())) location.href = leavingFor;
    else timer = setTimeout(save, leavingFor ? 0 : WAIT_MS); // What was typed while the server answered goes next.
  });

  // The answer draws the lens panel and the findings anew. What was typed in them since it was asked for is put back.
  const forms = () => [...document.querySelectorAll("#judgement form")];
  const nameOf = (form) => `${form.elements.rule?.value} ${form.elements.eye?.value}`;
  let kept = null;

  const keep = () => {
    const { activeElement: field } = document;
    const active = field?.closest?.("#judgement form");
    kept = {
      field: draft.contains(field) && field.id ? field : null,
      typed: saving.chosenSince(choices()),
      folds: [...draft.querySelectorAll("details")].map((fold) => fold.open),
      reasons: forms().map((form) => [nameOf(form), form.closest("details")?.open, form.elements.reason?.value]),
      answering: active ? nameOf(active) : null,
      settling: Boolean(field?.closest?.("#judgement")),
    };
  };

  const fill = (control, values) => {
    if (["checkbox", "radio"].includes(control.type)) control.checked = values.includes(control.value);
    else control.value = values[0] ?? "";
  };

  const putBackChoices = () => {
    const { typed, folds, field } = kept;
    for (const [name, values] of typed) {
      for (const control of draft.querySelectorAll(`[name="${CSS.escape(name)}"]`)) fill(control, values);
    }
    // A choice that vanished from the panel with its design is no change of the person's.
    if (!typed.length) saving.takeAsSaved(choices());
    const now = [...draft.querySelectorAll("details")];
    if (now.length === folds.length) now.forEach((fold, place) => { fold.open ||= folds[place]; });
    if (field && !draft.contains(field)) document.getElementById(field.id)?.focus();
    if (field?.selectionStart != null) document.activeElement.setSelectionRange?.(field.selectionStart, field.selectionEnd);
  };

  const putBackReasons = () => {
    const { reasons, answering } = kept;
    for (const form of forms()) {
      const [, open, reason] = reasons.find(([name]) => name === nameOf(form)) ?? [];
      if (open) form.closest("details").open = true;
      if (reason) form.elements.reason.value = reason;
      if (answering === nameOf(form)) form.elements.reason.focus();
    }
  };

  // The button that was pressed is gone with its question: the keys go on at the next one, or at what is left to do.
  const goOnSettling = () => {
    const open = document.querySelector("#judgement .answers button, #judgement .lift > summary");
    (open ?? document.getElementById("verdict"))?.focus();
  };

  document.body.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target.id === "judgement") keep();
  });
  // At once and not after settling: the next key that is pressed must find its field.
  document.body.addEventListener("htmx:oobAfterSwap", (event) => {
    if (kept && event.target.id === "lenses") putBackChoices();
  });
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (!kept || event.detail.target.id !== "judgement") return;
    putBackReasons();
    if (kept.settling && document.activeElement === document.body) goOnSettling();
    kept = null;
  });
};

const draft = document.getElementById("draft");
if (draft) work(draft);
