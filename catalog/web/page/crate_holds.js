// SPDX-License-Identifier: Apache-2.0
// The holds of a crate or climb, and what can be done with each.
import {address, get, holdPath} from './api.js';
import {held} from './crates.js';
import {chips, h, notice, openSheet} from './dom.js';
import {degrees} from './format.js';

const LIKES = [['lower', 'same lip, lower'], ['smaller', 'same feel, smaller'], ['harder', 'one notch harder'], ['foot', 'as a foothold']];

export const placeText = (placement) => !placement ? 'in the crate' : [
  placement.row ? `column ${placement.column}, row ${placement.row} of ${placement.panel}` : `${placement.note}, ${placement.panel}`,
  placement.rotationDeg ? `turned ${degrees(placement.rotationDeg)}` : ''].filter(Boolean).join(', ');

/** Offers to take instead of a hold, as a sheet. */
export function swapSheet({path, change}, hold, like = 'lower') {
  const chosen = new Set([like]), list = h('ul', {class: 'plain-list', 'aria-live': 'polite'});
  const offer = (each) => h('li', {class: 'offer'},
    h('img', {src: address(holdPath(each.hold, '/thumbnail')), alt: '', width: 72, height: 72}),
    h('div', {}, h('strong', {}, `${each.name || each.hold}`), ` ${each.hold}${each.bin ? `, bin ${each.bin}` : ''}, turned ${degrees(each.rotationDeg ?? 0)}`,
      h('p', {class: 'soft'}, (each.changes ?? []).join('; '))),
    h('button', {class: 'act', type: 'button', 'aria-label': `Take ${each.hold} instead of ${hold}`, onclick: async () => {
      sheet.close();
      await change({swapped: {out: hold, in: {hold: each.hold, placement: {rotationDeg: each.rotationDeg ?? 0}}}},
                   {done: `${each.hold} instead of ${hold}.`});
    }}, 'Take it'));
  const show = async () => {
    list.replaceChildren(h('li', {}, 'Looking through the shelf.'));
    try {
      const found = await get(`${path}/swaps?hold=${encodeURIComponent(hold)}&like=${[...chosen][0] ?? 'lower'}`);
      list.replaceChildren(...(found.offers?.length ? found.offers.map(offer) : [h('li', {}, found.explanation || 'None on the shelf.')]),
        ...(found.cautions ?? []).map((text) => h('li', {class: 'soft'}, text)));
    } catch (error) {
      list.replaceChildren(h('li', {}, error.message));
    }
  };
  const {sheet} = openSheet(`Instead of ${hold}`, [chips('What it should be like', LIKES, chosen, {onchange: show}), list], 'Keep it');
  show();
}

/** One line of text asked for in a sheet. */
export function askText(title, label, value, done, act) {
  const input = h('input', {type: 'text', value, maxlength: 1000, autocomplete: 'off'});
  const go = async () => {
    if (!input.value.trim()) return input.focus();
    sheet.close();
    await act(input.value.trim());
    return undefined;
  };
  input.addEventListener('keydown', (event) => event.key === 'Enter' && go());
  const {sheet} = openSheet(title, [h('label', {class: 'field'}, h('span', {}, label), input),
    h('p', {}, h('button', {class: 'act', type: 'button', onclick: go}, done))], 'Not now');
  input.focus();
}

function row(context, each, climb) {
  const {change, canSet, path} = context, id = each.hold;
  const button = (text, label, onclick) => h('button', {class: 'chip', type: 'button', 'aria-label': `${label} ${id}`, onclick}, text);
  const bolt = async () => {
    let advice = '';
    try {
      const picked = await get(`${path}/pick`);
      const line = (picked.bins ?? []).flatMap((bin) => bin.lines ?? []).find((each) => each.hold === id);
      // Not placed: nobody knows yet which of them it will be.
      if (!line?.boltDependsOnPanel) advice = line?.bolt ?? '';
    } catch { /* Without advice the field starts empty. */ }
    askText(`Bolt of ${id}`, 'As it is on the box, e.g. M10 × 55', each.bolt || advice, 'Record it',
            (text) => change({bolted: {hold: id, bolt: text}}, {done: `${id}: ${text}.`}));
  };
  return h('li', {class: 'crate-hold'},
    h('img', {src: address(holdPath(id, '/thumbnail')), alt: '', width: 88, height: 88}),
    h('div', {class: 'card-text'},
      h('div', {class: 'card-title'}, h('a', {class: 'name', href: `#/hold/${encodeURIComponent(id)}${each.placement ? `?at=${each.placement.rotationDeg ?? 0}&wall=${each.placement.wallAngleDeg ?? 0}` : ''}`}, `${each.name || id}`),
        h('span', {}, id)),
      h('p', {}, [each.foot ? 'foothold only' : each.wish, placeText(each.placement), each.bolt && `bolt ${each.bolt}`,
        each.formerBolt && `record its bolt anew: ${each.formerBolt} was for another panel`].filter(Boolean).join('; ')),
      canSet && h('div', {class: 'chips'},
        h('a', {class: 'chip', href: `#/crate/${climb.id}/wall?hold=${encodeURIComponent(id)}`, 'aria-label': `Place ${id}`}, each.placement ? 'Place anew' : 'Place'),
        button('Swap', 'Swap', () => swapSheet(context, id)),
        button('Bolt', 'Record the bolt of', bolt),
        button(each.foot ? 'For hands' : 'Foot only', 'Change the use of', () => change({usedAs: {hold: id, foot: !each.foot}})),
        button('Note', 'Note on', () => askText(`Note on ${id}`, 'What a test climb showed', '', 'Write it down',
          (text) => change({noted: {hold: id, text}}, {done: 'Noted.'}))),
        button('Drop', 'Drop', () => change({dropped: id}, {done: `${id} goes back on the shelf.`})))));
}

export function holdsPart(context) {
  const node = h('div', {});
  const update = (climb) => {
    const holds = held(climb);
    node.replaceChildren(holds.length ? h('ul', {class: 'plain-list two', 'aria-label': 'Holds'}, holds.map((each) => row(context, each, climb)))
      : notice('Nothing in it yet', 'Write what you want tonight, and the shelf is searched for it.',
               context.canSet && h('a', {class: 'act', href: `#/crate/${climb.id}/find`}, 'Find holds')));
  };
  return {node, update};
}
