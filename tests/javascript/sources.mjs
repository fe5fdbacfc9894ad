// Where the scripts under test lie.
const at = (path) => new URL(`../../${path}`, import.meta.url).href;

export const marking = (name) => import(at(`dispensing/static/dispensing/js/marking/${name}.js`));
export const orderDesk = (name) => import(at(`orders/static/orders/${name}.js`));

// Figures that went through sines are equal to within a millionth of a pixel.
export const near = (found, expected) =>
  found.length === expected.length && found.every((value, index) => Math.abs(value - expected[index]) < 1e-6);
