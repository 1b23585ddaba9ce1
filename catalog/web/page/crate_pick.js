// SPDX-License-Identifier: Apache-2.0
// What to fetch, by bin in walking order, with the bolts to bring.
import {address, get} from './api.js';
import {colourText} from './colour.js';
import {h, notice} from './dom.js';

const fetched = new Map();  // Ticked on this device only, by climb.

function line(each, ticked) {
  const box = h('input', {type: 'checkbox', checked: ticked.has(each.hold),
                          onchange: () => (box.checked ? ticked.add(each.hold) : ticked.delete(each.hold))});
  return h('li', {}, h('label', {class: 'tick'}, box, h('span', {}, h('strong', {}, `${each.hold} ${each.name ?? ''}`),
    h('span', {class: 'soft'}, [each.foot ? 'foothold only' : each.wish, each.count > 1 && `${each.count} pieces in the lot`].filter(Boolean).join(', '), ' '),
    colourText(each.colour), h('span', {class: 'bolt'}, each.bolt || 'no bolt: see below'))));
}

export function pickPart({climb: first, path}) {
  const node = h('div', {});
  if (!fetched.has(first.id)) fetched.set(first.id, new Set());
  const ticked = fetched.get(first.id);
  const update = async () => {
    const list = await get(`${path}/pick`), bag = list.bolts ?? {};
    const warnings = (bag.bolts ?? []).flatMap((each) => [...(each.warnings ?? []), ...(each.notes ?? [])].map((text) => `${each.hold}: ${text}`));
    if (!list.bins?.length) {
      node.replaceChildren(notice('Nothing to fetch', 'The list is made of what is in the crate.'));
      return;
    }
    node.replaceChildren(h('div', {class: 'columns'},
      h('div', {class: 'chips across'}, [['A4', 'To print, A4'], ['pocket', 'To print, for the pocket']].map(([paper, text]) =>
        h('a', {class: 'chip', target: '_blank', rel: 'noopener', href: address(`${path}/pick.pdf?paper=${paper}`)}, text))),
      list.bins.map((bin) => h('section', {class: 'panel'}, h('h2', {}, bin.bin ? `Bin ${bin.bin}` : 'Without a bin'),
        h('ul', {class: 'plain-list'}, (bin.lines ?? []).map((each) => line(each, ticked))))),
      h('section', {class: 'panel'}, h('h2', {}, 'Bolts to bring'),
        h('ul', {}, (bag.bag ?? []).map((each) => h('li', {}, `${each.count} × ${each.label}`))),
        ...(bag.warnings ?? []).map((text) => h('p', {class: 'miss'}, text)), ...warnings.map((text) => h('p', {class: 'miss'}, text)),
        ...(bag.cautions ?? []).map((text) => h('p', {class: 'soft'}, text)))));
  };
  return {node, update};
}
