// SPDX-License-Identifier: Apache-2.0
// Hold: the mesh on its bolt, turned and tilted, with what hands and feet get from it.
import {address, get, getBytes, holdPath, listen, post} from './api.js';
import {colourText, patchOf} from './colour.js';
import {dial} from './dial.js';
import {chips, h, notice, say} from './dom.js';
import {area, degrees, lean, length, may, STATUS, time, volume} from './format.js';
import {cutPanel} from './hold_cut.js';
import {morePanels} from './hold_more.js';
import {HEATS, heatLegend, MeshView} from './mesh_view.js';
import {row, verdictParts} from './verdict.js';

const FIRST_TRIANGLES = 1500, MORE_TRIANGLES = 12000, MOST_TRIANGLES = 60000;

function sizes(shape) {
  return h('dl', {class: 'numbers'},
    row('Stands out', length(shape.protrusionMm)), row('Width', length(shape.footprintWidthMm)),
    row('Height', length(shape.footprintHeightMm)), row('Footprint', area(shape.footprintAreaMm2)),
    row('Volume', volume(shape.volumeMm3)),
    (shape.boltSeats ?? []).map((seat) => row(seat.screw ? 'Screw hole' : 'Bolt seat',
      `${seat.kind === 'CONE' ? 'cone' : 'flat'}, ${length(seat.seatHeightMm)} over the wall${
        seat.boreMm ? `, bore ${length(seat.boreMm)}` : ''}`)));
}

function wordsList(words, go) {
  return h('ul', {class: 'word-list'}, words.map((word) => h('li', {}, h('button', {
    type: 'button', class: 'chip', onclick: () => go(Math.round((word.bestDeg ?? 0) / 5) * 5)},
    `${word.word}, best at ${degrees(word.bestDeg ?? 0)}`), h('p', {}, word.reason))));
}

function eventText(event) {
  if (event.created) return 'came in';
  if (event.scanned) return `scanned (${event.scanned.id})`;
  if (event.edited) return `edited: ${(event.edited.fields ?? []).join(', ')}`;
  if (event.moved) return [STATUS[event.moved.status], event.moved.crate, event.moved.zone, event.moved.climb]
    .filter(Boolean).join(', ');
  if (event.noted) return `note: ${event.noted}`;
  return 'photographed';
}

/** The picture with its ring; without WebGL a photo in its place. */
function picture(hold, words, turn) {
  const canvas = h('canvas', {class: 'mesh'});
  const stage = h('div', {class: 'stage'}, canvas, dial(words, turn.rotation, turn.set));
  try {
    return {stage, view: new MeshView(canvas, `${hold.name || hold.id} in 3D`, patchOf(hold.colour?.name))};
  } catch {
    stage.replaceChildren(h('img', {src: address(holdPath(hold.id, '/thumbnail')), alt: `Picture of ${hold.id}`}),
                          dial(words, turn.rotation, turn.set));
    return {stage, view: null};
  }
}

function moves(hold, about) {
  const move = (status) => async () => {
    try {
      await post(holdPath(hold.id, '/move'), {status});
      say(`${hold.id} is ${STATUS[status]}.`);
    } catch (error) {
      say(error.message);
    }
  };
  const needs = {WASH: 'log', NEEDS_LOOK: 'log'};
  const open = Object.entries(STATUS).filter(([status]) => status !== (hold.status ?? 'SHELF') &&
    !['RETIRED', 'CRATE'].includes(status) && may(about, needs[status] ?? 'set'));
  return open.length ? h('section', {class: 'panel'}, h('h2', {}, 'It goes to'), h('div', {class: 'chips'}, open.map(([status, text]) =>
    h('button', {class: 'chip', type: 'button', onclick: move(status)}, text)))) : null;
}

/** The mesh, coarse first so that there is a picture at once, then finer. */
async function showMesh(view, path, coarse, still) {
  if (!view) return;
  view.show(await coarse ?? await getBytes(`${path}&triangles=${FIRST_TRIANGLES}`));
  const fine = view.canvas.clientWidth > 800 ? MOST_TRIANGLES : MORE_TRIANGLES;
  const bytes = await getBytes(`${path}&triangles=${fine}`);
  if (still()) view.show(bytes);
}

/** The heat maps with their legend; the map of change needs a mesh of its own. */
function heatChoice(view, hold, scans, showScan) {
  const heat = new Set(['plain']), legend = h('div', {});
  const names = ['plain', 'slope', 'guesswork', ...(scans.length > 1 ? ['value'] : [])];
  const choice = chips('Colours of the picture', names.map((name) => [name, HEATS[name].label]), heat, {onchange: async () => {
    const name = [...heat][0] ?? 'plain', before = view?.heat;
    legend.replaceChildren(...(name === 'plain' ? [] : [heatLegend(name)]));
    try {
      if (name === 'value') view?.show(await getBytes(holdPath(hold.id, '/wear.glb')));
      else if (before === 'value') await showScan();
      view?.heatMap(name);
    } catch (error) {
      legend.replaceChildren(h('p', {class: 'miss'}, error.message));
    }
  }});
  return [choice, legend];
}

