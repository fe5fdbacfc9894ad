// The order desk. It saves the draft as it is typed and shows what comes of it. An answer never touches a field, its
// list or the focus: only the parts beside them that say what comes of the choices.
import { LensLists } from "./lens_lists.js";
import { Hands, Parts } from "./parts.js";
import { Questions } from "./questions.js";
import { Saving, choicesOf } from "./saving.js";
import { openTo, tell } from "./told.js";

const WAIT_MS = 600;
const CHECKING_AFTER_MS = 300;
const WAYS_AFTER_MS = 300;

const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";

const work = (draft) => {
  const judgement = document.getElementById("judgement");
  const version = document.getElementById("version");
  const { labs, empty } = JSON.parse(document.getElementById("offers").textContent);
  const byId = (id) => document.getElementById(id);
  const choices = () => choicesOf(new FormData(draft));

  // --- The fields, which follow each other at once and without the server -------------------------------------------

  const lenses = ["right", "left"].map((eye) => new LensLists(byId(`lens-${eye}`), eye));
  let waiting = false;

  const labNow = () => labs[byId("id_lab").value];

  const followLists = () => {
    const fitting = byId("id_fitting").value;
    waiting = lenses.map((lens) => lens.follow(labNow(), fitting, empty)).some(Boolean);
  };

  const show = (part, shown) => {
    part.hidden = !shown;
    part.disabled = !shown;
  };

  // Which lenses have fields of their own. One that begins to have them starts from the other's choices.
  const followEyes = (byHand) => {
    const eyes = draft.elements.eyes.value;
    const same = draft.elements.same;
    const has = Boolean(labNow());
    same.closest(".field").hidden = eyes !== "both";
    const [right, left] = lenses;
    const shown = { right: eyes !== "left", left: eyes === "left" || (eyes === "both" && !same.checked) };
    if (byHand && shown.left && left.fieldset.hidden) left.copyFrom(right);
    if (byHand && shown.right && right.fieldset.hidden) right.copyFrom(left);
    for (const lens of lenses) show(lens.fieldset, has && shown[lens.eye]);
    show(byId("lens-kept"), has && eyes !== "both");
    const both = eyes === "both" && same.checked;
    right.fieldset.querySelector("legend").textContent = both ? "Both lenses" : right.fieldset.dataset.own;
    byId("no-catalogue").hidden = has || !byId("id_lab").value;
    byId("issued").textContent = labNow()?.issued ? `Catalogue of ${labNow().issued}` : "";
  };

  const follow = (byHand = true) => {
    followEyes(byHand);
    followLists();
    tell(draft);
  };

  // --- Saving ---------------------------------------------------------------------------------------------------------

  // What somebody chose before this script was there counts as well.
  const isEarly = (control) => {
    if (control.matches("select")) {
      return control.selectedOptions[0] !== (control.querySelector("option[selected]") ?? control.options[0]);
    }
    if (["checkbox", "radio"].includes(control.type)) return control.checked !== control.defaultChecked;
    return control.type !== "hidden" && control.value !== control.defaultValue;
  };
  const early = [...draft.elements].filter((control) => control.name).some(isEarly);

  followEyes(early);
  followLists();
  tell(draft);
  openTo(draft);
  const saving = new Saving(early ? new Map() : choices());
  const hands = new Hands();
  const parts = new Parts(document);
  let timer = 0;
  let leavingFor = null;

  const save = () => {
    clearTimeout(timer);
    if (saving.hasNews(choices())) questions.add({ saves: true });
  };
  const saveSoon = () => {
    clearTimeout(timer);
    timer = setTimeout(save, WAIT_MS);
  };

  // A choice made by typing changes with some letters and not with others: only where it comes to rest is it meant.
  let typing = false;
  draft.addEventListener("keydown", (event) => {
    typing = event.target.matches("select") && (event.key.length === 1 || event.key.startsWith("Arrow"));
    if (typing) saveSoon();
  });
  draft.addEventListener("pointerdown", () => {
    typing = false;
  });
  draft.addEventListener("input", saveSoon);
  draft.addEventListener("change", (event) => {
    follow();
    if (typing && event.target.matches("select")) saveSoon();
    else save();
  });
  draft.addEventListener("focusout", () => {
    // A list that had to wait for the focus to leave it is made once the focus has arrived elsewhere.
    if (waiting) setTimeout(follow);
    if (typing) save();
    typing = false;
  });
  draft.addEventListener("submit", (event) => {
    event.preventDefault();
    questions.add({ saves: true });
  });
  document.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s") {
      event.preventDefault();
      clearTimeout(timer);
      questions.add({ saves: true });
    }
  });

  // --- Leaving --------------------------------------------------------------------------------------------------------

  const wouldLose = () => saving.wouldLose(choices()) || !questions.isIdle;
  window.addEventListener("beforeunload", (event) => {
    if (wouldLose()) event.preventDefault();
  });
  // A link followed while something is unsaved waits for the saving, instead of asking whether to lose it.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || link.target || !wouldLose()) return;
    if (link.origin !== location.origin || link.getAttribute("href").startsWith("#")) return;
    event.preventDefault();
    leaveFor(link.href);
  });
  const leaveFor = (address) => {
    leavingFor = address;
    if (wouldLose()) save();
    else location.href = address;
  };
  // As everywhere, this sends the form: here on to where the order is read once more.
  draft.addEventListener("keydown", (event) => {
    const review = document.querySelector("[data-review]");
    if (event.key !== "Enter" || !(event.ctrlKey || event.metaKey) || !review) return;
    event.preventDefault();
    event.stopPropagation();
    leaveFor(review.href);
  });

  // The way to a field opens what it is folded into.
  judgement.addEventListener("click", (event) => {
    const field = event.target.closest("a[href^='#']") && byId(event.target.closest("a").hash.slice(1));
    for (let fold = field?.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    if (!field || field.matches("#verdict")) return;
    event.preventDefault();
    field.focus();
  });

  // --- Asking and being answered --------------------------------------------------------------------------------------

  const bodyOf = (question) => {
    const body = question.saves ? new FormData(draft) : question.body;
    body.delete("csrfmiddlewaretoken");
    body.set("version", version.value);
    return body;
  };

  const fetched = async (address, options = {}) => {
    const headers = { "HX-Request": "true", "X-CSRFToken": token() };
    try {
      const response = await fetch(address, { ...options, headers });
      const heard = { address: response.url, status: response.status };
      const taken = document.dispatchEvent(new CustomEvent("answered", { detail: heard, cancelable: true }));
      return taken ? await response.text() : null;
    } catch {
      document.dispatchEvent(new CustomEvent("answered", { detail: { status: 0 }, cancelable: true }));
      return null;
    }
  };

  const parsed = (html) => new DOMParser().parseFromString(html, "text/html");

  const fill = (control, values) => {
    if (["checkbox", "radio"].includes(control.type)) control.checked = values.includes(control.value);
    else control.value = values[0] ?? "";
  };

  // What a press changed in the draft, put into the fields; what somebody has typed since stays.
  const takeOver = (taken) => {
    const since = new Set(saving.chosenSince(choices()).map(([name]) => name));
    for (const [name, values] of Object.entries(taken)) {
      if (since.has(name)) continue;
      for (const control of draft.querySelectorAll(`[name="${CSS.escape(name)}"]`)) fill(control, values);
    }
    for (const lens of lenses) {
      for (const name of ["design", "material", "corridor_mm", "blank_mm"]) {
        if (!since.has(`${lens.eye}-${name}`)) lens.wishes[name] = taken[`${lens.eye}-${name}`]?.[0] ?? "";
      }
    }
    follow(false);
    if (since.size === 0) saving.takeAsSaved(choices());
  };

  // The button that was pressed is gone with its question: the keys go on at the next one, or at what is left to do.
  const goOnSettling = () => {
    const open = judgement.querySelector("#part-findings .answers > button, #part-findings .lift > summary");
    (open ?? byId("verdict"))?.focus();
  };

  // An answer to what is no longer the question is not shown: the next one is on its way.
  const isLate = () => questions.waiting.length > 0 || saving.hasNews(choices());

  const take = (fresh, question) => {
    const now = fresh.getElementById("version-now");
    if (now) version.value = now.value;
    const taken = fresh.getElementById("taken");
    const settling = !question.saves && judgement.contains(document.activeElement);
    if (now && question.saves && isLate()) return;
    parts.take(fresh);
    if (taken) takeOver(JSON.parse(taken.textContent));
    if (settling && document.activeElement === document.body) goOnSettling();
    askForWays();
  };

  const ask = async (question) => {
    const body = bodyOf(question);
    if (question.saves) saving.send(choices());
    judgement.setAttribute("aria-busy", "true");
    const checking = setTimeout(() => judgement.classList.add("checking"), CHECKING_AFTER_MS);
    const html = await fetched(question.address ?? draft.action, { method: "POST", body });
    clearTimeout(checking);
    await hands.free();
    const fresh = html === null ? null : parsed(html);
    const wentThrough = Boolean(fresh?.getElementById("version-now"));
    if (question.saves) saving.answered(wentThrough);
    judgement.removeAttribute("aria-busy");
    judgement.classList.remove("checking");
    if (fresh) take(fresh, question);
    if (!wentThrough) {
      questions.forget();
      leavingFor = null;
    }
  };

  const questions = new Questions(async (question) => {
    await ask(question);
    if (leavingFor && !saving.wouldLose(choices()) && questions.waiting.length === 0) location.href = leavingFor;
    else if (leavingFor) save();
    else if (saving.hasNews(choices())) saveSoon(); // What was typed while the server answered goes next.
  });

  // A press is meant for the draft as it is on the page, so what is typed goes before it.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("[data-press]")) return;
    event.preventDefault();
    save();
    questions.add({ address: form.action, body: new FormData(form, event.submitter) });
  });
  judgement.addEventListener("click", (event) => {
    const button = event.target.closest("[data-keeps-mine]");
    if (!button) return;
    version.value = button.dataset.keepsMine;
    questions.add({ saves: true });
  });

  // --- What would clear a finding, worked out after everything else ---------------------------------------------------

  let waysTimer = 0;
  const askForWays = () => {
    clearTimeout(waysTimer);
    waysTimer = setTimeout(showWays, WAYS_AFTER_MS);
  };
  const showWays = async () => {
    const places = [...judgement.querySelectorAll(".ways")];
    if (!places.length || !questions.isIdle) return;
    const asked = version.value;
    const html = await fetched(`${judgement.dataset.ways}?version=${asked}`);
    await hands.free();
    if (html === null || asked !== version.value || !questions.isIdle) return;
    const found = new Map();
    for (const place of parsed(html).querySelectorAll("[data-ways-of]")) found.set(place.dataset.waysOf, place.innerHTML);
    for (const place of judgement.querySelectorAll(".ways")) {
      const ways = found.get(place.dataset.waysOf) ?? "";
      if (place.said !== ways) place.innerHTML = place.said = ways;
    }
  };
  askForWays();
  if (early) save();

  // --- The side that stays in view ------------------------------------------------------------------------------------

  // Taller than the window, it scrolls with the page until its end is in view, and only then stays.
  const stick = () => judgement.style.setProperty("--height", `${judgement.offsetHeight}px`);
  new ResizeObserver(stick).observe(judgement);
};

const draft = document.getElementById("draft");
if (draft) work(draft);
