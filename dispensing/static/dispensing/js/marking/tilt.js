// How level a hand-held device is, if it has a sensor: its lean to the side, and how far the camera points up or down.

export const words = ({ beta, gamma }, upright) => {
  if (beta === null || gamma === null) return null;
  const lean = upright ? gamma : beta;
  const nod = pitchOf({ beta, gamma }, upright);
  const part = (value, plus, minus) => (Math.abs(value) < 1 ? "level" : `${Math.abs(value).toFixed(0)}° ${value > 0 ? plus : minus}`);
  return `sideways ${part(lean, "too far right", "too far left")}, ahead ${part(nod, "upwards", "downwards")}`;
};

// How far a camera on the back of the device points up, in degrees; null without a sensor.
export const pitchOf = ({ beta, gamma }, upright) => {
  if (beta === null || gamma === null) return null;
  return upright ? beta - 90 : Math.abs(gamma) - 90;
};

export const watchTilt = (tell) => {
  const upright = () => (screen.orientation?.type ?? "portrait").startsWith("portrait");
  const listen = (event) => {
    const text = words(event, upright());
    if (text) tell(text, pitchOf(event, upright()));
  };
  window.addEventListener("deviceorientation", listen);
  return () => window.removeEventListener("deviceorientation", listen);
};

// Some browsers must ask for permission first, and only do so after a tap or click.
export const mayWatchTilt = async () => {
  if (typeof DeviceOrientationEvent === "undefined") return false;
  if (!DeviceOrientationEvent.requestPermission) return true;
  return (await DeviceOrientationEvent.requestPermission().catch(() => "denied")) === "granted";
};
