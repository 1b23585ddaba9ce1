// SPDX-License-Identifier: Apache-2.0
// The walls as they are described for this library: zones, panels, T-nuts, top edges.
import {get, post} from './api.js';
import {h, notice, say} from './dom.js';
import {lean, length, may} from './format.js';

const THREADS = {M10: 'M10', INCH_3_8_16: '3/8-16'};
const freshPanel = (n) => ({name: `panel ${n}`, wallAngleDeg: 0, columns: 10, rows: 12, pitchMm: 200,
                            fixing: {thread: 'M10', panelMm: 18, barrelMm: 11, flangeMm: 1.5}, features: []});

const field = (label, input) => h('label', {class: 'field'}, h('span', {}, label), input);
const number = (object, key, label, least, most, step = 'any') => field(label, h('input', {type: 'number', inputmode: 'decimal', min: least, max: most, step,
  value: object[key] ?? 0, onchange: (event) => { object[key] = event.target.valueAsNumber || 0; }}));
const text = (object, key, label) => field(label, h('input', {type: 'text', value: object[key] ?? '', maxlength: 100, autocomplete: 'off',
  onchange: (event) => { object[key] = event.target.value.trim(); }}));

/** A top edge or an arete of a panel. */
function featureFields(panel, feature, show) {
  const kind = h('select', {onchange: () => { feature.kind = kind.value; show(); }},
    [['TOP_EDGE', 'top edge'], ['ARETE', 'arete']].map(([value, label]) => h('option', {value, selected: feature.kind === value}, label)));
  return h('div', {class: 'fields plain'}, field('What', kind), text(feature, 'name', 'Called'),
    number(feature, 'atMm', feature.kind === 'ARETE' ? 'mm to the right of column 1' : 'mm above the lowest row', -20000, 20000),
    h('button', {class: 'chip', type: 'button', onclick: () => { panel.features = panel.features.filter((each) => each !== feature); show(); }}, 'Take out'));
}

function panelFields(zone, panel, show) {
  panel.fixing ??= {};
  panel.features ??= [];
  const thread = h('select', {onchange: () => { panel.fixing.thread = thread.value; }},
    Object.entries(THREADS).map(([value, label]) => h('option', {value, selected: panel.fixing.thread === value}, label)));
  return h('fieldset', {class: 'panel-fields'}, h('legend', {}, `Panel ${panel.name}`), h('div', {class: 'fields plain'},
    text(panel, 'name', 'Called'), number(panel, 'wallAngleDeg', '° past vertical; slab below 0', -30, 90), number(panel, 'columns', 'T-nut columns', 1, 500, 1),
    number(panel, 'rows', 'T-nut rows', 1, 500, 1), number(panel, 'pitchMm', 'mm between T-nuts', 20, 2000), field('Thread', thread),
    number(panel.fixing, 'panelMm', 'Panel thickness, mm', 3, 100), number(panel.fixing, 'barrelMm', 'T-nut barrel, mm', 3, 100),
    number(panel.fixing, 'flangeMm', 'T-nut flange, mm', 0, 20)),
    panel.features.map((feature) => featureFields(panel, feature, show)),
    h('div', {class: 'chips'}, h('button', {class: 'chip', type: 'button', onclick: () => { panel.features.push({kind: 'TOP_EDGE', name: 'top', atMm: (panel.rows ?? 1) * (panel.pitchMm ?? 200)}); show(); }}, 'A top edge or arete'),
      h('button', {class: 'chip', type: 'button', onclick: () => { zone.panels = zone.panels.filter((each) => each !== panel); show(); }}, 'Take this panel out')));
}

const shown = (gym) => (gym.zones ?? []).map((zone) => h('section', {class: 'panel'}, h('h2', {}, zone.name), h('ul', {}, zone.panels.map((panel) =>
  h('li', {}, `${panel.name}: ${lean(panel.wallAngleDeg ?? 0)}, ${panel.columns} by ${panel.rows} T-nuts, ${THREADS[panel.fixing?.thread] ?? ''}, ${length({value: panel.fixing?.panelMm ?? 0})} thick`,
    (panel.features ?? []).map((each) => `, ${each.name || 'top edge'}`))))));

/** Shows the screen in `main`. */
export async function wallsScreen(main, {about}) {
  document.title = 'Walls - Holdshelf';
  const gym = await get('/gym'), node = h('div', {}), problem = h('p', {class: 'miss', role: 'alert'});
  gym.zones ??= [];
  gym.bins ??= [];
  const save = async () => {
    problem.textContent = '';
    try {
      await post('/gym', gym);
      say('The walls are stored.');
    } catch (error) {
      problem.textContent = error.message;
    }
  };
  const bins = h('input', {type: 'text', value: gym.bins.join(', '), autocomplete: 'off', onchange: () => {
    gym.bins = bins.value.split(',').map((each) => each.trim()).filter(Boolean);
  }});
  const edit = () => node.replaceChildren(text(gym, 'name', 'The gym is called'), field('Bins in walking order, apart by commas', bins),
    h('div', {class: 'zones'}, gym.zones.map((zone) => h('section', {class: 'panel'}, text(zone, 'name', 'Zone'), zone.panels.map((panel) => panelFields(zone, panel, edit)),
      h('div', {class: 'chips'}, h('button', {class: 'chip', type: 'button', onclick: () => { zone.panels.push(freshPanel(zone.panels.length + 1)); edit(); }}, 'One panel more'),
        h('button', {class: 'chip', type: 'button', onclick: () => { gym.zones = gym.zones.filter((each) => each !== zone); edit(); }}, 'Take this zone out'))))),
    h('div', {class: 'chips'}, h('button', {class: 'chip', type: 'button', onclick: () => { gym.zones.push({name: `zone ${gym.zones.length + 1}`, panels: [freshPanel(1)]}); edit(); }}, 'One zone more')),
    problem, h('button', {class: 'act', type: 'button', onclick: save}, 'Store the walls'));
  if (may(about, 'head')) edit();
  else node.replaceChildren(...(gym.zones.length ? shown(gym) : [notice('No walls are described yet', 'The head setter describes them.')]));
  main.replaceChildren(h('header', {class: 'hold-head'}, h('a', {href: '#/crates', class: 'act quiet'}, 'Crates'), h('h1', {}, 'The walls')),
    h('p', {class: 'soft'}, 'Suggestions, bolts and checks are judged with these numbers. Bolts and inserts follow their makers\' instructions and qualified people.'), node);
}
