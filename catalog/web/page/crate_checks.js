// SPDX-License-Identifier: Apache-2.0
// What to ask about a climb before it opens, with cures that were tried.
import {get} from './api.js';
import {askText} from './crate_holds.js';
import {held} from './crates.js';
import {h, notice} from './dom.js';
import {time} from './format.js';

const KINDS = {place: 'Not placed', bolt: 'No bolt recorded', scan: 'No scan', feet: 'Foothold too grabbable', 'top-out': 'Top-out', sharp: 'Sharp lip', worn: 'Worn'};
const title = (check) => check.kind === 'bolt' && (check.grade || 'not recorded') !== 'not recorded' ? `Bolt ${check.grade}` : KINDS[check.kind] ?? check.kind;

export function checksPart({path, change, canSet}) {
  const node = h('div', {'aria-busy': 'true'});
  let climb;
  const cure = (check, each) => h('li', {}, h('button', {class: 'act', type: 'button', disabled: !canSet, onclick: () => {
    if (each.swap) return change({swapped: {out: check.hold, in: {hold: each.swap, placement: {rotationDeg: each.rotationDeg ?? 0}}}}, {done: each.text});
    const now = held(climb).find((one) => one.hold === check.hold)?.placement ?? {};
    return change({placed: {hold: check.hold, placement: {...now, rotationDeg: each.rotationDeg ?? 0}}}, {done: each.text});
  }}, each.swap ? `Swap for ${each.swap}` : `Turn to ${Math.round(each.rotationDeg ?? 0)}°`), h('p', {class: 'soft'}, each.text));
  const item = (check) => h('li', {class: 'panel'}, h('h2', {}, `${title(check)}: ${check.name || check.hold}`),
    h('p', {}, check.reason), check.dismissed
      ? h('p', {class: 'soft'}, `Set aside by ${check.dismissed.who}, ${time(check.dismissed.at)}: ${check.dismissed.reason}`)
      : [check.reopened && h('p', {class: 'soft'}, `Open again: ${check.reopened.who} set it aside (${check.reopened.reason}) when it was: ${check.reopened.found}`), h('ul', {class: 'plain-list'}, (check.cures ?? []).map((each) => cure(check, each))),
         canSet && h('button', {class: 'chip', type: 'button', 'aria-label': `Set aside: ${title(check)} of ${check.hold}`,
           onclick: () => askText('Set this check aside', 'Why it is all right; the reason stays with the climb', '', 'Set it aside',
             (reason) => change({dismissed: {check: check.kind, hold: check.hold, reason}}, {done: 'Set aside.'}))}, 'Set aside')]);
  const update = async (next) => {
    climb = next;
    const found = await get(`${path}/checks`), checks = found.checks ?? [];
    node.replaceChildren(h('p', {role: 'status'}, found.open ? `${found.open} to look at` : 'Nothing open'),
      checks.length ? h('ul', {class: 'plain-list two'}, checks.map(item)) : notice('Nothing to ask about', 'No check found anything. That is arithmetic on shapes, not a test climb.'),
      ...(found.cautions ?? []).map((text) => h('p', {class: 'soft'}, text)));
    node.removeAttribute('aria-busy');
  };
  return {node, update};
}
