// SPDX-License-Identifier: Apache-2.0
// More: how numbers are shown, mats to print, and what this page may and may not tell.
import {address} from './api.js';
import {chips, h} from './dom.js';
import {settings} from './format.js';

/** Shows the screen in `main`. */
export async function moreScreen(main, {about}) {
  document.title = 'More - Holdshelf';
  const choice = (label, key, now, values) => {
    const chosen = new Set([now]);
    return [h('h2', {}, label), chips(label, values, chosen, {
      onchange: () => settings.set(key, [...chosen][0] ?? values[0][0])})];
  };
  main.replaceChildren(
    h('h1', {}, 'More'),
    ...choice('Lengths', 'units', settings.inch ? 'inch' : 'mm',
           [['mm', 'millimetres'], ['inch', 'inches']]),
    ...choice('Uncertainty', 'sigma', settings.sigma ? 'on' : 'off',
           [['off', 'numbers only'], ['on', 'with ± (standard uncertainty)']]),
    h('h2', {}, 'Devices'),
    h('p', {}, `${about.device || 'This device'} has the role ${about.role}.`),
    h('a', {class: 'act quiet', href: '#/devices'}, 'Who may use the page'),
    h('h2', {}, 'Labels to print'),
    h('p', {}, 'For holds and bins, with codes that open them on a phone.'),
    h('a', {class: 'act quiet', href: '#/labels'}, 'Make labels'),
    h('h2', {}, 'Mats to print'),
    h('p', {}, 'Print at 100 % and measure the ruler on the sheet.'),
    h('div', {class: 'chips'}, ['A4', 'A3', 'A2'].map((paper) =>
      h('a', {class: 'chip', href: address(`/mat.pdf?paper=${paper}`), target: '_blank',
              rel: 'noopener'}, `${paper} mat, PDF`))),
    h('h2', {}, 'Caution'), h('p', {}, about.caution),
    h('p', {class: 'soft'}, `Holdshelf ${about.programVersion}, ${about.holds ?? 0} holds. `,
      h('a', {href: address('/openapi.json')}, 'The interface for programs (OpenAPI)')));
}
