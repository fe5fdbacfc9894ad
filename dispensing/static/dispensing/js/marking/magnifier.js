// The magnifier: what lies under the pointer or the chosen mark, enlarged, in the corner farthest from the finger.
const ACROSS_PX = 28;

export class Magnifier {
  constructor(canvas, view) {
    this.canvas = canvas;
    this.view = view;
    this.pen = canvas.getContext("2d", { alpha: false });
  }

  show(image, point) {
    if (!image || !point) {
      this.hide();
      return;
    }
    const { pen, canvas, view } = this;
    const side = canvas.width;
    // Always at least twice the photo's own magnification.
    const factor = Math.max(side / ACROSS_PX, 2 * view.scale);
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = "#000";
    pen.fillRect(0, 0, side, side);
    pen.imageSmoothingEnabled = false;
    pen.setTransform(factor, 0, 0, factor, side / 2 - point[0] * factor, side / 2 - point[1] * factor);
    pen.drawImage(image, 0, 0, view.photo[0], view.photo[1]);
    this.hair(side);
    const [x, y] = view.toScreen(point);
    canvas.classList.toggle("at-right", x < view.size[0] / 2);
    canvas.classList.toggle("at-bottom", y < view.size[1] / 2 && x >= view.size[0] / 2 - side && x <= view.size[0] / 2 + side);
    canvas.hidden = false;
  }

  hair(side) {
    const { pen } = this;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    const middle = side / 2;
    for (const [colour, width] of [["#000", 3], ["#fff", 1]]) {
      [pen.strokeStyle, pen.lineWidth] = [colour, width];
      pen.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(middle + 5 * dx, middle + 5 * dy);
        pen.lineTo(middle + middle * dx, middle + middle * dy);
      }
      pen.stroke();
    }
  }

  hide() {
    this.canvas.hidden = true;
  }
}
