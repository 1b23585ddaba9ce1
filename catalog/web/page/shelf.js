// SPDX-License-Identifier: Apache-2.0
// Shelf: the library as pictures, and filters that a thumb reaches.
import {address, get, holdPath, listen, post} from './api.js';
import {BASIC, colourText, swatch} from './colour.js';
import {chips, h, notice, openSheet} from './dom.js';
import {bare, degrees, rangeText, STATUS, unitWord} from './format.js';

const PAGE = 48;
const GRIPS = ['jug', 'edge', 'crimp', 'pocket', 'sloper', 'pinch', 'foot-only'];

// Steps offered to a thumb; any other range can be typed in the search line. Judgements.
const NUMBERS = [
  {number: 'edge-depth', label: 'Edge depth', unit: 'mm',
   steps: [[, 8], [8, 14], [14, 20], [20, 30], [30, ]]},
  {number: 'lip-radius', label: 'Lip radius', unit: 'mm', steps: [[, 3], [3, 8], [8, 15], [15, ]]},
  {number: 'incut', label: 'Incut', unit: '°', steps: [[, -10], [-10, 3], [3, 12], [12, ]]},
  {number: 'protrusion', label: 'Protrusion', unit: 'mm',
   steps: [[, 20], [20, 40], [40, 70], [70, ]]},
  {number: 'fingers', label: 'Fingers on the edge', unit: '',
   steps: [[1, 1], [2, 2], [3, 3], [4, ]]},
];

// Kept while other screens are shown, so that the way back leads to the same place.
const state = {text: '', colours: new Set(), words: new Set(), statuses: new Set(),
               steps: Object.fromEntries(NUMBERS.map((n) => [n.number, new Set()])), sort: 'id'};

function queryOf(limit) {
  const ranges = NUMBERS.flatMap(({number, steps}) => [...state.steps[number]].map((index) => {
    const [from, to] = steps[index];
    return {number, ...(from !== undefined && {from}), ...(to !== undefined && {to})};
  }));
  return {ranges, colours: [...state.colours], words: [...state.words], statuses: [...state.statuses], sort: state.sort, limit};
}

function numberOf(hit, name) {
  const found = hit.numbers?.find((n) => n.number === name);
  return found && (found.value ?? 0);
}

/** The few numbers that matter, of the edge that answered. */
function essentials(hit) {
  const parts = [];
  const add = (label, name, shown) => {
    const value = numberOf(hit, name);
    if (value !== undefined)
      parts.push(h('div', {}, h('dt', {}, label), h('dd', {}, shown(value))));
  };
  add('deep', 'edge-depth', bare);
  add('lip', 'lip-radius', bare);
  add('incut', 'incut', degrees);
  add('wide', 'edge-width', bare);
  add('out', 'protrusion', bare);
  return h('dl', {class: 'essentials'}, parts);
}

function card(hit) {
  const where = hit.status === 'SHELF' || !hit.status
    ? (hit.bin ? `bin ${hit.bin}` : 'on the shelf') : STATUS[hit.status];
  return h('li', {}, h('a', {class: 'card', href: `#/hold/${encodeURIComponent(hit.id)}`},
    h('img', {src: address(holdPath(hit.id, '/thumbnail')), alt: '', loading: 'lazy',
              width: 240, height: 180}),
    h('div', {class: 'card-text'},
      h('div', {class: 'card-title'}, h('strong', {}, hit.name || hit.id), h('span', {}, where)),
      h('div', {class: 'card-line'}, hit.name && h('span', {}, hit.id), colourText(hit.colour)),
      h('div', {class: 'words'}, (hit.words ?? []).map((word) => h('span', {}, word))),
      essentials(hit),
      hit.excludedBy?.length && h('p', {class: 'miss'}, hit.excludedBy.join('; ')))));
}

/** Asks with the search line: part of a name where one has it, else a question in words. */
async function ask(query, signal) {
  const line = state.text.trim();
  const named = await post('/find', {...query, text: line}, signal);
  if (!line || Number(named.matched ?? 0)) return {result: named};
  const asked = await post(`/find?draft=true&line=${encodeURIComponent(line)}`, query, signal);
  // A line that is no question (yet) searches nothing.
  return Number(asked.searched ?? 0) ? {result: asked} : {result: named, hint: asked.explanation};
}

function clearFilters() {
  for (const set of [state.colours, state.words, state.statuses, ...Object.values(state.steps)])
    set.clear();
  state.text = '';
}

/** What a dock button shows: its own name, or what was chosen. */
const dockText = (label, chosen) => chosen.length ? chosen.join(', ') : label;

