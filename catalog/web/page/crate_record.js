// SPDX-License-Identifier: Apache-2.0
// Notes, the way to open and to strip a climb, and all that was done.
import {get} from './api.js';
import {placeText} from './crate_holds.js';
import {changeText} from './crates.js';
import {chips, h, notice, openSheet} from './dom.js';
import {time} from './format.js';

/** Where the holds would go, shown before anything is moved. */
function stripSheet({path, change}) {
  const to = new Set(['wash']), list = h('div', {'aria-live': 'polite'});
  const show = async () => {
    try {
      const plan = await get(`${path}/strip?to=${[...to][0] ?? 'wash'}`);
      list.replaceChildren(...(plan.bins ?? []).map((bin) => [h('h3', {}, bin.bin ? `Bin ${bin.bin}` : 'Without a bin'),
        h('ul', {}, (bin.lines ?? []).map((each) => h('li', {}, `${each.hold} ${each.name ?? ''}`, each.rescan && h('strong', {}, `: scan it anew, ${each.reason}`))))]).flat(),
        ...(plan.notHere ?? []).map((text) => h('p', {class: 'miss'}, text)));
    } catch (error) {
      list.replaceChildren(h('p', {}, error.message));
    }
  };
  const {sheet} = openSheet('Strip the climb', [chips('Its holds go to', [['wash', 'to the wash'], ['shelf', 'to the shelf']], to, {onchange: show}), list,
    h('button', {class: 'act', type: 'button', onclick: async () => {
      sheet.close();
      await change({stripped: true}, {to: [...to][0] ?? 'wash', done: 'Stripped. The record stays.'});
    }}, 'Strip it now')], 'Not now');
  show();
}

export function recordPart(context) {
  const {climb: first, path, change, canSet} = context;
  const text = h('textarea', {id: 'climb-note', rows: 3, maxlength: 1000}), lists = h('div', {class: 'columns'}), acts = h('div', {class: 'chips'});
  const write = async () => {
    if (!text.value.trim()) return text.focus();
    if (await change({noted: {text: text.value.trim()}}, {done: 'Noted.'})) text.value = '';
    return undefined;
  };
  const update = async (climb) => {
    acts.replaceChildren(...(!canSet || climb.state === 'STRIPPED' ? [] : [
      climb.state !== 'OPEN' && h('button', {class: 'act', type: 'button', onclick: () => change({opened: true}, {done: 'The climb is open.'})}, 'Open the climb'),
      h('button', {class: 'chip', type: 'button', onclick: () => stripSheet(context)}, 'Strip it')].filter(Boolean)));
    const events = (await get(`${path}/history`)).events ?? [];
    lists.replaceChildren(h('section', {class: 'panel'}, h('h2', {}, 'Notes'), climb.notes?.length
      ? h('ul', {}, climb.notes.map((note) => h('li', {}, `${time(note.at)}, ${note.who}${note.hold ? `, ${note.hold}` : ''}${note.placement ? ` at ${placeText(note.placement)}` : ''}: ${note.text}`)))
      : h('p', {class: 'soft'}, 'None yet.')),
      h('section', {class: 'panel'}, h('h2', {}, 'All that was done'), h('ol', {}, events.map((event) =>
        h('li', {}, `${time(event.at)}, ${event.who}: ${changeText(event.climb ?? {})}`)))));
  };
  const node = h('div', {}, first.state === 'STRIPPED' && notice('Stripped', 'The record stays as it is.'),
    canSet && h('section', {class: 'panel'}, h('label', {class: 'field', for: 'climb-note'}, h('span', {}, 'A note on the whole climb'), text),
      h('p', {}, h('button', {class: 'act', type: 'button', onclick: write}, 'Write it down'))), acts, lists);
  return {node, update};
}
