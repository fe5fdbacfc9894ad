// How sharp a picture is, as one number: the variance of its Laplacian (J. L. Pech-Pacheco et al., ICPR 2000), for grey
// values from 0 to 255 of a picture 320 pixels wide.
export const SHARP_ENOUGH = 60;
const WIDTH = 320;

export const sharpnessOf = (source, width, height, canvas) => {
  canvas.width = WIDTH;
  canvas.height = Math.max(3, Math.round((height / width) * WIDTH));
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(source, 0, 0, canvas.width, canvas.height);
  const { data } = pen.getImageData(0, 0, canvas.width, canvas.height);
  const grey = new Float32Array(canvas.width * canvas.height);
  for (let i = 0; i < grey.length; i += 1) grey[i] = 0.299 * data[4 * i] + 0.587 * data[4 * i + 1] + 0.114 * data[4 * i + 2];
  return laplacianVariance(grey, canvas.width, canvas.height);
};

export const laplacianVariance = (grey, width, height) => {
  let [sum, squares, count] = [0, 0, 0];
  for (let y = 1; y < height - 1; y += 1) {
    for (let x = 1; x < width - 1; x += 1) {
      const at = y * width + x;
      const value = grey[at - 1] + grey[at + 1] + grey[at - width] + grey[at + width] - 4 * grey[at];
      sum += value;
      squares += value * value;
      count += 1;
    }
  }
  return squares / count - (sum / count) ** 2;
};
