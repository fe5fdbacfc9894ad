// Boxes from the sides that were found. A side that was not found stands where the frame's own sizes put it, and says so.
const EYES = ["right", "left"];
const OUT = { right: -1, left: 1 };
const OPPOSITE = { nasal: "temporal", temporal: "nasal", top: "bottom", bottom: "top" };
export const SIDES = ["temporal", "nasal", "top", "bottom"];

const axisOf = (side) => (side === "top" || side === "bottom" ? 1 : 0);
const along = (sides, side) => sides[side]?.at[axisOf(side)];

// Screen-free: pixels of the photo for a millimetre of the frame, from the first length that was found whole.
const scaleOf = (found, { a_mm, b_mm, dbl_mm }) => {
  const lengths = EYES.map((eye) => [along(found[eye], "nasal") - along(found[eye], "temporal"), a_mm]);
  lengths.push([along(found.left, "nasal") - along(found.right, "nasal"), dbl_mm]);
  lengths.push(...EYES.map((eye) => [along(found[eye], "bottom") - along(found[eye], "top"), b_mm]));
  const whole = lengths.find(([px, mm]) => Number.isFinite(px) && mm);
  return whole ? Math.abs(whole[0]) / whole[1] : null;
};

// For each eye all four sides as {at, confidence, unsure}, or none where too few were found to tell the others.
export const wholeBox = (found, frame) => {
  const scale = scaleOf(found, frame);
  const boxes = {};
  for (const eye of EYES) {
    const other = found[eye === "right" ? "left" : "right"];
    const placed = {};
    for (const side of SIDES) placed[side] = along(found[eye], side);
    const missing = SIDES.filter((side) => placed[side] === undefined);
    for (const side of missing) {
      const size = axisOf(side) ? frame.b_mm : frame.a_mm;
      const outwards = side === "temporal" ? OUT[eye] : side === "nasal" ? -OUT[eye] : side === "top" ? -1 : 1;
      const opposite = along(found[eye], OPPOSITE[side]);
      if (opposite !== undefined && scale && size) placed[side] = opposite + outwards * size * scale;
      else if (axisOf(side)) placed[side] = along(other, side);
      else if (side === "nasal" && along(other, "nasal") !== undefined && scale) placed.nasal = along(other, "nasal") + OUT[eye] * frame.dbl_mm * scale;
      if (side === "temporal" && placed.temporal === undefined && placed.nasal !== undefined && scale) placed.temporal = placed.nasal + OUT[eye] * frame.a_mm * scale;
    }
    if (missing.length > 2 || SIDES.some((side) => !Number.isFinite(placed[side]))) continue;
    const middle = [(placed.temporal + placed.nasal) / 2, (placed.top + placed.bottom) / 2];
    boxes[eye] = {};
    for (const side of SIDES) {
      const filled = missing.includes(side);
      const flat = axisOf(side) ? [middle[0], placed[side]] : [placed[side], middle[1]];
      boxes[eye][side] = filled ? { at: flat, confidence: 0, unsure: true } : { ...found[eye][side] };
    }
  }
  return boxes;
};
