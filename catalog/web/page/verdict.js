// SPDX-License-Identifier: Apache-2.0
// What hands and feet get from a hold in one mounting.
import {h} from './dom.js';

const ANSWER = {YES: 'yes', NO: 'no', BORDERLINE: 'borderline', ANSWER_UNSPECIFIED: 'not known'};

export const row = (label, value) => h('div', {}, h('dt', {}, label), h('dd', {}, value));

/** A force as a bar, a number and words. */
function bar(label, share, sigma, text) {
  const doubt = (sigma ?? 0) < 0.005 ? '<0.01' : sigma.toFixed(2);
  const shown = `${share.toFixed(2)} ± ${doubt}`;
  return h('div', {class: 'bar'}, h('div', {class: 'bar-head'}, h('strong', {}, label), h('span', {}, shown)),
    h('div', {class: 'bar-track', 'aria-hidden': 'true'},
      h('div', {style: {width: `${Math.min(100, share * 100)}%`}})), h('p', {}, text));
}

/** @param verdict  A GripVerdict. */
export function verdictParts(verdict) {
  const hand = verdict.hand ?? {}, toe = verdict.toe ?? {};
  return [
    h('h2', {}, `For hands: ${hand.word || 'nothing'}`),
    bar('Share of a jug', hand.fractionOfJug ?? 0, hand.sigma, h('strong', {}, hand.reason || '')),
    h('h2', {}, 'As a foothold'),
    h('p', {class: 'sentence'}, verdict.footSentence),
    bar('Toe: share of a deep edge', toe.fraction ?? 0, toe.sigma, toe.reason || ''),
    h('dl', {class: 'numbers'}, row('Too grabbable for a foothold', ANSWER[verdict.tooGrabbable] ?? 'not known'),
      row('Serves a toe', ANSWER[verdict.servesToe] ?? 'not known')),
    h('details', {}, h('summary', {}, 'Cautions'), (verdict.cautions ?? []).map((text) => h('p', {}, text)))];
}
