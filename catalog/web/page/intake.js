// SPDX-License-Identifier: Apache-2.0
// Intake: photos in, hold out. One screen lists what is on its way, one shows one of them.
import {address, get, listen, onReturn, post, remove} from './api.js';
import {coverageView} from './coverage.js';
import {h, notice, openSheet, say} from './dom.js';
import {takeDrops} from './drop.js';
import {time} from './format.js';
import {resultView} from './intake_result.js';
import {keptFiles, onKept} from './kept_files.js';
import {byIntake, keptOffer, photosText, unsentOf} from './kept_offer.js';
import {roleText} from './pair.js';
import {Uploads} from './upload.js';

const STATES = {COLLECTING: 'taking photos', WAITING: 'waiting for its turn', RUNNING: 'being rebuilt',
                CHOOSING: 'rebuilt; say what it is', STORED: 'in the library', FAILED: 'could not be rebuilt'};
const LABELS = [['name', 'Name'], ['bin', 'Bin'], ['set', 'Set'], ['maker', 'Maker'], ['texture', 'Texture'],
                ['holdId', 'Id (empty: the next free one)'], ['count', 'Identical pieces']];
const QUALITIES = [['draft', 'draft, quick: are the photos good?'], ['normal', 'normal'], ['fine', 'fine, slow']];

const remembered = (key, fallback) => { try { return localStorage.getItem(key) ?? fallback; } catch { return fallback; } };
const remember = (key, value) => { try { localStorage.setItem(key, value); } catch { /* Private window. */ } };

const field = (id, label, input) => h('div', {class: 'field'}, h('label', {for: id}, label), input);

/** The mat that the photos show: one of ours by its paper, or one that the clerk has the file of. */
function matFields(chosen) {
  const file = h('input', {id: 'mat-file', type: 'file', accept: '.json,application/json', class: 'plain-file'});
  const fileField = field('mat-file', 'Its file, mat.json', file);
  const paper = h('select', {id: 'paper'}, [['A4', 'A4 mat'], ['A3', 'A3 mat'], ['A2', 'A2 mat'], ['', 'Another mat']].map(
    ([value, label]) => h('option', {value, selected: value === chosen}, label)));
  const ruler = h('input', {id: 'ruler', type: 'number', min: 80, max: 125, step: 0.1, placeholder: 'not measured', inputmode: 'decimal'});
  const show = () => { fileField.hidden = paper.value !== ''; };
  paper.addEventListener('change', show);
  show();
  return {
    view: [field('paper', 'Mat under the hold', paper), fileField, field('ruler', 'Its 100 mm ruler measures, mm', ruler)],
    async wishes() {
      remember('paper', paper.value);
      const wanted = {paper: paper.value, ...(ruler.value && {matScale: Number(ruler.value) / 100})};
      if (paper.value) return wanted;
      if (!file.files[0]) throw new Error('Choose the file that describes the mat.');
      try {
        wanted.mat = JSON.parse(await file.files[0].text());
      } catch {
        throw new Error('That file is no mat: choose the .json that came with the mat’s PDF.');
      }
      return wanted;
    },
  };
}

/** Opens an intake for photos on this mat, {paper, mat, matScale}, and gives its id. */
const beginOn = async (mat) => (await post('/intakes', {...mat, count: 1, quality: remembered('quality', 'normal')})).id;

function intakeRow(intake, waiting) {
  return h('li', {}, h('a', {class: 'panel intake-row', href: `#/intake/${intake.id}`},
    h('strong', {}, intake.storedAs || intake.name || `Begun ${time(intake.createdAt)}`),
    h('span', {}, `${STATES[intake.state]}${intake.state === 'RUNNING' ? `: ${intake.step}` : ''}`),
    h('span', {class: 'soft'}, `${intake.who}, ${intake.coverage?.usable ?? 0} usable photos`),
    waiting && intake.state !== 'STORED' ? h('span', {class: 'miss'},
      `${photosText(waiting)} on this device ${waiting.length === 1 ? 'is' : 'are'} not sent yet: open it, and sending goes on`) : null));
}

