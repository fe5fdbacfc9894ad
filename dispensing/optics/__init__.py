"""The optics core: every calculation that dispensing needs, pure, typed and easy to check by hand.

It imports only the standard library and numpy, and never knows a database, a page, an order or a clock.  Every function
names its units in its arguments, its sign convention and the source of its formula in its docstring, and refuses bad
input with one error, `errors.OpticsError`, which says what was found and what is allowed.  No NaN leaves the core.

How the parts fit together, for a lens designer who wants to recompute a figure:

* `conventions`   the chart of an eye, axes, signs, base directions; read this first.
* `power`, `power_vector`   S / C x a as written, as (M, J0, J45), as the power matrix
      [[S + C sin²a, -C sin a cos a], [-C sin a cos a, S + C cos²a]]; sums are sums of vectors.
* `notation`      written powers and prescriptions in, text out; never guesses a sign or a decimal point.
* `vertex`        each principal meridian F / (1 - d F), d in m, positive towards the eye.
* `tilt`, `oblique_lens`   the exact worn power k Aᵀ F A of a thin lens, the generalised Coddington trace of a
      thick one, and the power to order.
* `prism`         components positive base in and up, Prentice as -F r / 10 (r in mm from the optical centre),
      base angles 0 to 360 on the viewer's chart (right eye base in = 0, left eye base in = 180).
* `imbalance`     vertical prism right minus left at the reading level, slab-off.
* `centration`    decentration, near PD far - far / (1 + W (1/s - F/1000)), face form, optical-centre drop s sin(tilt).
* `magnification`, `chromatic`   shape and power factors; prism / Abbe number.
* `rounding`      halves away from zero; limits compare after rounding to 0.01.
* `boxing`, `outline`, `shape_families`   boxed shapes from radii, their plane geometry, shapes without a trace.
* `trace_records`, `trace_files`   tracer radii read without guessing.
* `circles`, `blank`, `cutout`     circles against a shape, what a blank can yield, what the frame cuts away.
* `fitting_height`   how high a progressive must sit for its whole near circle.
* `surface`, `bare_sags`, `base_curve` surfaces, and how the front curve is chosen.
* `lens_body`, `lens_batches`, `lens_forms`, `edge`, `volume`   thickness, edges and weight.
"""
