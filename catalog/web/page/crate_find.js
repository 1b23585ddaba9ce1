// SPDX-License-Identifier: Apache-2.0
// Wishes as a setter says them, and the holds on the shelf that meet them.
import {address, get, holdPath} from './api.js';
import {held} from './crates.js';
import {h, notice} from './dom.js';
import {bare, degrees, unitWord} from './format.js';

const wishes = new Map();  // What was typed, by climb; kept while other parts are shown.

export function findPart({climb: first, path, change, canSet}) {
  let climb = first;
  const input = h('textarea', {id: 'wishes', rows: 3, autocomplete: 'off', placeholder: 'two incut crimps, one big-radius jug to finish, a spread of sizes'});
  input.value = wishes.get(first.id) ?? '';
  input.addEventListener('input', () => wishes.set(first.id, input.value));
  const answer = h('div', {'aria-live': 'polite'});
  const byId = h('input', {type: 'text', id: 'by-id', placeholder: 'H-0001', autocomplete: 'off', autocapitalize: 'characters'});

  const offer = (each, wish, chosen) => {
    const inside = held(climb).some((one) => one.hold === each.hold);
    return h('li', {class: 'offer', 'data-hold': each.hold},
      h('img', {src: address(holdPath(each.hold, '/thumbnail')), alt: '', width: 72, height: 72}),
      h('div', {}, h('strong', {}, each.name || each.hold), ` ${each.hold}${each.bin ? `, bin ${each.bin}` : ''}${chosen ? ', proposed' : ''}`,
        h('p', {class: 'soft'}, `${(each.reason ?? '').replace(/\.$/, '')}; turned ${degrees(each.rotationDeg ?? 0)}, ${bare(each.longestMm ?? 0)} ${unitWord()} long, stands out ${bare(each.protrusionMm ?? 0)} ${unitWord()}.`)),
      inside ? h('span', {class: 'soft'}, 'in the crate') : canSet && h('button', {class: 'act', type: 'button', 'aria-label': `Add ${each.hold}`,
        onclick: () => change({added: {hold: each.hold, wish: wish.text, foot: wish.grip === 'foot-only'}}, {done: `${each.hold} is in the crate.`})}, 'Add'));
  };
  let shown;
  const show = () => {
    if (!shown) return;
    answer.replaceChildren(
      h('p', {class: 'soft'}, `${shown.considered ?? 0} of that colour on the shelf${shown.taken ? `, ${shown.taken} more are with others` : ''}; judged at ${degrees(shown.wallAngleDeg ?? 0)} past vertical.`),
      ...(shown.wishes ?? []).map((each) => h('section', {class: 'panel'}, h('h2', {}, each.wish?.text ?? ''),
        each.shortfall && h('p', {class: 'miss'}, each.shortfall),
        h('ul', {class: 'plain-list'}, (each.chosen ?? []).map((one) => offer(one, each.wish, true)), (each.others ?? []).map((one) => offer(one, each.wish, false))))),
      ...(shown.cautions ?? []).map((text) => h('p', {class: 'soft'}, text)));
  };
  const ask = async () => {
    if (!input.value.trim()) return input.focus();
    answer.replaceChildren(h('p', {}, 'Looking through the shelf.'));
    try {
      shown = await get(`${path}/suggestions?wishes=${encodeURIComponent(input.value)}`);
      show();
    } catch (error) {
      shown = undefined;
      answer.replaceChildren(notice('Not understood', error.message));
    }
    return undefined;
  };
  const add = async () => {
    if (!byId.value.trim()) return byId.focus();
    if (await change({added: {hold: byId.value.trim().toUpperCase()}}, {done: `${byId.value.trim()} is in the crate.`})) byId.value = '';
    return undefined;
  };
  const node = h('div', {class: 'beside-wide'}, h('div', {},
    h('label', {class: 'field', for: 'wishes'}, h('span', {}, 'What you want tonight, wishes apart by commas'), input),
    h('p', {}, h('button', {class: 'act', type: 'button', onclick: ask}, 'Look on the shelf'))),
    answer,
    canSet && h('section', {class: 'panel'}, h('h2', {}, 'One that you have in your hand'),
      h('div', {class: 'beside'}, h('label', {class: 'field', for: 'by-id'}, h('span', {}, 'Its number'), byId),
        h('button', {class: 'act', type: 'button', onclick: add}, 'Add it'))));
  return {node, update: (next) => { climb = next; show(); }};
}
