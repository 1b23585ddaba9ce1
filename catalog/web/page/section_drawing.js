// SPDX-License-Identifier: Apache-2.0
// A section that is drawn by hand: points in mm, x away from the wall, y up against the pull.

/** Length of a line in mm. */
export const lengthOf = (points) => points.slice(1).reduce((sum, p, i) =>
  sum + Math.hypot(p.x - points[i].x, p.y - points[i].y), 0);

function farthest(points, from, to) {
  const a = points[from], b = points[to], length = Math.hypot(b.x - a.x, b.y - a.y);
  let most = 0, place = -1;
  for (let i = from + 1; i < to; ++i) {
    const p = points[i];
    const away = length < 1e-9 ? Math.hypot(p.x - a.x, p.y - a.y)
      : Math.abs((b.x - a.x) * (a.y - p.y) - (a.x - p.x) * (b.y - a.y)) / length;
    if (away > most) [most, place] = [away, i];
  }
  return [most, place];
}

/** The same line with few points: none of those left out is farther than `within_mm` from it
 *  (Ramer 1972; Douglas and Peucker 1973). */
export function simplified(points, within_mm) {
  const kept = new Set([0, points.length - 1]), open = [[0, points.length - 1]];
  while (open.length) {
    const [from, to] = open.pop();
    const [away, place] = farthest(points, from, to);
    if (away <= within_mm) continue;
    kept.add(place);
    open.push([from, place], [place, to]);
  }
  return [...kept].sort((a, b) => a - b).map((i) => points[i]);
}

/** A lip from three numbers, as a line that can be drawn on: the climber's side of the face, an arc
 *  of this radius, a straight grip face of this incut, down to the root at this depth and up again.
 *  `out_mm` is how far the face stands off the wall. */
export function sectionOfNumbers({radius_mm, incut_deg, depth_mm, out_mm = depth_mm + 12}) {
  const turn = (90 + incut_deg) * Math.PI / 180, pieces = 8;
  const points = [{x: out_mm, y: -20}];
  for (let i = 0; i <= pieces; ++i) {
    const facing = turn * i / pieces;
    points.push({x: out_mm + radius_mm * (Math.cos(facing) - 1), y: radius_mm * (Math.sin(facing) - 1)});
  }
  const end = points.at(-1), along = {x: -Math.sin(turn), y: Math.cos(turn)};
  const run = Math.max(0, (end.x - (out_mm - depth_mm)) / -along.x);
  const root = {x: end.x + run * along.x, y: end.y + run * along.y};
  points.push(root, {x: root.x, y: root.y + 12});
  return points.map(({x, y}) => ({x: Math.round(x * 10) / 10, y: Math.round(y * 10) / 10}));
}

/** Points as people type them, one a line; a line that is no point is named. */
export function parsePoints(text, scale_mm = 1) {
  const points = [];
  for (const [i, line] of text.split('\n').entries()) {
    const words = line.trim().split(/[\s,;]+/).filter(Boolean);
    if (!words.length) continue;
    const [x, y] = words.map(Number);
    if (words.length !== 2 || !Number.isFinite(x) || !Number.isFinite(y))
      return {points, problem: `Line ${i + 1} is no point: write how far out and how far up.`};
    points.push({x: x * scale_mm, y: y * scale_mm});
  }
  return {points, problem: ''};
}
