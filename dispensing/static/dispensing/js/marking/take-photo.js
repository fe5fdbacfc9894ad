// Taking a photo with this device's own camera, showing in words and numbers what to know before the shot. The picture
// goes into the form's own field, so that the server handles it like any other file.
import { SHARP_ENOUGH, sharpnessOf } from "./sharpness.js";
import { mayWatchTilt, watchTilt } from "./tilt.js";

const byId = (id) => document.getElementById(id);
const form = byId("take-photo");
const [dialog, video, trouble] = ["camera", "camera-video", "camera-trouble"].map(byId);
const LOOK_EVERY_MS = 400;
const COUNT = [3, 2, 1];
const LARGEST = { width: { ideal: 3840 }, height: { ideal: 2160 } };
const WHY_NOT = {
  NotAllowedError: "The browser does not let this page use the camera. Allow it beside the address, or choose a file.",
  NotFoundError: "No camera was found. Connect one, or choose a file.",
  NotReadableError: "The camera is used by another program. Close that, or choose a file.",
};

const BURST_EVERY_MS = 700;
const camera = { pitch: null, stream: null, timer: null, stopTilt: null, small: document.createElement("canvas") };
// The shots that were looked at and kept, and those just taken.
const shots = { kept: [], fresh: [] };

const say = (text) => {
  trouble.textContent = text;
  trouble.hidden = !text;
};

const stop = () => {
  clearInterval(camera.timer);
  camera.stopTilt?.();
  camera.stream?.getTracks().forEach((track) => track.stop());
  camera.stream = null;
  video.srcObject = null;
};

const look = () => {
  const { videoWidth: width, videoHeight: height } = video;
  if (!width) return;
  const sharp = shots.fresh.length ? Math.min(...shots.fresh.map((one) => one.sharp)) : sharpnessOf(video, width, height, camera.small);
  byId("camera-sharpness").textContent = `${sharp.toFixed(0)}, ${sharp >= SHARP_ENOUGH ? "sharp enough" : "too soft: hold still, more light, or farther away"}`;
  byId("camera-size").textContent = `${width} by ${height} px`;
};

const listCameras = async () => {
  const found = (await navigator.mediaDevices.enumerateDevices()).filter((one) => one.kind === "videoinput");
  const current = camera.stream.getVideoTracks()[0].getSettings().deviceId;
  byId("camera-which").replaceChildren(
    ...found.map((one, index) => new Option(one.label || `Camera ${index + 1}`, one.deviceId, false, one.deviceId === current)),
  );
};

const start = async (deviceId) => {
  stop();
  say("");
  try {
    const which = deviceId ? { deviceId: { exact: deviceId } } : { facingMode: { ideal: "environment" } };
    camera.stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: { ...which, ...LARGEST } });
    video.srcObject = camera.stream;
    await video.play();
    await listCameras();
  } catch (fault) {
    say(WHY_NOT[fault.name] ?? "The camera could not be opened. Choose a file instead.");
    return;
  }
  camera.timer = setInterval(look, LOOK_EVERY_MS);
  const tilt = byId("camera-tilt");
  tilt.textContent = "no sensor tells; compare with a door frame";
  camera.pitch = null;
  camera.stopTilt = watchTilt((text, pitch) => {
    tilt.textContent = text;
    camera.pitch = pitch;
  });
};

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

// How many shots are asked for, and whether the patient looks away between them. From the side one shows all.
const asked = () => {
  if (form.elements.view.value === "side") return { count: 1, away: false };
  const [count, how] = byId("camera-how").value.split(" ");
  return { count: Number(count), away: how === "away" };
};

const lookWords = () => (form.elements.view.value === "side" ? "The patient looks straight ahead." : "The patient looks into the lens of the camera.");

