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

const camera = { pitch: null, stream: null, timer: null, stopTilt: null, small: document.createElement("canvas") };

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
  const sharp = sharpnessOf(video, width, height, camera.small);
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

const shoot = async () => {
  const button = byId("camera-shoot");
  button.disabled = true;
  for (const count of COUNT) {
    byId("camera-count").textContent = count;
    await wait(1000);
  }
  byId("camera-count").textContent = "";
  button.disabled = false;
  if (!camera.stream || !video.videoWidth) return;
  // A camera on the screen's own side looks the other way.
  const faces = camera.stream.getVideoTracks()[0].getSettings().facingMode === "user" ? -1 : 1;
  form.elements.pitch_deg.value = camera.pitch === null ? "" : (faces * camera.pitch).toFixed(1);
  const canvas = Object.assign(document.createElement("canvas"), { width: video.videoWidth, height: video.videoHeight });
  canvas.getContext("2d").drawImage(video, 0, 0);
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.95));
  const files = new DataTransfer();
  files.items.add(new File([blob], "photo.jpg", { type: "image/jpeg" }));
  form.elements.photo.files = files.files;
  dialog.close();
  form.requestSubmit();
};

if (navigator.mediaDevices?.getUserMedia) {
  byId("open-camera").hidden = false;
  byId("open-camera").addEventListener("click", async () => {
    dialog.showModal();
    await mayWatchTilt();
    await start();
  });
  byId("camera-which").addEventListener("change", (event) => start(event.target.value));
  byId("camera-shoot").addEventListener("click", shoot);
  byId("camera-close").addEventListener("click", () => dialog.close());
  dialog.addEventListener("close", stop);
} else {
  const why = byId("no-camera");
  why.textContent = "The browser opens a camera only over HTTPS or on this very computer; choose a file, or ask for a secure address.";
  why.hidden = window.isSecureContext;
}
