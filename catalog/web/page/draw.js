// SPDX-License-Identifier: Apache-2.0
// Draw a lip: the section wanted, drawn by hand, and the holds that have it while it is drawn.
import {address, get, holdPath, listen, post} from './api.js';
import {colourText} from './colour.js';
import {h, s, say} from './dom.js';
import {bare, degrees, gap, settings, STATUS, unitWord} from './format.js';
import {lipCanvas} from './lip_canvas.js';
import {lengthOf, parsePoints, sectionOfNumbers} from './section_drawing.js';

const HITS = 24;
const WAIT_MS = 40;  // While the finger moves: a question for every few steps of it.

// Kept while other screens are shown.
const state = {points: undefined, line: '', within: 0, numbers: {radius_mm: 6, incut_deg: 8, depth_mm: 18}};

/** Both lips, one laid on the other, to their own scale. */
function overlayPicture(match) {
  const found = match.foundMm.map((p) => [p.x ?? 0, -(p.y ?? 0)]);
  const wanted = match.wantedMm.map((p) => [p.x ?? 0, -(p.y ?? 0)]);
  const all = [...found, ...wanted], xs = all.map((p) => p[0]), ys = all.map((p) => p[1]);
  const left = Math.min(...xs) - 2, top = Math.min(...ys) - 2;
  const path = (points) => 'M' + points.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join('L');
  return s('svg', {class: 'lip-overlay', 'aria-hidden': 'true',
                   viewBox: `${left} ${top} ${Math.max(...xs) + 2 - left} ${Math.max(...ys) + 2 - top}`},
    s('path', {class: 'gap', d: found.map((p, i) => path([p, wanted[i]])).join('')}),
    s('path', {class: 'found', d: path(found)}), s('path', {class: 'drawn', d: path(wanted)}));
}

function hitCard(hit, chosen, choose) {
  const {lip} = hit, rotation = Math.round((hit.rotationDeg ?? 0) / 5) * 5 % 360;
  const where = hit.status === 'SHELF' || !hit.status ? (hit.bin ? `bin ${hit.bin}` : 'on the shelf') : STATUS[hit.status];
  const run = (lip?.toDeg ?? 0) - (lip?.fromDeg ?? 0);
  return h('li', {class: 'lip-hit', 'aria-current': chosen ? 'true' : undefined},
    h('button', {type: 'button', class: 'lip-show', onclick: choose,
                 'aria-label': `Lay the lip of ${hit.name || hit.id} on the drawing`},
      lip?.foundMm ? overlayPicture(lip) : null),
    h('div', {}, h('div', {class: 'card-title'}, h('strong', {}, hit.name || hit.id), h('span', {}, where)),
      h('p', {class: 'gap-words'}, lip?.gapMm === undefined && !lip ? 'no lip' :
        `${gap(lip.gapMm ?? 0)} apart, nearly all within ${gap(lip.gap95Mm ?? 0)}`),
      h('p', {class: 'card-line'}, h('span', {}, run > 0
        ? `turned ${degrees(lip.fromDeg ?? 0)} to ${degrees((lip.toDeg ?? 0) % 360)}` : `turned ${degrees(rotation)}`),
        colourText(hit.colour)),
      hit.excludedBy?.length && h('p', {class: 'miss'}, hit.excludedBy.join('; ')),
      h('a', {class: 'act quiet', href: `#/hold/${encodeURIComponent(hit.id)}?at=${rotation}`}, `Open ${hit.id}`)),
    h('img', {src: address(holdPath(hit.id, '/thumbnail')), alt: '', width: 96, height: 96, loading: 'lazy'}));
}

/** A number with its label, to start a drawing from. */
function numberField(key, label, unit, least, most, oninput) {
  const scale = unit === 'mm' && settings.inch ? 25.4 : 1;
  const shown = unit === 'mm' ? unitWord() : unit;
  return h('label', {class: 'field'}, h('span', {}, `${label}, ${shown}`), h('input', {
    type: 'number', inputmode: 'decimal', min: least / scale, max: most / scale, step: scale === 1 ? 0.5 : 'any',
    value: scale === 1 ? state.numbers[key] : (state.numbers[key] / scale).toFixed(2),
    oninput: (event) => {
      const value = event.target.valueAsNumber * scale;
      if (!(value >= least && value <= most)) return;
      state.numbers[key] = value;
      oninput();
    }}));
}

/** The points as text, kept in step with the drawing. */
function typedPoints(canvas) {
  const scale = settings.inch ? 25.4 : 1, digits = settings.inch ? 3 : 1;
  const problem = h('p', {class: 'miss', role: 'status'});
  const area = h('textarea', {rows: 8, spellcheck: 'false', id: 'typed', 'aria-describedby': 'typed-help'});
  area.addEventListener('input', () => {
    const read = parsePoints(area.value, scale);
    problem.textContent = read.problem;
    if (!read.problem) canvas().set(read.points);
  });
  const update = (points) => {
    if (document.activeElement === area) return;
    problem.textContent = '';
    area.value = points.map((p) => `${(p.x / scale).toFixed(digits)} ${(p.y / scale).toFixed(digits)}`).join('\n');
  };
  const node = h('details', {class: 'typed'}, h('summary', {}, 'Type points'),
    h('p', {class: 'soft', id: 'typed-help'}, `One a line, from the face over the lip to the root: ${unitWord()} out from the wall, ${unitWord()} up.`),
    h('label', {for: 'typed', class: 'unseen'}, 'Points'), area, problem);
  return {node, update};
}

