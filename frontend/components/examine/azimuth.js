/** Azimuths: where raking light comes from, in degrees clockwise from the sheet's top edge. */

const WHENCE = [
  "the top edge",
  "the top right corner",
  "the right edge",
  "the bottom right corner",
  "the bottom edge",
  "the bottom left corner",
  "the left edge",
  "the top left corner",
];

/** Any angle as 0 up to, but not including, 360. */
export function turned(/** @type {number} */ degrees) {
  return ((degrees % 360) + 360) % 360;
}

/** The nearest edge or corner, as "from the left edge". */
export function whence(/** @type {number} */ azimuth) {
  return `from ${WHENCE[Math.round(turned(azimuth) / 45) % 8]}`;
}

/**
 * The azimuth of a point round a centre, to the nearest `step` degrees.
 *
 * @param {number} dx  to the right of the centre
 * @param {number} dy  below the centre
 */
export function azimuthOf(dx, dy, step = 5) {
  const degrees = (Math.atan2(dx, -dy) * 180) / Math.PI;
  return turned(Math.round(degrees / step) * step);
}
