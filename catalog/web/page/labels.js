// SPDX-License-Identifier: Apache-2.0
// Labels: which holds or bins, on which sheet; the server makes the PDF.
import {address, get} from './api.js';
import {chips, h} from './dom.js';

const size = (sheet) => `${sheet.widthMm} × ${sheet.heightMm} mm, ${sheet.labels === 1 ? 'label printer' : `${sheet.labels} on A4`}`;
const field = (id, label, input) => h('div', {class: 'field'}, h('label', {for: id}, label), input);

/** Shows the screen in `main`; the address may name holds: "#/labels?holds=H-0001". */
export async function labelsScreen(main, {query, about}) {
  document.title = 'Labels - Holdshelf';
  const {sheets = [], addresses = []} = await get('/label-options');
  const holds = h('input', {id: 'holds', value: query.get('holds') ?? '', placeholder: 'H-0001, H-0002', autocomplete: 'off'});
  const bin = h('input', {id: 'bin', placeholder: 'A1', autocomplete: 'off'});
  const sheet = h('select', {id: 'sheet'}, sheets.map((one) => h('option', {value: one.name}, size(one))));
  const skip = h('input', {id: 'skip', type: 'number', min: 0, max: 64, value: 0, inputmode: 'numeric'});
  const leads = h('select', {id: 'leads'}, addresses.map((one) => h('option', {value: one}, one)));
  const what = new Set([query.get('holds') ? 'some' : 'all']);
  const holdsField = field('holds', 'Ids, with commas', holds), binField = field('bin', 'Bin', bin);
  const skipField = field('skip', 'Labels used up on the first sheet', skip);
  const link = h('a', {class: 'act', target: '_blank', rel: 'noopener'}, 'Make the PDF');
  const show = () => {
    const [chosen] = what;
    holdsField.hidden = chosen !== 'some';
    binField.hidden = chosen !== 'bin';
    skipField.hidden = (sheets.find((one) => one.name === sheet.value)?.labels ?? 1) === 1;
    const asked = new URLSearchParams({sheet: sheet.value, address: leads.value});
    if (chosen === 'some') asked.set('holds', holds.value.replace(/\s+/g, ''));
    if (chosen === 'bin') asked.set('bin', bin.value.trim());
    if (chosen === 'bins') asked.set('what', 'bins');
    if (!skipField.hidden && Number(skip.value)) asked.set('skip', skip.value);
    link.href = address(`/labels.pdf?${asked}`);
    const open = (chosen === 'some' && !holds.value.trim()) || (chosen === 'bin' && !bin.value.trim());
    link.hidden = open;
  };
  for (const input of [holds, bin, sheet, skip, leads]) input.addEventListener('input', show);
  main.replaceChildren(h('h1', {}, 'Labels'),
    h('h2', {}, 'For'),
    chips('Labels for', [['all', 'All holds'], ['some', 'Some holds'], ['bin', 'The holds of a bin'], ['bins', 'The bins themselves']],
          what, {onchange: () => { if (!what.size) what.add('all'); show(); }}),
    h('div', {class: 'panel fields'}, holdsField, binField, field('sheet', 'Label', sheet), skipField,
      field('leads', 'The code leads to', leads)),
    link,
    h('p', {class: 'soft'}, 'Print at 100 %. Try one code with a phone before you print many: the name that ends in .local ' +
      'stays when the network gives new addresses, where the phones and the computer know such names.'),
    ...(about.openToNetwork ? [] : [h('p', {class: 'miss'}, 'The page is open to this computer only: phones reach it once it ' +
      'was started with holdshelf serve --open.')]));
  show();
}