const step = () => {
  const { count, away } = asked();
  const looking = shots.fresh.length > 0;
  const done = shots.kept.length;
  const again = done ? "Now ask the patient to look away, at something else, and then back into the lens." : lookWords();
  const live = away ? `Shot ${done + 1} of ${count}. ${again}` : `${lookWords()}${count > 1 ? ` ${count} shots follow each other: hold still.` : ""}`;
  byId("camera-step").textContent = looking ? "Look at it: both eyes open, both lenses whole, no glare over a pupil?" : live;
  byId("camera-live").hidden = looking;
  byId("camera-shots").hidden = !looking;
  byId("camera-shots").replaceChildren(...shots.fresh.map((one) => one.canvas));
  byId("camera-shoot").hidden = looking;
  for (const id of ["camera-keep", "camera-again"]) byId(id).hidden = !looking;
  byId("camera-keep").textContent = shots.fresh.length > 1 ? "Keep them" : "Keep it";
  byId("camera-again").textContent = shots.fresh.length > 1 ? "Take them again" : "Take it again";
  byId("camera-how").disabled = done > 0 || looking || form.elements.view.value === "side";
  if (looking) byId("camera-keep").focus();
};

const capture = () => {
  // A camera on the screen's own side looks the other way.
  const faces = camera.stream.getVideoTracks()[0].getSettings().facingMode === "user" ? -1 : 1;
  const { videoWidth: width, videoHeight: height } = video;
  const canvas = Object.assign(document.createElement("canvas"), { width, height });
  canvas.getContext("2d").drawImage(video, 0, 0);
  const pitch = camera.pitch === null ? "-" : (faces * camera.pitch).toFixed(1);
  return { canvas, pitch, sharp: sharpnessOf(canvas, width, height, camera.small) };
};

const shoot = async () => {
  const button = byId("camera-shoot");
  button.disabled = true;
  for (const count of COUNT) {
    byId("camera-count").textContent = count;
    await wait(1000);
  }
  byId("camera-count").textContent = "";
  button.disabled = false;
  const { count, away } = asked();
  const taken = [];
  while (camera.stream && video.videoWidth && taken.length < (away ? 1 : count)) {
    if (taken.length) await wait(BURST_EVERY_MS);
    if (camera.stream) taken.push(capture());
  }
  if (!camera.stream) return;
  shots.fresh = taken;
  look();
  step();
};

const send = async () => {
  const files = new DataTransfer();
  for (const [index, { canvas }] of shots.kept.entries()) {
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.95));
    files.items.add(new File([blob], `photo-${index + 1}.jpg`, { type: "image/jpeg" }));
  }
  form.elements.photo.files = files.files;
  form.elements.pitch_deg.value = shots.kept.map((one) => one.pitch).join(" ");
  if (shots.kept.length > 1) form.elements.between.value = asked().away ? "away" : "still";
  dialog.close();
  form.requestSubmit();
};

const keep = () => {
  shots.kept.push(...shots.fresh);
  shots.fresh = [];
  if (shots.kept.length >= asked().count) send();
  else step();
};

const again = () => {
  shots.fresh = [];
  step();
};

if (navigator.mediaDevices?.getUserMedia) {
  byId("open-camera").hidden = false;
  byId("open-camera").addEventListener("click", async () => {
    [shots.kept, shots.fresh] = [[], []];
    dialog.showModal();
    step();
    await mayWatchTilt();
    await start();
  });
  byId("camera-which").addEventListener("change", (event) => start(event.target.value));
  byId("camera-shoot").addEventListener("click", shoot);
  byId("camera-keep").addEventListener("click", keep);
  byId("camera-again").addEventListener("click", again);
  byId("camera-how").addEventListener("change", step);
  byId("camera-close").addEventListener("click", () => dialog.close());
  dialog.addEventListener("close", stop);
} else {
  const why = byId("no-camera");
  why.textContent = "The browser opens a camera only over HTTPS or on this very computer; choose a file, or ask for a secure address.";
  why.hidden = window.isSecureContext;
}