function dockButtons(openFilters) {
  const numbers = NUMBERS.flatMap(({number, steps, unit, label}) =>
    [...state.steps[number]].map((i) => `${label.toLowerCase()} ${rangeText(...steps[i], unit)}`));
  const groups = [
    ['Colour', [...state.colours], 'colour'], ['Grip', [...state.words], 'grip'],
    ['Numbers', numbers, 'numbers'],
    ['Where', [...state.statuses].map((status) => STATUS[status]), 'where'],
  ];
  return groups.map(([label, chosen, what]) => h('button', {
    class: 'chip dock-chip', type: 'button', 'aria-pressed': String(chosen.length > 0),
    'aria-label': `${label}: ${chosen.join(', ') || 'any'}`, onclick: () => openFilters(what),
  }, chosen.length && what === 'colour' ? chosen.map(swatch) : null, dockText(label, chosen)));
}

function filterContent(what, onchange) {
  if (what === 'colour')
    return chips('Colour', Object.keys(BASIC).map((name) => [name, name, swatch(name)]),
                 state.colours, {several: true, onchange});
  if (what === 'grip')
    return chips('Grip', GRIPS.map((word) => [word, word]), state.words, {several: true, onchange});
  if (what === 'where')
    return chips('Where', Object.entries(STATUS), state.statuses, {several: true, onchange});
  return NUMBERS.map(({number, label, unit, steps}) => [h('h3', {}, label), chips(label,
    steps.map((step, i) => [i, step[0] === step[1] ? String(step[0])
                                                   : rangeText(...step, unit)]),
    state.steps[number], {onchange})]);
}

const SORTS = [['id', 'By id'], ['name', 'Name'], ['-edge-depth', 'Deepest edge'],
               ['lip-radius', 'Sharpest lip'], ['-incut', 'Most incut'],
               ['protrusion', 'Lowest'], ['-protrusion', 'Stands out most']];

/** Shows the screen in `main`. */
export async function shelfScreen(main, {about, query, atEnd}) {
  document.title = 'Shelf - Holdshelf';
  if (query.get('bin')) state.text = `bin ${query.get('bin')}`;  // A bin's label leads here.
  const count = h('p', {class: 'count', role: 'status'});
  const list = h('ul', {class: 'cards'});
  const more = h('button', {class: 'act quiet', type: 'button', hidden: true}, 'Show more');
  const explanation = h('div', {});
  const dock = h('div', {class: 'dock', role: 'group', 'aria-label': 'Filters'});
  let limit = PAGE, asking;

  const refresh = async () => {
    asking?.abort();
    asking = new AbortController();
    dock.replaceChildren(...dockButtons(openFilters));
    try {
      const {result, hint} = await ask(queryOf(limit), asking.signal);
      showResult(result, hint);
      return Number(result.matched ?? 0);
    } catch (error) {
      if (error.name === 'AbortError') return undefined;
      list.replaceChildren();
      explanation.replaceChildren(notice('That did not work', error.message));
      return undefined;
    }
  };

  const showResult = (result, hint) => {
    const matched = Number(result.matched ?? 0), searched = Number(result.searched ?? 0);
    count.textContent = matched === searched ? (searched === 1 ? '1 hold' : `${searched} holds`) : `${matched} of ${searched} holds`;
    count.textContent += `, lengths in ${unitWord()}`;
    explanation.replaceChildren();
    if (searched === 0) {
      explanation.append(notice('The shelf is empty',
        'Photograph a hold on the mat, then choose “Take in” below. It appears here by itself.'));
    } else if (matched === 0) {
      explanation.append(notice('None is like that', hint || result.explanation || '', h('button', {
        class: 'act', type: 'button',
        onclick: () => { clearFilters(); search.value = ''; refresh(); }}, 'Clear the filters')),
        h('h2', {class: 'nearest'}, 'Nearest'));
    }
    list.replaceChildren(...(matched ? result.hits : result.nearestMisses ?? []).map(card));
    more.hidden = matched <= (result.hits?.length ?? 0);
  };

  const openFilters = (what) => {
    const titles = {colour: 'Colour', grip: 'Good for', numbers: 'Numbers', where: 'Where it is'};
    const sheet = openSheet(titles[what], filterContent(what, async () => {
      const matched = await refresh();
      if (matched !== undefined) sheet.close.textContent = `Show ${matched} holds`;
    }), 'Done');
  };

  const search = h('input', {type: 'search', id: 'search', placeholder: 'Name, or: red edge over 14 mm',
                             value: state.text, autocomplete: 'off', enterkeyhint: 'search',
                             'aria-label': 'Search: a name, or a line such as red edge over 14 mm deep'});
  search.addEventListener('input', () => { state.text = search.value; limit = PAGE; refresh(); });
  const sort = h('select', {'aria-label': 'Order', onchange: () => { state.sort = sort.value; refresh(); }},
    SORTS.map(([value, label]) => h('option', {value, selected: value === state.sort}, label)));
  more.addEventListener('click', () => { limit += PAGE; refresh(); });

  main.replaceChildren(
    h('div', {class: 'shelf-head'}, h('h1', {}, about.library === 'library' ? 'Shelf'
                                                                           : `Shelf: ${about.library}`),
      sort, search),
    count, explanation, list, more, dock);
  await refresh();
  atEnd(listen('library', refresh));
  atEnd(() => asking?.abort());
}