/** The lip of a hold as a drawing, from its section at a rotation: what lies about its lip. */
async function lipOfHold(id, rotation) {
  const shape = await get(holdPath(id, `/section?rotation=${rotation}`));
  const grip = shape.grips?.[0], points = shape.sections[0].pointsMm.map((p) => ({x: p.y ?? 0, y: p.x ?? 0}));
  if (!grip) return points;
  const lip = {x: grip.lipZMm ?? 0, y: grip.lipHeightMm ?? 0};
  const near = points.filter((p) => Math.hypot(p.x - lip.x, p.y - lip.y) < 26);
  return near.map((p) => ({x: p.x, y: p.y - lip.y}));
}

/** Shows the screen in `main`. */
export async function drawScreen(main, {query, atEnd}) {
  document.title = 'Draw a lip - Holdshelf';
  let asking, waiting, asked = 0, chosen = 0, hits = [];
  const status = h('p', {class: 'count', role: 'status'});
  const list = h('ul', {class: 'lip-hits', 'aria-label': 'Holds with that lip, nearest first'});
  const at = h('p', {class: 'soft', id: 'canvas-at', role: 'status'});

  const choose = (i) => { chosen = i; showHits(); };
  const showHits = () => {
    canvas.over(hits[chosen]?.lip);
    list.replaceChildren(...hits.map((hit, i) => hitCard(hit, i === chosen, () => choose(i))));
  };
  const ask = async () => {
    const points = canvas.points;
    const drawing = points.map((p) => `${p.x.toFixed(1)} ${p.y.toFixed(1)}`).join('\n');
    asking?.abort();
    if (lengthOf(points) < 8) {
      hits = [];
      showHits();
      status.textContent = points.length ? `Draw on: a lip is at least ${gap(8)} long.`
        : 'Draw from the face over the lip to the root.';
      Object.assign(list.dataset, {answered: String(++asked), drawing});
      return;
    }
    asking = new AbortController();
    try {
      const result = await post(`/find?draft=true&line=${encodeURIComponent(state.line.trim())}`,
        {lip: {pointsMm: points, withinMm: state.within}, limit: HITS}, asking.signal);
      const matched = Number(result.matched ?? 0);
      hits = matched ? result.hits : result.nearestMisses ?? [];
      chosen = 0;
      status.textContent = matched ? `${matched} with such a lip, nearest first` : result.explanation ?? '';
      showHits();
      Object.assign(list.dataset, {answered: String(++asked), drawing, shownAt: performance.now().toFixed(1)});
    } catch (error) {
      if (error.name !== 'AbortError') status.textContent = error.message;
    }
  };
  const soon = () => {
    if (waiting) return;  // The newest drawing is asked about when the time is up.
    waiting = setTimeout(() => { waiting = 0; ask(); }, WAIT_MS);
  };
  const canvas = lipCanvas({points: state.points ?? sectionOfNumbers(state.numbers), onchange: (points, settled, cursor) => {
    state.points = points;
    typed.update(points);
    at.textContent = `Cursor ${bare(cursor.x)} out, ${bare(cursor.y)} up, ${unitWord()}. Points: ${points.length}.`;
    soon();
  }});
  const typed = typedPoints(() => canvas);
  const fromNumbers = () => canvas.set(sectionOfNumbers(state.numbers));
  const line = h('input', {type: 'search', value: state.line, placeholder: 'red, protrusion under 30',
    id: 'lip-line', autocomplete: 'off', oninput: () => { state.line = line.value; soon(); }});
  const within = h('select', {id: 'lip-within', onchange: () => { state.within = Number(within.value); soon(); }},
    [0, 0.5, 1, 2].map((mm) => h('option', {value: mm, selected: mm === state.within}, mm ? `within ${gap(mm)}` : 'any distance')));
  const like = query.get('like');
  const tools = h('div', {class: 'chips'},
    h('button', {class: 'chip', type: 'button', onclick: () => canvas.undo()}, 'Undo'),
    h('button', {class: 'chip', type: 'button', onclick: () => { canvas.set([]); say('The canvas is empty.'); }}, 'Clear'));

  main.replaceChildren(h('h1', {}, 'Draw a lip'), h('div', {class: 'draw'},
    h('section', {'aria-label': 'Drawing'}, canvas.node,
      h('div', {class: 'draw-tools'}, tools,
        h('p', {class: 'legend'}, h('span', {class: 'key drawn'}, 'drawn'), h('span', {class: 'key found'}, 'the hold chosen'))),
      at,
      h('div', {class: 'draw-more'}, h('details', {class: 'numbers-first'}, h('summary', {}, 'From numbers'), h('div', {class: 'fields'},
        numberField('radius_mm', 'Lip radius', 'mm', 0.5, 60, fromNumbers),
        numberField('incut_deg', 'Incut', '°', -60, 45, fromNumbers),
        numberField('depth_mm', 'Edge depth', 'mm', 3, 50, fromNumbers))), typed.node,
      h('details', {}, h('summary', {}, 'How to draw'), h('p', {id: 'canvas-help'}, `With a finger, from the face over the lip to the root. Tap to add a point, drag a point to move it. Keys: arrows move the cursor by 1 mm (with Shift 5 mm), Enter adds a point, Backspace takes the last one away.`)))),
    h('section', {'aria-label': 'Holds'},
      h('div', {class: 'lip-filter'}, h('label', {for: 'lip-line'}, 'Only those that are'), line,
        h('label', {for: 'lip-within', class: 'unseen'}, 'How near'), within), status, list)));
  atEnd(() => { asking?.abort(); clearTimeout(waiting); });
  atEnd(listen('library', soon));
  if (like) canvas.set(await lipOfHold(like, Number(query.get('at') ?? 0)));
  typed.update(canvas.points);
  state.points = canvas.points;
  await ask();
}
