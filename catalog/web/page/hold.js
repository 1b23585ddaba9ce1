// SPDX-License-Identifier: Apache-2.0
// Hold: the mesh on its bolt, turned and tilted, with what hands and feet get from it.
import {address, get, getBytes, holdPath, listen, post} from './api.js';
import {colourText} from './colour.js';
import {dial} from './dial.js';
import {chips, h, notice, say} from './dom.js';
import {angle, area, degrees, length, STATUS, time, volume} from './format.js';
import {HEATS, MeshView} from './mesh_view.js';
import {sectionPicture, sectionWords} from './section.js';

const ANSWER = {YES: 'yes', NO: 'no', BORDERLINE: 'borderline', ANSWER_UNSPECIFIED: 'not known'};

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

/** The picture with its ring; null and a sentence where there is no WebGL. */
function picture(hold, words, turn) {
  const canvas = h('canvas', {class: 'mesh', 'aria-label': `${hold.name || hold.id} in 3D`, role: 'img'});
  const stage = h('div', {class: 'stage'}, canvas, dial(words, turn.rotation, turn.set));
  try {
    return {stage, view: new MeshView(canvas)};
  } catch {
    stage.replaceChildren(h('img', {src: address(holdPath(hold.id, '/thumbnail')), alt: `Picture of ${hold.id}`}),
                          dial(words, turn.rotation, turn.set));
    return {stage, view: null};
  }
}

function moves(hold) {
  const move = (status) => async () => {
    try {
      await post(holdPath(hold.id, '/move'), {status});
      say(`${hold.id} is ${STATUS[status]}.`);
    } catch (error) {
      say(error.message);
    }
  };
  return h('div', {class: 'chips'}, Object.entries(STATUS).filter(([status]) =>
    status !== (hold.status ?? 'SHELF') && !['RETIRED', 'CRATE'].includes(status)).map(([status, text]) =>
    h('button', {class: 'chip', type: 'button', onclick: move(status)}, text)));
}

/** Shows the screen in `main`. */
export async function holdScreen(main, {rest, query, atEnd}) {
  const id = rest[0] ?? '';
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
  let rotation = Number(query.get('at') ?? 0), wall = 0, offset, asking;
  const verdict = h('section', {class: 'panel', 'aria-live': 'polite', 'aria-label': 'In this mounting'});
  const cut = h('section', {class: 'panel', 'aria-label': 'Section'});
  const turned = h('output', {class: 'turned'});
  const tilt = h('input', {type: 'range', min: -20, max: 60, step: 5, value: 0, id: 'wall'});
  const wallText = h('output', {});

  const refresh = async () => {
    asking?.abort();
    asking = new AbortController();
    const {signal} = asking;
    turned.textContent = `turned ${degrees(rotation)}`;
    wallText.textContent = wall === 0 ? 'vertical' : wall > 0 ? `${wall}° overhanging` : `${-wall}° slab`;
    view?.turn(rotation);
    view?.tilt(wall);
    const where = offset === undefined ? '' : `&offset=${offset.toFixed(1)}`;
    const [judged, section] = await Promise.allSettled([
      get(holdPath(id, `/verdict?rotation=${rotation}&wallAngle=${wall}`), signal),
      get(holdPath(id, `/section?rotation=${rotation}${where}`), signal)]);
    if (signal.aborted) return;
    verdict.replaceChildren(...(judged.value ? verdictParts(judged.value)
                                             : [h('p', {}, judged.reason.message)]));
    verdict.dataset.at = `${rotation},${wall}`;
    const shape = section.value;
    view?.section(shape?.sections?.[0]?.pointsMm, shape?.sections?.[0]?.offsetMm ?? 0);
    cut.replaceChildren(h('h2', {}, 'Section'), ...(shape?.sections?.length
      ? [sectionPicture(shape), h('p', {}, sectionWords(shape))]
      : [h('p', {}, section.reason?.message ?? 'Nothing is cut here.')]),
      h('p', {class: 'soft'}, 'Touch the hold where you want it cut.'));
  };
  const turn = {rotation, set: (deg) => { rotation = deg; refresh(); }};
  const go = (deg) => { location.hash = `#/hold/${encodeURIComponent(id)}?at=${deg % 360}`; };
  const {stage, view} = picture(hold, words, turn);
  tilt.addEventListener('input', () => { wall = Number(tilt.value); refresh(); });
  const heat = new Set(['plain']);
  const legend = h('p', {class: 'soft'});
  const heats = chips('Colours of the picture', ['plain', 'slope', 'guesswork'].map((name) =>
    [name, HEATS[name].label]), heat, {onchange: () => {
    const name = [...heat][0] ?? 'plain';
    view?.heatMap(name);
    legend.textContent = HEATS[name].low ? `Pale: ${HEATS[name].low}. Dark: ${HEATS[name].high}.` : '';
  }});
  const past = h('ol', {class: 'history'});
  const showScan = async (which) => view?.show(await getBytes(holdPath(id, `/mesh.glb?scan=${which}`)));
  const scanChoice = new Set([scan.id]);
  main.replaceChildren(head, h('div', {class: 'hold'},
    h('div', {class: 'hold-view'}, stage, turned,
      h('label', {class: 'tilt', for: 'wall'}, h('span', {}, 'Wall'), tilt, wallText), heats, legend,
      scans.length > 1 && chips('Scans', scans.map((each) => [each.id, time(each.takenAt)]), scanChoice,
                                {onchange: () => showScan([...scanChoice][0] ?? scan.id)})),
    h('div', {class: 'hold-text'}, verdict, cut,
      h('section', {class: 'panel'}, h('h2', {}, 'Size'), sizes(scan.shape)),
      h('section', {class: 'panel'}, h('h2', {}, 'Good for'), wordsList(words, go)),
      h('section', {class: 'panel'}, h('h2', {}, 'It goes to'), moves(hold)),
      h('section', {class: 'panel'}, h('h2', {}, 'History'), past))));
  atEnd(() => { asking?.abort(); view?.close(); });
  const history = async () => past.replaceChildren(...((await get(holdPath(id, '/history'))).events ?? []).map(
    (event) => h('li', {}, `${time(event.at)}, ${event.who}: ${eventText(event)}`)));
  atEnd(listen('library', history));
  await Promise.all([showScan(scan.id), refresh(), history()]);
}
