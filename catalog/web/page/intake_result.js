// SPDX-License-Identifier: Apache-2.0
// What came out of an intake: the pictures, the numbers, what to shoot again, and what it is.
import {address} from './api.js';
import {colourText} from './colour.js';
import {h} from './dom.js';
import {area, gap, length, volume} from './format.js';
import {notCompared} from './twins.js';

const row = (label, value) => h('div', {}, h('dt', {}, label), h('dd', {}, value));
const percent = (share) => `${Math.round(100 * (share ?? 0))} %`;

function numbers(intake) {
  const shape = intake.scan?.shape ?? {}, report = intake.report ?? {};
  const photos = report.photos ?? [];
  const used = photos.filter((photo) => photo.verdict === 'USED').length;
  return h('dl', {class: 'numbers'},
    row('Photos used', `${used} of ${photos.length}`),
    row('Surface good to', `${(report.precisionMm ?? 0).toFixed(2)} mm`),
    row('Guesswork', percent(report.guessworkShare)),
    intake.scan?.colour ? row('Colour', colourText(intake.scan.colour.name)) : null,
    row('Stands out', length(shape.protrusionMm)), row('Width', length(shape.footprintWidthMm)),
    row('Height', length(shape.footprintHeightMm)), row('Footprint', area(shape.footprintAreaMm2)),
    row('Volume', volume(shape.volumeMm3)),
    row('Good for', [...new Set((intake.words ?? []).map((word) => word.word))].join(', ') || 'nothing found'));
}

/** What the capture's report says about the photos: refused ones, warnings, what to do better. */
function remarks(intake) {
  const report = intake.report ?? {};
  const called = new Map((intake.photos ?? []).map((photo) => [photo.label, photo.name]));
  const refused = (report.photos ?? []).filter((photo) => photo.verdict !== 'USED').map((photo) =>
    `Not used: ${photo.photo} (${called.get(photo.photo) ?? ''}). ${photo.reason}`);
  const list = (lines) => h('ul', {class: 'advice'}, lines.map((text) => h('li', {}, text)));
  const again = [...(report.advice ?? []), ...refused], known = report.warnings ?? [];
  return [h('h2', {}, 'To shoot again'), again.length ? list(again) : h('p', {}, 'Nothing: the photos show all of it.'),
          ...(known.length ? [h('h2', {}, 'To know'), list(known)] : [])];
}

/** What a twin in the library is to this hold. */
function twinText(twin) {
  const kind = {SAME: 'has the same shape', MIRRORED: 'is its mirror image', OTHER_SIZE: 'is the same in another size',
                MIRRORED_OTHER_SIZE: 'is its mirror image in another size'}[twin.kind] ?? 'is alike';
  return `${twin.other} ${twin.needsAnEye ? 'perhaps ' : ''}${kind} (${(twin.medianMm ?? 0).toFixed(2)} mm apart)`;
}

/** decide(kind, of): called with what a person says it is. Gives {view, hold}: hold(why) keeps people from
 *  saying it and tells them why, hold('') lets them. */
export function resultView(intake, decide) {
  const twins = intake.again?.twins ?? [];
  const again = twins.find((twin) => twin.kind === 'SAME');
  const held = h('p', {class: 'miss', role: 'status'}), choices = [];
  const choice = (text, note, kind, of, quiet) => {
    choices.push(h('button', {class: quiet ? 'act quiet wide' : 'act wide', type: 'button', onclick: () => decide(kind, of)},
      h('span', {}, text, note ? h('small', {}, note) : null)));
    return choices.at(-1);
  };
  const hold = (why) => {
    if (held.textContent !== why) held.textContent = why;
    for (const each of choices) each.disabled = why !== '';
  };
  const others = twins.filter((twin) => twin !== again);
  const view = h('div', {class: 'result'},
    h('section', {class: 'panel'},
      h('h2', {}, again ? again.needsAnEye ? `Is this ${again.other} again?` : `This is ${again.other} again`
                        : 'A shape that is not here yet'),
      again ? h('div', {class: 'again'},
        h('img', {class: 'again-picture', alt: `${again.other} as it is in the library`,
                  src: address(`/holds/${encodeURIComponent(again.other)}/thumbnail`)}),
        h('p', {}, `Surfaces typically ${gap(again.medianMm ?? 0)} apart. `,
          h('a', {class: 'inline', href: `#/hold/${encodeURIComponent(again.other)}`}, `Look at ${again.other}`))) : null,
      others.length ? h('ul', {}, others.map((twin) => h('li', {}, twinText(twin)))) : null,
      notCompared(intake.again),
      held,
      again ? [
        choice(`New scan of ${again.other}`, 'The same piece: shows how it has worn', 'NEW_SCAN', again.other),
        choice(`One more of ${again.other}`, 'Another piece of this shape: the lot grows by the pieces given', 'ONE_MORE', again.other, true),
        choice('A new hold', 'Gets an id of its own', 'NEW', '', true)]
        : choice('Keep as a new hold', '', 'NEW', '')),
    h('section', {class: 'panel'}, h('h2', {}, 'What was rebuilt, over the photos'),
      h('a', {href: address(`/intakes/${intake.id}/contact-sheet`), target: '_blank', rel: 'noopener'},
        h('img', {class: 'sheet-picture', alt: 'Contact sheet: the mesh drawn over photos, and from several sides',
                  src: address(`/intakes/${intake.id}/contact-sheet`)}))),
    h('section', {class: 'panel'}, h('h2', {}, 'Measured'), numbers(intake), remarks(intake)));
  return {view, hold};
}
