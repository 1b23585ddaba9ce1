// SPDX-License-Identifier: Apache-2.0
// The section under the finger: wall at the left, pull downwards, its dimensions in the picture.
import {s} from './dom.js';
import {angle, length} from './format.js';

const WIDTH = 360, HEIGHT = 270, LEFT = 26, RIGHT = 30, TOP = 48, BOTTOM = 16;

/** How mm become places in the picture, for all that is to be seen in it. */
function frameOf(points) {
  const us = points.map((p) => p[0]), out = Math.max(1, ...points.map((p) => p[1]));
  const low = Math.min(...us), high = Math.max(...us, low + 1);
  const scale = Math.min((WIDTH - LEFT - RIGHT) / out, (HEIGHT - TOP - BOTTOM) / (high - low));
  return {scale, x: (z) => LEFT + z * scale, y: (u) => TOP + (high - u) * scale};
}

/** The depth over the drawing, with thin lines down to lip and root, so that it crosses nothing. */
function depthParts(grip, points, {x, y}) {
  const lip = grip.lipZMm ?? 0, root = lip - grip.edgeDepthMm.value, line = TOP - 16;
  const rootPoint = points.reduce((best, p) => {
    const away = Math.abs(p[1] - root) + 0.2 * Math.abs(p[0] - (grip.lipHeightMm ?? 0));
    return away < best.away ? {away, p} : best;
  }, {away: Infinity}).p;
  return [
    s('path', {class: 'lead', d: `M${x(lip)} ${line - 5}V${y(grip.lipHeightMm ?? 0)}M${x(root)} ${line - 5}V${y(rootPoint[0])}`}),
    s('path', {class: 'dim', d: `M${x(root)} ${line}H${x(lip)}M${x(root) + 5} ${line - 4}l-5 4l5 4M${x(lip) - 5} ${line - 4}l5 4l-5 4`}),
    s('text', {x: x((root + lip) / 2), y: line - 9, 'text-anchor': 'middle'}, length(grip.edgeDepthMm))];
}

const wall = () => [s('path', {class: 'wall-line', d: `M${LEFT} 8V${HEIGHT - 8}`}),
                    s('path', {class: 'dim soft', d: `M${WIDTH - 14} ${HEIGHT - 40}v22m-4 -6l4 6l4 -6`}),
                    s('text', {class: 'word', x: WIDTH - 22, y: HEIGHT - 18, 'text-anchor': 'end'}, 'pull')];

const drawing = (label, parts) => s('svg', {viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: 'section', role: 'img', 'aria-label': label},
                                    wall(), parts);

/** @param shape  A Shape with one section (u against the pull, z off the wall) and, where there is
 *  an edge, its grip. */
export function sectionPicture(shape) {
  const points = shape.sections[0].pointsMm.map((p) => [p.x ?? 0, p.y ?? 0]);
  const frame = frameOf(points), {x, y, scale} = frame, grip = shape.grips?.[0];
  const parts = [s('path', {class: 'cut', d: 'M' + points.map(([u, z]) => `${x(z).toFixed(1)} ${y(u).toFixed(1)}`).join('L')})];
  if (grip?.edgeDepthMm) {
    parts.push(...depthParts(grip, points, frame));
    if (grip.lipCentreMm && grip.lipRadiusMm && !grip.lipSharp)
      parts.push(s('circle', {class: 'lip', cx: x(grip.lipCentreMm.y ?? 0), cy: y(grip.lipCentreMm.x ?? 0),
                              r: grip.lipRadiusMm.value * scale}));
  }
  return drawing(sectionWords(shape), parts);
}

/** The same of a section that was cut in the browser and is not measured yet. */
export function cutPicture(pieces) {
  if (!pieces.length) return drawing('Nothing is cut here.', []);
  const {x, y} = frameOf(pieces.flatMap(([u0, z0, u1, z1]) => [[u0, z0], [u1, z1]]));
  return drawing('The section, being measured.', [s('path', {class: 'cut', d: pieces.map(([u0, z0, u1, z1]) =>
    `M${x(z0).toFixed(1)} ${y(u0).toFixed(1)}L${x(z1).toFixed(1)} ${y(u1).toFixed(1)}`).join('')})]);
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
