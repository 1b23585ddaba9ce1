// SPDX-License-Identifier: Apache-2.0
// Two holds of one shape, side by side, spun together.
import {get, getBytes, holdPath} from './api.js';
import {colourText, patchOf} from './colour.js';
import {h, notice} from './dom.js';
import {degrees, gap, STATUS} from './format.js';
import {MeshView} from './mesh_view.js';

export const TWIN_KIND = {SAME: 'the same shape', MIRRORED: 'mirrored', OTHER_SIZE: 'another size',
                          MIRRORED_OTHER_SIZE: 'mirrored and another size'};

/** The sentence of holds that a comparison left out; null where there are none. */
export const notCompared = (list) => list?.unread?.length ? h('p', {class: 'caution'},
  `Not compared, as the mesh is lost or damaged: ${list.unread.slice(0, 10).join(', ')}${
    list.unread.length > 10 ? ` and ${list.unread.length - 10} more` : ''}. On the library's computer, holdshelf check says how it comes back.`) : null;

/** What one is to the other, as the library found it; undefined where it did not. */
async function relation(one, other) {
  const found = (await get(holdPath(one, '/twins'))).twins ?? [];
  return found.find((twin) => twin.other === other);
}

export const twinWords = (twin) => [TWIN_KIND[twin.kind] ?? 'alike', twin.needsAnEye ? 'needs an eye' : '',
  `surfaces typically ${gap(twin.medianMm ?? 0)} apart, nearly all within ${gap(twin.p95Mm ?? 0)}`,
  Math.abs((twin.scale ?? 1) - 1) > 0.03 ? `${(twin.scale ?? 1).toFixed(2)} times its size` : ''].filter(Boolean).join('; ');

/** Shows the screen in `main`. */
export async function twinsScreen(main, {rest, atEnd}) {
  const ids = rest.slice(0, 2), holds = await Promise.all(ids.map((id) => get(holdPath(id))));
  if (holds.length < 2) {
    main.replaceChildren(notice('Two holds are needed', 'Open it from a hold\'s twins or from the head setter\'s list.'));
    return;
  }
  document.title = `${ids.join(' and ')} - Holdshelf`;
  const words = h('p', {class: 'sentence', role: 'status'}, 'Laying one on the other.');
  const turn = h('input', {type: 'range', id: 'spin', min: 0, max: 355, step: 5, value: 0}), turned = h('output', {for: 'spin'}, '0°');
  const views = [], shift = [0, 0];
  const sides = holds.map((hold) => {
    const canvas = h('canvas', {class: 'mesh'});
    const figure = h('figure', {class: 'twin'}, h('div', {class: 'twin-stage'}, canvas),
      h('figcaption', {}, h('a', {href: `#/hold/${encodeURIComponent(hold.id)}`}, `${hold.id} ${hold.name ?? ''}`),
        h('span', {class: 'soft'}, `${STATUS[hold.status] ?? ''}${hold.bin ? `, bin ${hold.bin}` : ''} `), colourText(hold.colour?.name)));
    try {
      views.push(new MeshView(canvas, `${hold.name || hold.id} in 3D`, patchOf(hold.colour?.name)));
    } catch {
      canvas.replaceWith(h('p', {}, 'This browser shows no 3D.'));
    }
    return figure;
  });
  const spin = () => {
    turned.textContent = degrees(Number(turn.value));
    views.forEach((view, i) => view.turn(Number(turn.value) + shift[i]));
  };
  turn.addEventListener('input', spin);
  // What a finger does to one, both do.
  views.forEach((view) => { view.onlook = () => views.forEach((each) => each !== view && each.follow(view)); });
  main.replaceChildren(h('header', {class: 'hold-head'}, h('a', {href: '#/head', class: 'act quiet'}, 'Head setter'), h('h1', {}, 'Side by side')),
    words, h('div', {class: 'twin-pair'}, sides), h('label', {class: 'tilt', for: 'spin'}, h('span', {}, 'Spin both'), turn, turned));
  atEnd(() => views.forEach((view) => view.close()));
  await Promise.all(views.map(async (view, i) => view.show(await getBytes(holdPath(ids[i], '/mesh.glb')))));
  const size = Math.max(...views.map((view) => view.size));
  views.forEach((view) => view.frame(1.12 * size));  // One scale for both.
  const twin = await relation(...ids);
  words.textContent = twin ? twinWords(twin) : 'Not found to be of one shape.';
  if (twin) shift[1] = twin.rotationDeg ?? 0;
  spin();
  main.dataset.ready = 'twins';
}
