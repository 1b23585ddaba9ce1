// SPDX-License-Identifier: Apache-2.0
// The section under the finger: wall at the left, pull downwards, its dimensions in the picture.
import {s} from './dom.js';
import {angle, length} from './format.js';

const WIDTH = 360, HEIGHT = 250, LEFT = 26, MARGIN = 34;

/** @param shape  A Shape with one section (u against the pull, z off the wall) and, where there is
 *  an edge, its grip. */
export function sectionPicture(shape) {
  const points = shape.sections[0].pointsMm.map((p) => [p.x ?? 0, p.y ?? 0]);
  const us = points.map((p) => p[0]), zs = points.map((p) => p[1]);
  const low = Math.min(...us), high = Math.max(...us), out = Math.max(...zs);
  const scale = Math.min((WIDTH - LEFT - MARGIN) / out, (HEIGHT - 2 * MARGIN) / (high - low));
  const x = (z) => LEFT + z * scale, y = (u) => MARGIN + (high - u) * scale;
  const grip = shape.grips?.[0];
  const parts = [s('path', {class: 'wall-line', d: `M${LEFT} 8V${HEIGHT - 8}`}),
                 s('path', {class: 'cut', d: 'M' + points.map(([u, z]) => `${x(z).toFixed(1)} ${y(u).toFixed(1)}`).join('L')})];
  if (grip?.edgeDepthMm) {
    const lip = grip.lipZMm ?? 0, root = lip - grip.edgeDepthMm.value;
    const top = y(grip.lipHeightMm ?? 0) - 14;
    parts.push(s('path', {class: 'dim', d: `M${x(root)} ${top}H${x(lip)}M${x(root)} ${top - 5}v10M${x(lip)} ${top - 5}v10`}),
               s('text', {x: x((root + lip) / 2), y: top - 7, 'text-anchor': 'middle'}, length(grip.edgeDepthMm)));
    if (grip.lipCentreMm && grip.lipRadiusMm && !grip.lipSharp)
      parts.push(s('circle', {class: 'lip', cx: x(grip.lipCentreMm.y ?? 0), cy: y(grip.lipCentreMm.x ?? 0),
                              r: grip.lipRadiusMm.value * scale}));
  }
  return s('svg', {viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: 'section', role: 'img',
                   'aria-label': sectionWords(shape)}, parts);
}

/** The same in words. */
export function sectionWords(shape) {
  const grip = shape.grips?.[0];
  if (!grip?.edgeDepthMm) return 'Section: no edge for a downward pull here.';
  const words = [`edge ${length(grip.edgeDepthMm)} deep`];
  if (grip.lipRadiusMm) words.push(grip.lipSharp ? `lip sharper than ${length(grip.lipRadiusMm)}`
                                                 : `lip radius ${length(grip.lipRadiusMm)}`);
  if (grip.incutDeg) words.push(`incut ${angle(grip.incutDeg)}`);
  if (grip.edgeWidthMm) words.push(`${length(grip.edgeWidthMm)} wide, fingers ${grip.fingers ?? 0}`);
  return `Section: ${words.join(', ')}.`;
}
