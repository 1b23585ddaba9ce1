// SPDX-License-Identifier: Apache-2.0
// Photos on this device that their intake takes no more, as it is gone or in the library: what can be
// done with them.
import {h, openSheet, say} from './dom.js';
import {dropFile, dropFiles, keptFiles, moveFiles} from './kept_files.js';

/** Browsers drop all but the last of downloads that begin in one moment. */
const BETWEEN_DOWNLOADS_MS = 400;
/** By then a download has its bytes. */
const DOWNLOADED_MS = 60_000;

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

/** "1 photo" or "3 photos". */
export const photosText = (photos) => `${photos.length} ${photos.length === 1 ? 'photo' : 'photos'}`;

/** Photos by intake: a Map of lists. */
export function byIntake(photos) {
  const groups = new Map();
  for (const photo of photos) groups.set(photo.intake, [...groups.get(photo.intake) ?? [], photo]);
  return groups;
}

/** Those of an intake that the server has not got. It has some whose last answer was lost: they go from here. */
export async function unsentOf(intake) {
  const there = new Set((intake.photos ?? []).filter((photo) => photo.state !== 'UPLOADING').map((photo) => photo.sha256));
  const kept = await keptFiles(intake.id);
  for (const {sha256} of kept.filter((photo) => there.has(photo.sha256))) await dropFile(intake.id, sha256);
  return kept.filter((photo) => !there.has(photo.sha256));
}

async function download(photos) {
  for (const {name, bytes} of photos) {
    const url = URL.createObjectURL(bytes);
    h('a', {href: url, download: name}).click();
    setTimeout(() => URL.revokeObjectURL(url), DOWNLOADED_MS);
    await wait(BETWEEN_DOWNLOADS_MS);
  }
  say(`${photosText(photos)} handed to this device’s downloads. Here they stay until you remove them.`);
}

function askToRemove(photos, changed) {
  const {sheet} = openSheet('Remove for good?', h('div', {},
    h('p', {}, `${photosText(photos)}: the gym’s computer does not have ${photos.length === 1 ? 'it' : 'them'}, and this device may have no other copy.`),
    h('button', {class: 'act', type: 'button', onclick: async () => {
      sheet.close();
      await dropFiles(photos[0].intake);
      changed();
    }}, 'Remove for good')), 'Keep');
}

/** photos: of one intake; title: what they are. begin(mat), for who may: opens an intake for photos on that mat
 *  (undefined: nobody wrote down which it was) and gives its id; changed: called when they are gone from here. */
export function keptOffer(photos, {title, begin, changed}) {
  const problem = h('p', {class: 'miss', role: 'alert'}), them = photos.length === 1 ? 'it' : 'them';
  const takeIn = async () => {
    const id = await begin(photos[0].mat);
    if (!await moveFiles(photos[0].intake, id))
      throw new Error(`This browser could not hand ${them} on: save ${them} to this device, and choose ${them} in the new intake.`);
    location.hash = `#/intake/${id}`;
  };
  // Each once: a second tap would open a second intake.
  const act = (work) => async () => {
    problem.textContent = '';
    for (const each of buttons) each.disabled = true;
    await work().catch((error) => { problem.textContent = error.message; });
    for (const each of buttons) each.disabled = false;
  };
  const buttons = [...(begin ? [h('button', {class: 'act', type: 'button', onclick: act(takeIn)}, `Take ${them} into a new intake`)] : []),
    h('button', {class: 'act quiet', type: 'button', onclick: act(() => download(photos))}, `Save ${them} to this device`),
    h('button', {class: 'act quiet', type: 'button', onclick: () => askToRemove(photos, changed)}, `Remove ${them}`)];
  return h('section', {class: 'panel', 'aria-label': title}, h('h2', {}, title),
    h('p', {class: 'soft'}, photos.map((photo) => photo.name).join(', ')),
    photos.some((photo) => !photo.kept) ? h('p', {class: 'miss'}, `This browser keeps no copy of ${them}: keep this page open until you have ${them} elsewhere.`) : null,
    problem, h('div', {class: 'chips'}, buttons));
}
