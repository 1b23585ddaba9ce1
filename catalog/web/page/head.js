// SPDX-License-Identifier: Apache-2.0
// Head setter, once a month: twins, worn holds, gaps in the library.
import {address, get, getBytes, holdPath} from './api.js';
import {h, notice, openSheet} from './dom.js';
import {degrees, gap} from './format.js';
import {gapsPart} from './gaps.js';
import {onDemand} from './hold_more.js';
import {heatLegend, MeshView} from './mesh_view.js';
import {notCompared, twinWords} from './twins.js';

const picture = (id) => h('img', {src: address(holdPath(id, '/thumbnail')), alt: '', width: 72, height: 72, loading: 'lazy'});

async function twinsList() {
  const list = await get('/twins'), {twins = [], holds = 0} = list;
  if (!twins.length) return [h('p', {}, `None among ${holds} holds.`), notCompared(list)];
  return [h('ul', {class: 'plain-list two'}, twins.map((twin) => h('li', {class: 'offer pair'},
    h('div', {class: 'pair-pictures'}, picture(twin.hold), picture(twin.other)),
    h('div', {}, h('strong', {}, `${twin.hold} and ${twin.other}`), h('p', {class: 'soft'}, twinWords(twin))),
    h('a', {class: 'act', href: `#/twins/${encodeURIComponent(twin.hold)}/${encodeURIComponent(twin.other)}`,
            'aria-label': `${twin.hold} and ${twin.other} side by side`}, 'Side by side')))), notCompared(list)];
}

/** Where the surface went, on the first scan's mesh. */
async function mapSheet(wear, atEnd) {
  const canvas = h('canvas', {class: 'mesh'});
  const {closed} = openSheet(`${wear.hold}: ${wear.grade}`, [h('div', {class: 'twin-stage'}, canvas), heatLegend('value'),
    h('p', {}, wear.reason), h('p', {class: 'soft'}, `Nothing below ${gap(wear.detectionLimitMm ?? 0)} counts. Bolt holes and the foot are left out.`)]);
  const view = new MeshView(canvas, `${wear.hold} in 3D, where the last scan lies below the first`);
  atEnd(() => view.close());
  closed.then(() => view.close());
  view.show(await getBytes(holdPath(wear.hold, '/wear.glb')));
  view.heatMap('value');
}

async function wornList(atEnd) {
  const list = await get('/wear'), wears = list.wears ?? [];
  if (!wears.length && !list.unread?.length)
    return notice('Nothing to compare yet', 'Wear shows from the second scan of a hold on. Scan again what comes back from the wash.');
  return [h('ul', {class: 'plain-list two'}, wears.map((wear) => h('li', {class: 'offer', 'data-hold': wear.hold}, picture(wear.hold),
    h('div', {}, h('a', {class: 'name', href: `#/hold/${encodeURIComponent(wear.hold)}`}, wear.hold), ` ${wear.grade}`,
      h('p', {}, wear.reason),
      h('p', {class: 'soft'}, `Holds ${(wear.jugBefore ?? 0).toFixed(2)} of a jug at first, ${(wear.jugNow ?? 0).toFixed(2)} now, turned ${degrees(wear.usualRotationDeg ?? 0)}.`)),
    h('button', {class: 'act', type: 'button', 'aria-label': `Map of what changed on ${wear.hold}`, onclick: () => mapSheet(wear, atEnd)}, 'Map')))),
    notCompared(list), h('p', {class: 'soft'}, `${(list.skipped ?? []).length} holds have one scan only.`), h('p', {class: 'caution'}, list.caution)];
}

/** Shows the screen in `main`. */
export async function headScreen(main, {about, atEnd}) {
  document.title = 'Head setter - Holdshelf';
  const gaps = h('div', {class: 'stock'});
  main.replaceChildren(h('h1', {}, 'Head setter'),
    onDemand('Worn: what changed since the first scan', () => wornList(atEnd)),
    onDemand('Twins: one shape twice, mirrored, or in another size', twinsList),
    h('section', {class: 'panel'}, h('h2', {}, 'Gaps: what the library has'), gaps));
  await gapsPart(gaps, about);
}
