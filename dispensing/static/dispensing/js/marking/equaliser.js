// Light made even over a picture: what is dark beside its own surroundings shows as well behind a dark lens as on the
// cheek. Each place is set off from the mean of what lies round it, and that mean is brought to a middling grey.
const MIDDLE = 118;
const MOST = 5;
const PARTS = 9;

// Sums over windows in two passes, so that a large picture takes no longer than reading it twice.
const means = (grey, width, height, reach) => {
  const sums = new Float64Array((width + 1) * (height + 1));
  for (let y = 0; y < height; y += 1) {
    let row = 0;
    for (let x = 0; x < width; x += 1) {
      row += grey[y * width + x];
      sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1] + row;
    }
  }
  const found = new Float32Array(grey.length);
  for (let y = 0; y < height; y += 1) {
    const [top, bottom] = [Math.max(0, y - reach), Math.min(height, y + reach + 1)];
    for (let x = 0; x < width; x += 1) {
      const [left, right] = [Math.max(0, x - reach), Math.min(width, x + reach + 1)];
      const at = (row, column) => sums[row * (width + 1) + column];
      found[y * width + x] = (at(bottom, right) - at(top, right) - at(bottom, left) + at(top, left)) / ((bottom - top) * (right - left));
    }
  }
  return found;
};

// Changes RGBA data in place.
export const evenOut = (data, width, height) => {
  const grey = new Float32Array(width * height);
  for (let i = 0; i < grey.length; i += 1) grey[i] = 0.299 * data[4 * i] + 0.587 * data[4 * i + 1] + 0.114 * data[4 * i + 2];
  const around = means(grey, width, height, Math.max(2, Math.round(Math.min(width, height) / PARTS)));
  for (let i = 0; i < grey.length; i += 1) {
    const gain = Math.min(MOST, Math.max(0.6, MIDDLE / (around[i] + 4)));
    for (let part = 0; part < 3; part += 1) data[4 * i + part] = Math.min(255, Math.max(0, gain * data[4 * i + part]));
  }
};

// How a straight line of grey values is laid for a contrast: about a dark grey, so that a dark lens never turns black.
const ABOUT = 0.1;
export const straight = (brightness, contrast) => ({ slope: brightness * contrast, intercept: ABOUT * (1 - contrast) });
