// SPDX-License-Identifier: Apache-2.0
// The ring around the hold: turn it, and the hold turns on its bolt. What the hold is good for at
// each rotation is drawn on the ring as bands, which also stand in words beside it.
import {s} from './dom.js';

const MIDDLE = 200, RING = 186, BAND = 172;
const WORDS = ['jug', 'edge', 'crimp', 'pocket', 'sloper', 'pinch', 'foot-only'];

const at = (angle_deg, radius) => {
  const a = angle_deg * Math.PI / 180;
  return [MIDDLE - radius * Math.sin(a), MIDDLE - radius * Math.cos(a)];
};

/** An arc from one rotation to another, counter-clockwise from the top. */
function arc(from_deg, to_deg, radius) {
  const [x0, y0] = at(from_deg, radius), [x1, y1] = at(to_deg, radius);
  const large = to_deg - from_deg > 180 ? 1 : 0;
  return `M${x0.toFixed(1)} ${y0.toFixed(1)}A${radius} ${radius} 0 ${large} 0 ${x1.toFixed(1)} ${y1.toFixed(1)}`;
}

/** Bands for the grip words: the same word always on the same dash pattern, so that they can be
 *  told apart without colour. */
function bands(words) {
  return words.map((word) => {
    const from = word.fromDeg ?? 0;
    const to = Math.min(from + 359.9, Math.max(word.toDeg ?? from, from + 4));
    return s('path', {class: `band band-${WORDS.indexOf(word.word)}`, d: arc(from, to, BAND)});
  });
}

/**
 * @param words     GripWords of the hold.
 * @param onchange  Called with the rotation in degrees, 0 to 359, while the finger moves.
 * @returns an SVG to lay over the picture; only its ring takes the finger.
 */
export function dial(words, rotation_deg, onchange) {
  const knob = s('g', {class: 'knob'}, s('circle', {cx: MIDDLE, cy: MIDDLE - RING, r: 22, class: 'reach'}),
                 s('circle', {cx: MIDDLE, cy: MIDDLE - RING, r: 13}),
                 s('path', {d: `M${MIDDLE - 5} ${MIDDLE - RING}h10M${MIDDLE} ${MIDDLE - RING - 5}v10`}));
  const ticks = Array.from({length: 24}, (_, i) => {
    const [x0, y0] = at(i * 15, RING - 4), [x1, y1] = at(i * 15, RING + (i % 6 ? 4 : 9));
    return s('path', {class: 'tick', d: `M${x0} ${y0}L${x1} ${y1}`});
  });
  const ring = s('circle', {cx: MIDDLE, cy: MIDDLE, r: RING, class: 'ring'});
  const svg = s('svg', {viewBox: '0 0 400 400', class: 'dial', tabindex: 0, role: 'slider',
                        'aria-label': 'Rotation of the hold on its bolt', 'aria-valuemin': 0,
                        'aria-valuemax': 359}, ring, bands(words), ticks, knob);
  let rotation = rotation_deg;
  const set = (deg, tell = true) => {
    rotation = ((Math.round(deg) % 360) + 360) % 360;
    knob.setAttribute('transform', `rotate(${-rotation} ${MIDDLE} ${MIDDLE})`);
    svg.setAttribute('aria-valuenow', rotation);
    svg.setAttribute('aria-valuetext', `${rotation} degrees counter-clockwise`);
    if (tell) onchange(rotation);
  };
  const follow = (event) => {
    const box = svg.getBoundingClientRect();
    const x = event.clientX - box.left - box.width / 2, y = event.clientY - box.top - box.height / 2;
    const deg = Math.atan2(-x, -y) * 180 / Math.PI;
    set(Math.round(deg / 5) * 5);
  };
  let held = false;
  for (const part of [ring, knob]) part.addEventListener('pointerdown', (event) => {
    held = true;
    svg.setPointerCapture(event.pointerId);
    svg.focus({preventScroll: true});
    follow(event);
    event.preventDefault();
  });
  svg.addEventListener('pointermove', (event) => held && follow(event));
  for (const end of ['pointerup', 'pointercancel']) svg.addEventListener(end, () => { held = false; });
  const keys = {ArrowLeft: 5, ArrowUp: 5, ArrowRight: -5, ArrowDown: -5, PageUp: 30, PageDown: -30};
  svg.addEventListener('keydown', (event) => {
    if (event.key === 'Home') set(0);
    else if (keys[event.key]) set(rotation + keys[event.key]);
    else return;
    event.preventDefault();
  });
  set(rotation, false);
  return svg;
}