/** Of photos on this device those that no intake takes any more, with what can be done with them. */
function leftOver(groups, intakes, begin, changed) {
  const known = new Map(intakes.map((intake) => [intake.id, intake]));
  const over = [...groups].filter(([id, photos]) => photos.length && (!known.has(id) || known.get(id).state === 'STORED'));
  return over.length ? [h('h2', {}, 'Left on this device'),
    h('p', {}, 'These photos were not sent before their intake was thrown away or stored.'),
    ...over.map(([id, photos]) => keptOffer(photos, {begin, changed, title: known.has(id)
      ? `${photosText(photos)} of ${known.get(id).storedAs}, which is in the library`
      : `${photosText(photos)} of an intake that is gone`}))] : [];
}

async function listScreen(main, atEnd) {
  document.title = 'Intake - Holdshelf';
  const mat = matFields(remembered('paper', 'A4'));
  const problem = h('p', {class: 'miss', role: 'alert'});
  const rows = h('ul', {class: 'devices'}), left = h('div', {class: 'kept-list'});
  const begin = async (event) => {
    event.preventDefault();
    problem.textContent = '';
    try {
      location.hash = `#/intake/${await beginOn(await mat.wishes())}`;
    } catch (error) { problem.textContent = error.message; }
  };
  // The mat that was written down with the photos, else the one that is chosen above.
  const beginWith = async (known) => beginOn(known ?? await mat.wishes());
  let asked = 0;
  const list = async () => {
    const turn = ++asked;
    const {intakes = []} = await get('/intakes');
    const groups = byIntake(await keptFiles());
    for (const {id, state} of intakes)
      if (state === 'STORED' && groups.has(id)) groups.set(id, await unsentOf(await get(`/intakes/${id}`)));
    if (turn !== asked) return;  // A later one shows what is there now.
    rows.replaceChildren(...(intakes.length ? intakes.map((intake) => intakeRow(intake, groups.get(intake.id)))
      : [h('li', {class: 'soft'}, 'Nothing is on its way.')]));
    left.replaceChildren(...leftOver(groups, intakes, beginWith, refresh));
  };
  const refresh = () => list().catch(() => {});
  main.replaceChildren(h('h1', {}, 'Take a hold in'),
    h('p', {}, 'Lay the hold on the mat, bolt hole on the cross, and photograph it from all around: low, middle, high. ',
      h('a', {class: 'inline', href: address('/mat.pdf?paper=A4'), target: '_blank', rel: 'noopener'}, 'Print a mat')),
    h('form', {class: 'panel fields', onsubmit: begin}, mat.view, problem,
      h('button', {class: 'act', type: 'submit'}, 'Next: the photos')),
    h('h2', {}, 'On their way'), rows, left);
  // Before the first look: nothing is missed in between.
  atEnd(listen('intake', ({photo}) => photo || refresh()));
  atEnd(onKept(refresh));
  await list();
}

/** One photo: its picture, how far it is, what is wrong with it. */
function photoView(photo, item, intake, drop) {
  const look = photo?.look;
  const state = item?.state === 'failed' ? item.message
    : !photo || photo.state === 'UPLOADING' ? item ? `${Math.round(100 * item.sent / item.size)} % sent`
      : `${Math.round(100 * Number(photo.received ?? 0) / Number(photo.size))} % here; give it again`
    : photo.state === 'LOOKING' ? 'looking for the mat'
    : look.usable ? `${look.markersFound ?? 0} of ${look.markersInAll} markers` : look.sentence;
  const bad = item?.state === 'failed' || (photo?.state === 'LOOKED' && !look.usable);
  const name = photo?.name ?? item?.name;
  return h('li', {class: bad ? 'photo bad' : 'photo', 'data-state': photo?.state ?? item?.state},
    photo?.state === 'LOOKED' && look.widthPx ? h('img', {alt: '', loading: 'lazy',
      src: address(`/intakes/${intake}/photos/${photo.sha256}/picture`)}) : h('div', {class: 'photo-blank'}),
    h('div', {class: 'photo-text'}, h('span', {class: 'photo-name'}, name), h('span', {}, bad ? `✕ ${state}` : state)),
    bad || photo?.state === 'UPLOADING' ? h('button', {class: 'act quiet', type: 'button', 'aria-label': `Remove ${name}`,
      onclick: () => drop(photo?.sha256 ?? item.sha256)}, 'Remove') : null);
}

