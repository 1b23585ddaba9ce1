// SPDX-License-Identifier: Apache-2.0
// From where a hold was photographed: the mat seen from above, its twelve numbers round it, three
// rings for low, middle and high, and how many photos there are in each field.
import {h, s} from './dom.js';

const RINGS = [['low', 78, 100], ['middle', 54, 76], ['high', 30, 52]];

const at = (radius, number) => {
  const angle = -Math.PI / 2 + (number - 1) * Math.PI / 6;  // 1 at the bottom, counter-clockwise.
  return [radius * Math.cos(angle), -radius * Math.sin(angle)].map((v) => v.toFixed(2));
};

function field(inner, outer, number, count) {
  const [a, b] = [number - 0.47, number + 0.47];
  const shape = `M${at(inner, a)} L${at(outer, a)} A${outer} ${outer} 0 0 0 ${at(outer, b)} ` +
                `L${at(inner, b)} A${inner} ${inner} 0 0 1 ${at(inner, a)}Z`;
  const [x, y] = at((inner + outer) / 2, number);
  return [s('path', {d: shape, class: count ? 'taken' : 'open'}),
          count ? s('text', {x, y, class: 'taken-count'}, String(count)) : null];
}

/** The picture with what is still missing in words below it. */
export function coverageView(coverage) {
  const c = coverage ?? {};
  const usable = c.usable ?? 0;
  const picture = s('svg', {class: 'coverage', viewBox: '-122 -122 244 244', role: 'img',
                            'aria-label': `${usable} usable photos; what is missing is said below`},
    RINGS.map(([name, inner, outer]) => Array.from({length: 12}, (_, i) =>
      field(inner, outer, i + 1, (c[name] ?? [])[i] ?? 0))),
    Array.from({length: 12}, (_, i) => {
      const [x, y] = at(111, i + 1);
      return s('text', {x, y, class: 'stop'}, String(i + 1));
    }),
    s('text', {x: 0, y: -8, class: 'stop'}, String(usable)), s('text', {x: 0, y: 8, class: 'ring'}, 'photos'));
  const advice = c.advice ?? [];
  return h('section', {class: 'panel'}, h('h2', {}, 'Seen from'), picture,
    h('p', {class: 'soft'}, 'Outer ring: low, nearly along the table; then middle; inner ring: high. ' +
      'The numbers are those on the mat.'),
    advice.length ? h('ul', {class: 'advice'}, advice.map((text) => h('li', {}, text)))
      : usable ? h('p', {}, 'Photographed from all around.') : h('p', {}, 'No usable photo yet.'));
}
