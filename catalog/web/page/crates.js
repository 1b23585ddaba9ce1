// SPDX-License-Identifier: Apache-2.0
// Crates and climbs: those there are, and a new one.
import {get, listen, post} from './api.js';
import {BASIC, colourText, swatch} from './colour.js';
import {chips, h, notice, openSheet, say} from './dom.js';
import {may} from './format.js';

export const STATE = {PACKING: 'being packed', SETTING: 'being set', OPEN: 'open', STRIPPED: 'stripped'};

export const held = (climb) => (climb.holds ?? []).filter((each) => !each.gone);

/** One change in words. */
export function changeText(change) {
  if (change.started) return `started ${change.started.name}`;
  if (change.added) return `added ${change.added.hold} ${change.added.name ?? ''}`;
  if (change.dropped) return `put ${change.dropped} back`;
  if (change.swapped) return `swapped ${change.swapped.out} for ${change.swapped.in?.hold}`;
  if (change.placed) return `placed ${change.placed.hold}${change.placed.formerBolt ? `; its bolt ${change.placed.formerBolt} no longer counts` : ''}`;
  if (change.bolted) return `bolted ${change.bolted.hold} with ${change.bolted.bolt}`;
  if (change.usedAs) return `${change.usedAs.hold} is ${change.usedAs.foot ? 'a foothold only' : 'for hands'}`;
  if (change.noted) return `noted ${change.noted.hold ? `on ${change.noted.hold}: ` : ''}${change.noted.text}`;
  if (change.dismissed) return `set aside: ${change.dismissed.check} of ${change.dismissed.hold}, ${change.dismissed.reason}`;
  return change.opened ? 'opened the climb' : 'stripped the climb';
}

function climbCard(climb) {
  const holds = held(climb), placed = holds.filter((each) => each.placement).length;
  return h('li', {}, h('a', {class: 'card climb-card', href: `#/crate/${encodeURIComponent(climb.id)}`},
    h('div', {class: 'card-text'},
      h('div', {class: 'card-title'}, h('strong', {}, climb.name), h('span', {}, STATE[climb.state] ?? '')),
      h('div', {class: 'card-line'}, h('span', {}, climb.id), climb.colour && colourText(climb.colour)),
      h('p', {}, [climb.zone, climb.grade, climb.setter].filter(Boolean).join(', ')),
      h('p', {class: 'soft'}, `${holds.length} holds, ${placed} on the wall`))));
}

const field = (label, input) => h('label', {class: 'field'}, h('span', {}, label), input);

/** Asks for what a crate needs; goes to it when it is started. */
function startSheet(gym) {
  const colour = new Set(), zone = new Set((gym.zones ?? []).length === 1 ? [gym.zones[0].name] : []);
  const input = (id) => h('input', {id, type: 'text', autocomplete: 'off', maxlength: 200});
  const name = input('crate-name'), grade = input('crate-grade'), setter = input('crate-setter');
  const problem = h('p', {class: 'miss', role: 'alert'});
  const start = async () => {
    problem.textContent = '';
    if (!name.value.trim()) problem.textContent = 'Give the climb a name: yellow 12, for example.';
    else if (!zone.size) problem.textContent = 'Choose the zone that it goes to.';
    if (problem.textContent) return;
    try {
      const climb = await post('/climbs', {name: name.value.trim(), colour: [...colour][0] ?? '',
        zone: [...zone][0], grade: grade.value.trim(), setter: setter.value.trim()});
      sheet.close();
      location.hash = `#/crate/${climb.id}/find`;
    } catch (error) {
      problem.textContent = error.message;
    }
  };
  const {sheet} = openSheet('Start a crate', [
    field('What the climb is called', name),
    h('h3', {}, 'Zone'), chips('Zone', gym.zones.map((each) => [each.name, each.name]), zone, {onchange: () => {}}),
    h('h3', {}, 'Colour of its holds; none chosen: any'),
    chips('Colour', Object.keys(BASIC).map((each) => [each, each, swatch(each)]), colour, {onchange: () => {}}),
    h('div', {class: 'fields plain'}, field('Intended grade, as you write it', grade), field('Who sets it', setter)),
    problem, h('button', {class: 'act', type: 'button', onclick: start}, 'Start it')], 'Not now');
}

/** Shows the screen in `main`. */
export async function cratesScreen(main, {about, atEnd}) {
  document.title = 'Crates and climbs - Holdshelf';
  const list = h('ul', {class: 'cards'}), empty = h('div', {}), all = new Set();
  const gym = await get('/gym');
  const refresh = async () => {
    const climbs = (await get(`/climbs?stripped=${all.size > 0}`)).climbs ?? [];
    list.replaceChildren(...climbs.map(climbCard));
    empty.replaceChildren(...(climbs.length ? [] : [notice('No crate is being packed and no climb is up',
      'A crate is where a night of setting begins: a colour, a zone, and the holds you want tonight.')]));
  };
  const start = gym.zones?.length
    ? may(about, 'set') && h('button', {class: 'act', type: 'button', onclick: () => startSheet(gym)}, 'Start a crate')
    : notice('No walls are described yet', 'Suggestions, bolts and checks need the wall: its angle, thickness and T-nuts.',
             h('a', {class: 'act', href: '#/walls'}, 'Describe the walls'));
  main.replaceChildren(h('h1', {}, 'Crates and climbs'), h('div', {class: 'chips'}, start || null,
    gym.zones?.length && h('a', {class: 'act quiet', href: '#/walls'}, 'The walls')),
    empty, list, chips('Which', [['all', 'Stripped ones too']], all, {onchange: () => refresh().catch((e) => say(e.message))}));
  await refresh();
  atEnd(listen('library', () => refresh().catch(() => {})));
}
