// SPDX-License-Identifier: Apache-2.0
// What else the hold screen tells: its bolt, its scans over time, its twins, and the same lip on
// lower holds. Each is asked for when it is opened.
import {address, get, holdPath, post} from './api.js';
import {h} from './dom.js';
import {bare, degrees, gap, length, STATUS, time, unitWord, volume} from './format.js';
import {notCompared, TWIN_KIND} from './twins.js';

/** A panel that fills itself when it is opened; `fill` gives its content. */
export function onDemand(title, fill) {
  const body = h('div', {'aria-live': 'polite'});
  const node = h('details', {class: 'panel on-demand'}, h('summary', {}, h('h2', {}, title)), body);
  node.addEventListener('toggle', async () => {
    if (!node.open) return;
    body.replaceChildren(h('p', {}, 'One moment.'));
    try {
      body.replaceChildren(...[await fill()].flat(3).filter(Boolean));
    } catch (error) {
      body.replaceChildren(h('p', {class: 'miss'}, error.message));
    }
  });
  return node;
}

/** The bolt for each of the gym's panels; for a usual one where no walls are described. */
async function boltContent(id) {
  const gym = await get('/gym');
  const panels = (gym.zones ?? []).flatMap((zone) => zone.panels.map((panel) => [zone.name, panel.name]));
  const asked = panels.length ? panels : [['', '']];
  const bags = await Promise.all(asked.map(([zone, panel]) => get(holdPath(id,
    zone ? `/bolt?zone=${encodeURIComponent(zone)}&panel=${encodeURIComponent(panel)}` : '/bolt'))));
  const seats = bags[0].bolts?.[0]?.seatHeightMm;
  const lines = bags.map((bag, i) => {
    const bolt = bag.bolts?.[0] ?? {};
    const label = bolt.screws ? `${bolt.screws} × ${bolt.screw ?? ''} screws` : bolt.label || 'none: see below';
    return h('li', {}, h('strong', {}, label), ` ${asked[i][0] ? `in ${asked[i][1]}, ${asked[i][0]}` : 'in 18 mm with an M10 T-nut of 11 mm; describe the walls for yours'}`,
      [...(bolt.warnings ?? []), ...(bolt.notes ?? [])].map((text) => h('p', {class: 'miss'}, text)));
  });
  return [h('p', {}, seats ? `Seat ${length(seats)} over the wall.` : 'The seat was not measured: measure it by hand.'),
          h('ul', {class: 'plain-list'}, lines), ...(bags[0].cautions ?? []).map((text) => h('p', {class: 'soft'}, text))];
}

const deepest = (shape) => (shape.grips ?? []).reduce((best, grip) =>
  (grip.edgeDepthMm?.value ?? 0) > (best?.edgeDepthMm?.value ?? 0) ? grip : best, undefined);

/** One row a scan: what the numbers did over the years. */
function scansContent(scans, showScan) {
  const rows = scans.map((scan) => {
    const edge = deepest(scan.shape ?? {});
    return h('tr', {}, h('th', {scope: 'row'}, h('button', {class: 'chip', type: 'button', onclick: () => showScan(scan.id)}, time(scan.takenAt) || scan.id)),
      h('td', {}, length(scan.shape?.protrusionMm)), h('td', {}, length(edge?.edgeDepthMm)),
      h('td', {}, length(edge?.lipRadiusMm)), h('td', {}, volume(scan.shape?.volumeMm3)));
  });
  return h('div', {class: 'scroll', tabindex: 0, role: 'group', 'aria-label': 'Scans'}, h('table', {}, h('thead', {}, h('tr', {},
    ['Scan', 'Stands out', 'Deepest edge', 'Its lip', 'Volume'].map((text) => h('th', {scope: 'col'}, text)))), h('tbody', {}, rows)));
}

async function wearContent(id) {
  const wear = await get(holdPath(id, '/wear'));
  return [h('p', {class: 'sentence'}, wear.grade), h('p', {}, wear.reason),
          h('p', {}, `Best holding force: ${(wear.jugBefore ?? 0).toFixed(2)} of a jug at first, ${(wear.jugNow ?? 0).toFixed(2)} now.`),
          h('p', {class: 'soft'}, `Nothing below ${gap(wear.detectionLimitMm ?? 0)} counts. A scan sees no cracks: look, flex, tap.`)];
}

async function twinsContent(id) {
  const list = await get(holdPath(id, '/twins')), found = list.twins ?? [];
  if (!found.length) return [h('p', {}, 'None in the library.'), notCompared(list)];
  return [h('ul', {class: 'plain-list'}, found.map((twin) => h('li', {class: 'offer'},
    h('img', {src: address(holdPath(twin.other, '/thumbnail')), alt: '', width: 72, height: 72}),
    h('div', {}, h('strong', {}, twin.other), ` ${TWIN_KIND[twin.kind] ?? ''}${twin.needsAnEye ? ', needs an eye' : ''}`,
      h('p', {class: 'soft'}, `surfaces typically ${gap(twin.medianMm ?? 0)} apart`)),
    h('a', {class: 'act', href: `#/twins/${encodeURIComponent(id)}/${encodeURIComponent(twin.other)}`}, 'Side by side')))), notCompared(list)];
}

/** Holds with this lip that stand out less. */
async function lowerContent(hold, shape, rotation_deg) {
  const out = shape.protrusionMm?.value ?? 0;
  const result = await post('/find', {lip: {like: hold.id, likeRotationDeg: rotation_deg}, limit: 6,
    ranges: [{number: 'protrusion', to: Math.max(0, out - 1)}]});
  const hits = (Number(result.matched ?? 0) ? result.hits : []) ?? [];
  return [hits.length ? h('ul', {class: 'plain-list'}, hits.map((hit) => h('li', {class: 'offer'},
    h('img', {src: address(holdPath(hit.id, '/thumbnail')), alt: '', width: 72, height: 72}),
    h('div', {}, h('strong', {}, hit.name || hit.id), ` ${hit.id}, ${STATUS[hit.status] ?? ''}${hit.bin ? `, bin ${hit.bin}` : ''}`,
      h('p', {class: 'soft'}, `lip ${gap(hit.lip?.gapMm ?? 0)} apart, stands out ${bare(hit.numbers?.find((n) => n.number === 'protrusion')?.value ?? 0)} ${unitWord()}, turned ${degrees(hit.rotationDeg ?? 0)}`)),
    h('a', {class: 'act', href: `#/hold/${encodeURIComponent(hit.id)}?at=${Math.round((hit.rotationDeg ?? 0) / 5) * 5 % 360}`}, 'Open'))))
    : h('p', {}, `No other hold with a lip stands out less than ${bare(out)} ${unitWord()}.`),
    h('p', {}, h('a', {class: 'act quiet', href: `#/draw?like=${encodeURIComponent(hold.id)}&at=${rotation_deg}`}, 'Draw this lip and change it'))];
}

/** The panels that are filled when they are opened. `rotation` gives the one that is set now. */
export const morePanels = (hold, scans, rotation, showScan) => [
  onDemand('Its bolt', () => boltContent(hold.id)),
  onDemand('Same lip, lower', () => lowerContent(hold, scans.at(-1).shape, rotation())),
  onDemand('Twins', () => twinsContent(hold.id)),
  onDemand(scans.length > 1 ? `Scans over time: ${scans.length}` : 'Scans over time: one so far', async () =>
    [scansContent(scans, showScan), scans.length > 1 ? await wearContent(hold.id)
                                                     : h('p', {class: 'soft'}, 'Wear shows from the second scan on.')])];
