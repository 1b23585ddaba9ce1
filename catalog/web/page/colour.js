// SPDX-License-Identifier: Apache-2.0
// A colour is always shown and written. The patches are plain examples of the basic colour terms.
import {h} from './dom.js';

export const BASIC = {
  black: '#26231f', white: '#f7f5ef', grey: '#8b8b88', red: '#c4242b', orange: '#ec7a1c',
  yellow: '#f2c81f', green: '#2f8f46', blue: '#2563b8', purple: '#7a3d9c', pink: '#e887ab',
  brown: '#7b4b2a',
};

/** The patch of a name such as "vivid red": its last word is the basic term. */
export const patchOf = (name) => BASIC[(name ?? '').split(' ').at(-1)];

export function swatch(name) {
  return h('span', {class: 'swatch', 'aria-hidden': 'true',
                    style: {backgroundColor: patchOf(name) ?? 'transparent'}});
}

export const colourText = (name) => h('span', {class: 'colour'}, swatch(name),
                                      name || 'no colour named');
