// SPDX-License-Identifier: Apache-2.0
// Hold: the mesh on its bolt, turned and tilted, with what hands and feet get from it.
import {address, get, getBytes, holdPath, listen, post} from './api.js';
import {colourText, patchOf} from './colour.js';
import {cutGeometry} from './cut.js';
import {dial} from './dial.js';
import {chips, h, notice, say} from './dom.js';
import {angle, area, bare, degrees, lean, length, may, STATUS, time, unitWord, volume} from './format.js';
import {boltContent, lowerContent, onDemand, scansContent, twinsContent, wearContent} from './hold_more.js';
import {HEATS, heatLegend, MeshView} from './mesh_view.js';
import {cutPicture, sectionPicture, sectionWords} from './section.js';

const ANSWER = {YES: 'yes', NO: 'no', BORDERLINE: 'borderline', ANSWER_UNSPECIFIED: 'not known'};
const FIRST_TRIANGLES = 1500, MORE_TRIANGLES = 12000, MOST_TRIANGLES = 60000;

const row = (label, value) => h('div', {}, h('dt', {}, label), h('dd', {}, value));

function sizes(shape) {
  return h('dl', {class: 'numbers'},
    row('Stands out', length(shape.protrusionMm)), row('Width', length(shape.footprintWidthMm)),
    row('Height', length(shape.footprintHeightMm)), row('Footprint', area(shape.footprintAreaMm2)),
    row('Volume', volume(shape.volumeMm3)),
    (shape.boltSeats ?? []).map((seat) => row(seat.screw ? 'Screw hole' : 'Bolt seat',
      `${seat.kind === 'CONE' ? 'cone' : 'flat'}, ${length(seat.seatHeightMm)} over the wall, bore ${length(seat.boreMm)}`)));
}

/** A force as a bar, a number and words. */
function bar(label, share, sigma, text) {
  const doubt = (sigma ?? 0) < 0.005 ? '<0.01' : sigma.toFixed(2);
  const shown = `${share.toFixed(2)} ± ${doubt}`;
  return h('div', {class: 'bar'}, h('div', {class: 'bar-head'}, h('strong', {}, label), h('span', {}, shown)),
    h('div', {class: 'bar-track', 'aria-hidden': 'true'},
      h('div', {style: {width: `${Math.min(100, share * 100)}%`}})), h('p', {}, text));
}