/** Shows the screen in `main`. */
export async function holdScreen(main, {about, rest, query, atEnd}) {
  const id = rest[0] ?? '';
  // Asked for before anything is known of the hold, so that its picture waits for nothing.
  let coarse = getBytes(holdPath(id, `/mesh.glb?triangles=${FIRST_TRIANGLES}`)).catch(() => undefined);
  const hold = await get(holdPath(id));
  document.title = `${hold.name || hold.id} - Holdshelf`;
  const scans = hold.scans ?? [], scan = scans.at(-1);
  const head = h('header', {class: 'hold-head'}, h('a', {href: '#/shelf', class: 'act quiet'}, 'Shelf'),
    h('div', {}, h('h1', {}, hold.name || hold.id),
      h('p', {}, `${hold.id}, ${hold.bin ? `bin ${hold.bin}, ` : ''}${STATUS[hold.status] ?? ''} `,
        colourText(hold.colour?.name))));
  if (!scan) {
    main.replaceChildren(head, notice('Not scanned yet', 'Numbers and the picture come with the first scan.'));
    return;
  }
  const words = hold.words ?? [];
  let rotation = Number(query.get('at') ?? 0), wall = Number(query.get('wall') ?? 0), shownScan = scan.id, asking, gone = false;
  const verdict = h('section', {class: 'panel', 'aria-live': 'polite', 'aria-label': 'In this mounting'});
  const turned = h('output', {class: 'turned'}), wallText = h('output', {});
  const tilt = h('input', {type: 'range', min: -20, max: 60, step: 5, value: wall, id: 'wall'});
  const {stage, view} = picture(hold, words, {rotation, set: (deg) => { rotation = deg; refresh(); }});
  const section = cutPanel(id, scan.shape, view, () => refresh());

  const refresh = async () => {
    asking?.abort();
    asking = new AbortController();
    const {signal} = asking;
    turned.textContent = `turned ${degrees(rotation)}`;
    wallText.textContent = lean(wall);
    view?.turn(rotation);
    view?.tilt(wall);
    section.cut(rotation);
    const [judged, cut] = await Promise.allSettled([
      get(holdPath(id, `/verdict?rotation=${rotation}&wallAngle=${wall}`), signal),
      get(section.path(rotation, shownScan === scan.id ? '' : shownScan), signal)]);
    if (signal.aborted) return;
    verdict.replaceChildren(...(judged.value ? verdictParts(judged.value)
                                             : [h('p', {}, judged.reason.message)]));
    verdict.dataset.at = `${rotation},${wall}`;
    section.show(rotation, cut);
  };
  const showScan = async (which = shownScan) => {
    shownScan = which;
    const first = which === scan.id ? coarse : undefined;
    coarse = undefined;
    await showMesh(view, holdPath(id, `/mesh.glb?scan=${which}`), first, () => !gone && shownScan === which && view.heat !== 'value');
    section.cut(rotation);
  };
  tilt.addEventListener('input', () => { wall = Number(tilt.value); refresh(); });
  const past = h('ol', {class: 'history'});
  const history = async () => past.replaceChildren(...((await get(holdPath(id, '/history'))).events ?? []).map(
    (event) => h('li', {}, `${time(event.at)}, ${event.who}: ${eventText(event)}`)));
  const go = (deg) => { location.hash = `#/hold/${encodeURIComponent(id)}?at=${deg % 360}`; };
  main.replaceChildren(head, h('div', {class: 'hold'},
    h('div', {class: 'hold-view'}, stage, turned,
      h('label', {class: 'tilt', for: 'wall'}, h('span', {}, 'Wall'), tilt, wallText), heatChoice(view, hold, scans, showScan)),
    h('div', {class: 'hold-text'}, verdict, section.node,
      h('section', {class: 'panel'}, h('h2', {}, 'Good for'), wordsList(words, go))),
    h('div', {class: 'hold-text'},
      h('section', {class: 'panel'}, h('h2', {}, 'Size'), sizes(scan.shape)),
      morePanels(hold, scans, () => rotation, showScan), moves(hold, about),
      h('section', {class: 'panel'}, h('h2', {}, 'History'), past))));
  atEnd(() => { gone = true; asking?.abort(); view?.close(); });
  atEnd(listen('library', history));
  await Promise.all([showScan(scan.id), refresh(), history()]);
  section.warm(rotation);
}
