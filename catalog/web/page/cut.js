// SPDX-License-Identifier: Apache-2.0
// The section cut in the browser, so that it follows the finger; the server measures it meanwhile.

/**
 * Cuts the surface where a turned hold is `offset_mm` to the climber's right of its bolt.
 * @param geometry  In millimetres, the hold frame (glb.js).
 * @returns pairs of points [u, z, u, z]: u against a straight downward pull, z off the wall.
 */
export function cutGeometry(geometry, rotation_deg, offset_mm) {
  const places = geometry.getAttribute('position').array, index = geometry.getIndex().array;
  const c = Math.cos(rotation_deg * Math.PI / 180), s = Math.sin(rotation_deg * Math.PI / 180);
  const pieces = [], side = [0, 0, 0];
  for (let t = 0; t < index.length; t += 3) {
    for (let k = 0; k < 3; ++k) {
      const v = 3 * index[t + k];
      side[k] = c * places[v] - s * places[v + 1] - offset_mm;
    }
    if ((side[0] < 0) === (side[1] < 0) && (side[1] < 0) === (side[2] < 0)) continue;
    const ends = [];
    for (let k = 0; k < 3; ++k) {
      const a = side[k], b = side[(k + 1) % 3];
      if ((a < 0) === (b < 0)) continue;
      const p = 3 * index[t + k], q = 3 * index[t + (k + 1) % 3], share = a / (a - b);
      const at = (i) => places[p + i] + (places[q + i] - places[p + i]) * share;
      ends.push(s * at(0) + c * at(1), at(2));
    }
    pieces.push(ends);
  }
  return pieces;
}