function verdictParts(verdict) {
  const hand = verdict.hand ?? {}, toe = verdict.toe ?? {};
  return [
    h('p', {class: 'sentence'}, verdict.sentence),
    bar(`Hand: ${hand.word || 'nothing'}, share of a jug`, hand.fractionOfJug ?? 0, hand.sigma, hand.reason || ''),
    bar('Toe: share of a deep edge', toe.fraction ?? 0, toe.sigma, toe.reason || ''),
    h('dl', {class: 'numbers'}, row('Too grabbable for a foothold', ANSWER[verdict.tooGrabbable] ?? 'not known'),
      row('Serves a toe', ANSWER[verdict.servesToe] ?? 'not known')),
    h('details', {}, h('summary', {}, 'Cautions'), (verdict.cautions ?? []).map((text) => h('p', {}, text)))];
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
  const canvas = h('canvas', {class: 'mesh', 'aria-label': `${hold.name || hold.id} in 3D`, role: 'img'});
  const stage = h('div', {class: 'stage'}, canvas, dial(words, turn.rotation, turn.set));
  try {
    return {stage, view: new MeshView(canvas, patchOf(hold.colour?.name))};
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
  let rotation = Number(query.get('at') ?? 0), wall = Number(query.get('wall') ?? 0), offset, asking, shownScan = scan.id;
  const verdict = h('section', {class: 'panel', 'aria-live': 'polite', 'aria-label': 'In this mounting'});
  const drawn = h('div', {}), cutWords = h('p', {'aria-live': 'polite'});
  const turned = h('output', {class: 'turned'});
  const tilt = h('input', {type: 'range', min: -20, max: 60, step: 5, value: wall, id: 'wall'});
  const wallText = h('output', {});
  const width = scan.shape?.footprintWidthMm?.value ?? 200, reach = Math.ceil(Math.hypot(width, scan.shape?.footprintHeightMm?.value ?? width) / 2);
  const slide = h('input', {type: 'range', min: -reach, max: reach, step: 1, value: 0, id: 'cut-at'}), slideText = h('output', {for: 'cut-at'}, 'best place');
  const best = h('button', {class: 'chip', type: 'button', hidden: true, onclick: () => { offset = undefined; refresh(); }}, 'Back to the best place');

  /** The section as the browser cuts it, until the server has measured it. */
  const cutHere = () => {
    slideText.textContent = offset === undefined ? 'best place' : `${bare(offset)} ${unitWord()}`;
    best.hidden = offset === undefined;
    if (offset === undefined || !view?.mesh) return;
    const pieces = cutGeometry(view.mesh.geometry, rotation, offset);
    view.cut(pieces, offset);
    drawn.replaceChildren(cutPicture(pieces));
    drawn.dataset.cut = `${rotation},${offset.toFixed(1)}`;
  };
  const showSection = (section) => {
    const shape = section.value;
    if (shape?.sections?.length) {
      view?.section(shape.sections[0].pointsMm, shape.sections[0].offsetMm ?? 0);
      if (offset === undefined) slide.value = shape.sections[0].offsetMm ?? 0;
      drawn.replaceChildren(sectionPicture(shape));
      cutWords.textContent = sectionWords(shape);
    } else {
      if (offset === undefined) { view?.section(); drawn.replaceChildren(); }
      cutWords.textContent = section.reason?.message ?? shape?.notes?.[0] ?? 'Nothing is cut here.';
    }
    drawn.dataset.measured = `${rotation},${offset === undefined ? 'best' : offset.toFixed(1)}`;
  };
  const refresh = async () => {
    asking?.abort();
    asking = new AbortController();
    const {signal} = asking;
    turned.textContent = `turned ${degrees(rotation)}`;
    wallText.textContent = lean(wall);
    view?.turn(rotation);
    view?.tilt(wall);
    cutHere();
    const where = offset === undefined ? '' : `&offset=${offset.toFixed(1)}`, of = shownScan === scan.id ? '' : `&scan=${shownScan}`;
    const [judged, section] = await Promise.allSettled([
      get(holdPath(id, `/verdict?rotation=${rotation}&wallAngle=${wall}`), signal),
      get(holdPath(id, `/section?rotation=${rotation}${where}${where && of}`), signal)]);
    if (signal.aborted) return;
    verdict.replaceChildren(...(judged.value ? verdictParts(judged.value)
                                             : [h('p', {}, judged.reason.message)]));
    verdict.dataset.at = `${rotation},${wall}`;
    showSection(section);
  };
  const turn = {rotation, set: (deg) => { rotation = deg; refresh(); }};
  const go = (deg) => { location.hash = `#/hold/${encodeURIComponent(id)}?at=${deg % 360}`; };
  const {stage, view} = picture(hold, words, turn);
  const cutAt = (mm) => { offset = mm; slide.value = mm; refresh(); };
  if (view) view.onpick = cutAt;
  slide.addEventListener('input', () => cutAt(Number(slide.value)));
  tilt.addEventListener('input', () => { wall = Number(tilt.value); refresh(); });
  const past = h('ol', {class: 'history'});
  let gone = false;
  const showScan = async (which = shownScan) => {
    shownScan = which;
    const first = which === scan.id ? coarse : undefined;
    coarse = undefined;
    await showMesh(view, holdPath(id, `/mesh.glb?scan=${which}`), first, () => !gone && shownScan === which && view.heat !== 'value');
    cutHere();
  };
  const chosen = h('section', {class: 'panel', 'aria-label': 'Section'}, h('h2', {}, 'Section'), drawn, cutWords,
    h('label', {class: 'tilt', for: 'cut-at'}, h('span', {}, 'Cut at'), slide, slideText),
    h('p', {class: 'soft'}, 'Touch the hold where you want it cut; the slider moves the cut to the left and right of the bolt.'), best);
  main.replaceChildren(head, h('div', {class: 'hold'},
    h('div', {class: 'hold-view'}, stage, turned,
      h('label', {class: 'tilt', for: 'wall'}, h('span', {}, 'Wall'), tilt, wallText), heatChoice(view, hold, scans, showScan)),
    h('div', {class: 'hold-text'}, verdict, chosen,
      h('section', {class: 'panel'}, h('h2', {}, 'Good for'), wordsList(words, go))),
    h('div', {class: 'hold-text'},
      h('section', {class: 'panel'}, h('h2', {}, 'Size'), sizes(scan.shape)),
      onDemand('Its bolt', () => boltContent(id)),
      onDemand('Same lip, lower', () => lowerContent(hold, scan.shape, rotation)),
      onDemand('Twins', () => twinsContent(id)),
      onDemand(scans.length > 1 ? `Scans over time: ${scans.length}` : 'Scans over time: one so far', async () =>
        [scansContent(scans, showScan), scans.length > 1 ? await wearContent(id) : h('p', {class: 'soft'}, 'Wear shows from the second scan on.')]),
      moves(hold, about),
      h('section', {class: 'panel'}, h('h2', {}, 'History'), past))));
  atEnd(() => { gone = true; asking?.abort(); view?.close(); });
  const history = async () => past.replaceChildren(...((await get(holdPath(id, '/history'))).events ?? []).map(
    (event) => h('li', {}, `${time(event.at)}, ${event.who}: ${eventText(event)}`)));
  atEnd(listen('library', history));
  await Promise.all([showScan(scan.id), refresh(), history()]);
  // The server makes the hold ready to be cut, so that the first touch is answered at once.
  get(holdPath(id, `/section?rotation=${rotation}&offset=0`)).catch(() => {});
}
