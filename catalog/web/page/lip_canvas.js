// SPDX-License-Identifier: Apache-2.0
// The canvas for a lip, in mm: drawn on by finger, mouse and keyboard. The wall is on the left, the
// pull goes down.
import {s} from './dom.js';
import {settings, unitWord} from './format.js';
import {simplified} from './section_drawing.js';

const LOW = -34, HIGH = 20;      // Of the picture, mm against the pull.
const HAND_KEPT_MM = 0.25;       // A stroke's points within this of the line are left out.
const REACH_PX = 24;             // A finger this near to a point takes it.
const STEP_MM = 1, LEAP_MM = 5;  // Of the keyboard's cursor.

const path = (points) => points.length
  ? 'M' + points.map((p) => `${p.x.toFixed(2)} ${(-p.y).toFixed(2)}`).join('L') : '';

/** Grid lines every 5 mm (a quarter inch), numbered at every second one. */
function grid(width_mm) {
  const step = settings.inch ? 6.35 : 5, parts = [];
  const text = (value) => settings.inch ? (value / 25.4).toFixed(1) : String(Math.round(value));
  for (let i = 0; i * step <= width_mm; ++i) {
    parts.push(s('path', {class: i % 2 ? 'grid' : 'grid strong', d: `M${i * step} ${-HIGH}V${-LOW}`}));
    if (i % 2 === 0 && i) parts.push(s('text', {x: i * step, y: -LOW - 1.2, 'text-anchor': 'middle'}, text(i * step)));
  }
  for (let i = Math.ceil(LOW / step); i * step <= HIGH; ++i) {
    parts.push(s('path', {class: i % 2 ? 'grid' : 'grid strong', d: `M0 ${-i * step}H${width_mm}`}));
    if (i % 2 === 0 && i * step > LOW + 3) parts.push(s('text', {x: 0.8, y: -i * step - 0.6}, text(i * step)));
  }
  parts.push(s('text', {x: width_mm - 1, y: -LOW - 4.4, 'text-anchor': 'end'}, `${unitWord()} from the wall`));
  return parts;
}

const scenery = (width_mm) => [
  s('rect', {class: 'rock', x: -4, y: -HIGH, width: 4, height: HIGH - LOW}),
  s('text', {class: 'word', transform: 'translate(-1.2 -2) rotate(-90)', 'text-anchor': 'middle'}, 'wall'),
  s('path', {class: 'pull', d: `M${width_mm - 5} ${-HIGH + 4}v9m-2 -3l2 3l2 -3`}),
  s('text', {class: 'word', x: width_mm - 8, y: -HIGH + 9.5, 'text-anchor': 'end'}, 'pull')];

/**
 * @param onchange  Called with the points while they change; `settled` is false during a stroke.
 * @returns {node, points, set(points), undo(), over(match)}: `over` lays a found lip on the drawing.
 */
export function lipCanvas({points = [], width_mm = 64, onchange}) {
  let line = points, before = [], cursor = {x: 30, y: 0}, held;
  const drawn = s('path', {class: 'drawn'}), found = s('path', {class: 'found'});
  const gaps = s('path', {class: 'gap'}), dots = s('g', {class: 'dots'});
  const cross = s('path', {class: 'cross'});
  const node = s('svg', {
    class: 'lip-canvas', viewBox: `-4 ${-HIGH} ${width_mm + 4} ${HIGH - LOW}`, tabindex: 0,
    role: 'application', 'aria-label': 'Canvas in millimetres: draw the lip', 'aria-describedby': 'canvas-help canvas-at'},
    grid(width_mm), scenery(width_mm), found, gaps, drawn, dots, cross);

  const show = () => {
    drawn.setAttribute('d', path(line));
    dots.replaceChildren(...(held?.stroke ? [] : line.map((p) => s('circle', {cx: p.x, cy: -p.y, r: 0.6}))));
    cross.setAttribute('d', `M${cursor.x - 2} ${-cursor.y}h4M${cursor.x} ${-cursor.y - 2}v4`);
  };
  const tell = (settled = true) => { show(); onchange(line, settled, cursor); };
  const change = (next) => { before.push(line); line = next; tell(); };
  const place = (event) => {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(node.getScreenCTM().inverse());
    return {x: Math.min(width_mm, Math.max(0, p.x)), y: Math.min(HIGH, Math.max(LOW, -p.y))};
  };
  const reach_mm = () => REACH_PX / node.getScreenCTM().a;
  const nearest = (p) => line.reduce((best, q, i) => {
    const away = Math.hypot(q.x - p.x, q.y - p.y);
    return away < best.away ? {away, i} : best;
  }, {away: reach_mm(), i: -1}).i;

  node.addEventListener('pointerdown', (event) => {
    if (event.button) return;
    node.setPointerCapture(event.pointerId);
    node.focus({preventScroll: true});
    const p = place(event), taken = nearest(p);
    before.push(line);
    held = {taken, start: p, stroke: undefined, line};
    event.preventDefault();
  });
  node.addEventListener('pointermove', (event) => {
    if (!held) return;
    const p = place(event);
    if (held.taken >= 0) {
      line = held.line.with(held.taken, p);
    } else {
      if (!held.stroke && Math.hypot(p.x - held.start.x, p.y - held.start.y) < reach_mm() / 3) return;
      held.stroke = [...(held.stroke ?? [held.start]), ...(event.getCoalescedEvents?.() ?? []).map(place), p];
      line = simplified(held.stroke, HAND_KEPT_MM);
    }
    tell(false);
  });
  node.addEventListener('pointerup', () => {
    if (!held) return;
    const {taken, stroke, start} = held;
    held = undefined;
    // A tap on the empty canvas adds a point to the nearer end.
    if (taken < 0 && !stroke) {
      const far = (p) => p ? Math.hypot(p.x - start.x, p.y - start.y) : 0;
      line = line.length > 1 && far(line[0]) < far(line.at(-1)) ? [start, ...line] : [...line, start];
    }
    tell();
  });
  node.addEventListener('pointercancel', () => {
    if (held) [line, held] = [held.line, undefined];
    tell();
  });

  const ways = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1]};
  node.addEventListener('keydown', (event) => {
    const way = ways[event.key];
    if (way) {
      const step = event.shiftKey ? LEAP_MM : STEP_MM;
      cursor = {x: Math.min(width_mm, Math.max(0, cursor.x + way[0] * step)),
                y: Math.min(HIGH, Math.max(LOW, cursor.y + way[1] * step))};
      tell(false);
    } else if (event.key === 'Enter' || event.key === ' ') change([...line, cursor]);
    else if (event.key === 'Backspace' || event.key === 'Delete') change(line.slice(0, -1));
    else if (event.key === 'z' && (event.ctrlKey || event.metaKey)) undo();
    else return;
    event.preventDefault();
  });
  const undo = () => {
    if (before.length) line = before.pop();
    tell();
  };
  show();
  return {
    node, undo, set: change,
    get points() { return line; },
    /** @param match  LipMatch of a hit, or nothing. */
    over(match) {
      const back = match?.shiftMm ?? {};
      const own = (p) => ({x: (p.x ?? 0) - (back.x ?? 0), y: (p.y ?? 0) - (back.y ?? 0)});
      const lip = (match?.foundMm ?? []).map(own), wanted = (match?.wantedMm ?? []).map(own);
      found.setAttribute('d', path(lip));
      gaps.setAttribute('d', lip.map((p, i) => path([p, wanted[i]])).join(''));
    },
  };
}
