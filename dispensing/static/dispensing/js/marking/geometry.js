// Plane geometry of the marking page: rotating points, and the view that converts photo pixels to screen positions and
// back.

export const turned = ([x, y], degrees, [cx, cy]) => {
  const angle = (degrees * Math.PI) / 180;
  const [dx, dy] = [x - cx, y - cy];
  return [cx + dx * Math.cos(angle) - dy * Math.sin(angle), cy + dx * Math.sin(angle) + dy * Math.cos(angle)];
};

export const apart = ([ax, ay], [bx, by]) => Math.hypot(bx - ax, by - ay);
export const between = (low, value, high) => Math.min(Math.max(value, low), high);

const LARGEST = 24;

// Where the photo lies on the screen: "scale" in CSS pixels per photo pixel, "left" and "top" of its corner.
export class View {
  constructor(photo) {
    this.photo = photo;
    this.size = [1, 1];
    this.scale = 1;
    this.left = this.top = 0;
  }

  get whole() {
    return Math.min(this.size[0] / this.photo[0], this.size[1] / this.photo[1]);
  }

  resize(size) {
    const middle = this.toPhoto([this.size[0] / 2, this.size[1] / 2]);
    const wasWhole = this.size[0] <= 1 || this.scale <= this.whole * 1.001;
    this.size = size;
    if (wasWhole) this.fit();
    else this.centre(middle);
  }

  fit() {
    this.scale = this.whole;
    this.centre([this.photo[0] / 2, this.photo[1] / 2]);
  }

  // Show these places with some room around them.
  frame(points) {
    const [low, high] = [Math.min, Math.max].map((pick) => [0, 1].map((axis) => pick(...points.map((point) => point[axis]))));
    const [wide, tall] = [0, 1].map((axis) => 1.4 * (high[axis] - low[axis]));
    const scale = Math.min(this.size[0] / wide, this.size[1] / tall);
    this.lay([(low[0] + high[0]) / 2, (low[1] + high[1]) / 2], [this.size[0] / 2, this.size[1] / 2], scale);
  }

  centre([x, y]) {
    this.left = this.size[0] / 2 - x * this.scale;
    this.top = this.size[1] / 2 - y * this.scale;
    this.hold();
  }

  zoom(factor, at = [this.size[0] / 2, this.size[1] / 2]) {
    this.lay(this.toPhoto(at), at, this.scale * factor);
  }

  // Move the view so that a given point of the photo is at a given point of the screen.
  lay(point, at, scale) {
    this.scale = between(Math.min(this.whole, 1), scale, LARGEST);
    this.left = at[0] - point[0] * this.scale;
    this.top = at[1] - point[1] * this.scale;
    this.hold();
  }

  pan(dx, dy) {
    this.left += dx;
    this.top += dy;
    this.hold();
  }

  // The photo never leaves the screen; if it is smaller than the screen, it stays in the middle.
  hold() {
    const keep = (place, length, room) =>
      length <= room ? (room - length) / 2 : between(room - length, place, 0);
    this.left = keep(this.left, this.photo[0] * this.scale, this.size[0]);
    this.top = keep(this.top, this.photo[1] * this.scale, this.size[1]);
  }

  toScreen([x, y]) {
    return [x * this.scale + this.left, y * this.scale + this.top];
  }

  toPhoto([x, y]) {
    return [(x - this.left) / this.scale, (y - this.top) / this.scale];
  }

  shows(point) {
    const [x, y] = this.toScreen(point);
    return x >= 0 && y >= 0 && x <= this.size[0] && y <= this.size[1];
  }
}