/** In place of an intake that is not there any more. Its photos on this device are still the clerk's. */
async function goneScreen(main, id, sentence) {
  const kept = await keptFiles(id);
  main.replaceChildren(notice('This intake is gone', sentence,
    kept.length ? h('p', {}, `${photosText(kept)} of it ${kept.length === 1 ? 'was' : 'were'} not sent: ${kept.length === 1 ? 'it is' : 'they are'} still on this device.`) : null,
    h('a', {class: 'act', href: '#/intake'}, kept.length ? 'To the intakes, and these photos' : 'To the intakes')));
}

async function oneScreen(main, id, atEnd) {
  document.title = 'Intake - Holdshelf';
  const asked = await get(`/intakes/${encodeURIComponent(id)}`).catch((error) => {
    if (error.status !== 400) throw error;
    return goneScreen(main, id, error.message);
  });
  if (asked) await livingScreen(main, asked, atEnd);
}

async function livingScreen(main, asked, atEnd) {
  let intake = asked;
  const mat = {paper: intake.paper, mat: intake.mat, matScale: intake.matScale};
  const path = `/intakes/${intake.id}`;
  const parts = {head: h('div', {'aria-live': 'polite'}), photos: h('ul', {class: 'photos'}), side: h('div', {class: 'intake-side'}), result: h('div')};
  const steps = [];
  const uploads = new Uploads(intake.id, {
    changed: () => draw(),
    photo: (photo) => { mergePhoto(photo); draw(); },
    mat,
  });

  function mergePhoto(photo) {
    const photos = intake.photos ??= [];
    const place = photos.findIndex((one) => one.sha256 === photo.sha256);
    if (place < 0) photos.push(photo);
    else photos[place] = photo;
  }

  const act = (ask) => async () => {
    try {
      const reply = await ask();
      if (reply?.id === intake.id) intake = reply;
      draw();
    } catch (error) { say(error.message); }
  };
  const drop = async (sha) => {
    await uploads.drop(sha);
    await act(async () => (intake.photos ?? []).some((photo) => photo.sha256 === sha)
      ? remove(`${path}/photos/${sha}`) : intake)();
  };

  let leaving = false;
  function throwAway() {
    const {sheet} = openSheet('Throw it away?', h('div', {},
      h('p', {}, 'Its photos and what was rebuilt are deleted. What is in the library stays.'),
      h('button', {class: 'act', type: 'button', onclick: async () => {
        sheet.close();
        leaving = true;
        try {
          await remove(path);
        } catch (error) {
          // It lives on, and with it what this device has not sent yet.
          leaving = false;
          say(error.message);
          return;
        }
        await uploads.throwAway();
        location.hash = '#/intake';
      }}, 'Throw it away')), 'Keep it');
  }

  // The form is built once, so that nothing that is being typed is lost while photos come in.
  const inputs = Object.fromEntries(LABELS.map(([key]) => [key, h('input', {id: `label-${key}`, autocomplete: 'off',
    value: intake[key] ?? '', ...(key === 'count' ? {type: 'number', min: 1, max: 100000, inputmode: 'numeric'} : {})})]));
  const quality = h('select', {id: 'quality'}, QUALITIES.map(([value, label]) =>
    h('option', {value, selected: value === intake.quality}, label)));
  const saveLabels = async () => {
    const wanted = {paper: intake.paper, mat: intake.mat, matScale: intake.matScale, quality: quality.value};
    for (const [key] of LABELS) wanted[key] = key === 'count' ? Number(inputs.count.value) || 1 : inputs[key].value.trim();
    remember('quality', quality.value);
    intake = await post(path, wanted);
  };
  for (const input of [...Object.values(inputs), quality])
    input.addEventListener('change', () => saveLabels().catch((error) => say(error.message)));
  const form = h('details', {class: 'panel labels-form'}, h('summary', {}, h('strong', {}, 'What you know of it')),
    h('div', {class: 'fields'}, LABELS.map(([key, label]) => field(`label-${key}`, label, inputs[key]))));

  const give = async (files, unread = []) => {
    const others = files.filter((file) => !/\.(jpe?g|png)$/i.test(file.name)).length;
    const tell = (names) => {
      const named = names.length > 3 ? `${names.slice(0, 3).join(', ')} and ${names.length - 3} more` : names.join(', ');
      const problems = [names.length && `${named} could not be read.`,
        others && `${others} of ${files.length} files are no JPEG or PNG and were left out.`,
        !names.length && !files.length && 'There is no file in it.'].filter(Boolean);
      if (problems.length) say(problems.join(' '));
    };
    tell(unread);
    const lost = await uploads.add(files);  // Not before this were they read.
    if (lost.length) tell([...unread, ...lost]);
  };
  const chooser = (label, attributes) => {
    const input = h('input', {type: 'file', multiple: true, class: 'hidden-file', ...attributes, onchange: () => {
      const files = [...input.files];
      input.value = '';  // Else choosing the same once more would be no change.
      give(files);
    }});
    return h('label', {class: attributes.webkitdirectory ? 'act quiet from-folder' : 'act'}, label, input);
  };
  const givers = h('div', {class: 'chips'}, chooser('Take or choose photos', {accept: 'image/jpeg,image/png', id: 'photos'}),
    chooser('A whole folder', {webkitdirectory: true, id: 'folder'}),
    h('p', {class: 'soft from-folder'}, 'or drop photos, or their folder, anywhere on this page'));
  const go = h('button', {class: 'act wide', type: 'button', onclick: act(async () => {
    await saveLabels();
    steps.length = 0;
    return post(`${path}/start`, {});
  })}, 'Rebuild it');
  const controls = h('section', {class: 'panel'}, givers, field('quality', 'Quality', quality), go);

  function progressView() {
    return h('section', {class: 'panel'},
      h('h2', {}, intake.state === 'WAITING' ? 'Waiting for its turn' : 'Being rebuilt'),
      h('ol', {class: 'steps'}, steps.map((step, i) => h('li', {class: i + 1 < steps.length ? 'past' : 'now'}, step,
        i + 1 < steps.length ? ' ✓' : ''))),
      intake.state === 'RUNNING' ? h('progress', {max: 1, value: intake.done ?? 0, 'aria-label': intake.step}) : null,
      h('p', {class: 'soft'}, 'You can close this page: it goes on by itself.'),
      h('button', {class: 'act quiet', type: 'button', onclick: act(() => post(`${path}/cancel`, {}))}, 'Stop it'));
  }

  function headView() {
    const items = [...uploads.items.values()];
    const sent = items.reduce((sum, item) => sum + item.sent, 0), all = items.reduce((sum, item) => sum + item.size, 0);
    const name = intake.storedAs || intake.name || 'A hold on its way in';
    return [h('h1', {}, name),
      h('p', {class: 'intake-state', 'data-state': intake.state}, `${STATES[intake.state][0].toUpperCase()}${STATES[intake.state].slice(1)}.`),
      intake.state === 'FAILED' ? h('p', {class: 'miss', role: 'alert'}, intake.sentence) : null,
      uploads.trouble ? h('p', {class: 'miss', role: 'alert'}, `${uploads.trouble} ${uploads.needsPage ? 'S' : 'Nothing is lost: s'}ending ` +
        'goes on as soon as it can.') : null,
      uploads.needsPage && intake.state !== 'STORED' ? h('p', {class: 'miss'}, 'This browser keeps no copy of your photos: keep this page open until ' +
        'all are sent.') : null,
      uploads.busy && all ? h('progress', {max: all, value: sent, 'aria-label': 'Photos sent'}) : null];
  }

  function draw() {
    const collecting = ['COLLECTING', 'FAILED'].includes(intake.state) || intake.state === 'CHOOSING';
    parts.head.replaceChildren(...headView().filter(Boolean));
    const shown = new Map((intake.photos ?? []).map((photo) => [photo.sha256, photo]));
    // The library has those of a stored one.
    const all = new Set(intake.state === 'STORED' ? [] : [...shown.keys(), ...uploads.items.keys()]);
    parts.photos.replaceChildren(...[...all].map((sha) => photoView(shown.get(sha), uploads.items.get(sha), intake.id, drop)));
    const busy = ['WAITING', 'RUNNING'].includes(intake.state);
    if (busy && intake.step && steps.at(-1) !== intake.step) steps.push(intake.step);
    controls.hidden = form.hidden = !collecting;
    const ready = (intake.photos ?? []).length > 0 && !uploads.busy &&
                  intake.photos.every((photo) => photo.state === 'LOOKED') && intake.coverage?.usable > 0;
    go.disabled = !ready;
    go.textContent = intake.state === 'CHOOSING' ? 'Rebuild it again' : 'Rebuild it';
    parts.side.replaceChildren(...[busy ? progressView() : null,
      intake.state === 'STORED' ? h('section', {class: 'panel'}, h('h2', {}, `In the library as ${intake.storedAs}`),
        h('div', {class: 'chips'}, h('a', {class: 'act', href: `#/hold/${encodeURIComponent(intake.storedAs)}`}, 'Show it'),
          h('a', {class: 'act quiet', href: `#/labels?holds=${encodeURIComponent(intake.storedAs)}`}, 'Its label'),
          h('a', {class: 'act quiet', href: '#/intake'}, 'Next hold'))) : coverageView(intake.coverage),
      busy || intake.state === 'STORED' ? null : h('button', {class: 'act quiet', type: 'button', onclick: throwAway},
                                                    'Throw it away')].filter(Boolean));
    drawResult();
  }

  let drawnResult = '', result;
  function drawResult() {
    // Pictures are not loaded anew for every photo that comes in.
    const key = JSON.stringify([intake.state, intake.report?.times, intake.again]);
    if (key !== drawnResult) {
      drawnResult = key;
      result = intake.state !== 'CHOOSING' ? undefined : resultView(intake, (kind, of) => act(async () => {
        await saveLabels();
        return post(`${path}/store`, {kind, of});
      })());
      parts.result.replaceChildren(...(result ? [result.view] : []));
      if (intake.state === 'STORED') endSending();
    }
    // What is stored takes no more of them.
    const coming = uploads.busy || (intake.photos ?? []).some((photo) => photo.state === 'UPLOADING');
    result?.hold(coming ? 'Photos are still on their way: wait for them, or remove them.' : '');
  }

  /** What this device has not sent when it is stored is shown, with what can be done with it. */
  function endSending() {
    uploads.stop();
    const show = async () => {
      const kept = await unsentOf(intake);
      parts.result.replaceChildren(...(kept.length ? [keptOffer(kept, {changed: show, begin: (known) => beginOn(known ?? mat),
        title: `${photosText(kept)} ${kept.length === 1 ? 'was' : 'were'} not sent before the hold was stored`})] : []));
    };
    show();
    atEnd(onKept(show));
  }

  const screen = h('div', {class: 'intake'},
    h('div', {class: 'intake-main'}, parts.head, parts.result, controls, form, parts.photos), parts.side);
  takeDrops(screen, atEnd, (files, unread) => {
    if (controls.hidden) say('Photos are taken before a hold is rebuilt: begin another intake for these.');
    else give(files, unread);
  });
  main.replaceChildren(screen);
  draw();
  atEnd(() => uploads.stop());
  const refresh = async () => {
    if (leaving) return;
    try {
      intake = await get(path);
    } catch (error) {
      if (error.status !== 400) throw error;
      uploads.stop();
      await goneScreen(main, intake.id, error.message);
      return;
    }
    draw();
  };
  atEnd(listen('intake', async (moved) => {
    if (moved.id !== intake.id) return;
    if (moved.state === 'RUNNING' && !moved.photo && intake.state === 'RUNNING') {
      Object.assign(intake, {step: moved.step, done: moved.done});
      draw();
    } else await refresh().catch(() => {});
  }));
  atEnd(onReturn(() => refresh().catch(() => {})));
  if (intake.state !== 'STORED') await uploads.resume();
}

/** Shows the screen in `main`. */
export async function intakeScreen(main, {about, rest, atEnd}) {
  if (!['log', 'head'].includes(about.role)) {
    const show = async () => main.replaceChildren(notice('For who takes holds in', `This device may ${roleText(about.role)}. ` +
      'Taking holds in needs the role log: ask the head setter.'),
      ...[...byIntake(await keptFiles()).values()].map((photos) => keptOffer(photos, {changed: show,
        title: `${photosText(photos)} on this device not sent yet`})));
    await show();
    return;
  }
  await (rest[0] ? oneScreen(main, rest[0], atEnd) : listScreen(main, atEnd));
}
