// SPDX-License-Identifier: Apache-2.0
// One crate or climb, shared live: what one phone does, the others show within a moment.
import {get, listen, post} from './api.js';
import {colourText} from './colour.js';
import {checksPart} from './crate_checks.js';
import {findPart} from './crate_find.js';
import {holdsPart} from './crate_holds.js';
import {pickPart} from './crate_pick.js';
import {recordPart} from './crate_record.js';
import {wallPart} from './crate_wall.js';
import {changeText, held, STATE} from './crates.js';
import {h, say} from './dom.js';
import {may} from './format.js';

const PARTS = [['holds', 'Holds', holdsPart], ['find', 'Find more', findPart], ['fetch', 'Fetch', pickPart],
               ['wall', 'Wall', wallPart], ['checks', 'Checks', checksPart], ['record', 'Record', recordPart]];

/** What the last changes were, for those who did not make them. */
async function newsSince(id, version, mine) {
  const events = (await get(`/climbs/${id}/history`)).events ?? [];
  return events.filter((event) => Number(event.number) > version && !mine.has(event.number))
    .map((event) => `${event.who}: ${changeText(event.climb ?? {})}`);
}

/** Shows the screen in `main`. */
export async function crateScreen(main, {about, rest, query, atEnd}) {
  const [id, part = 'holds'] = rest, path = `/climbs/${encodeURIComponent(id ?? '')}`;
  let climb = await get(path);
  const mine = new Set();
  const gym = await get('/gym');
  document.title = `${climb.name} - Holdshelf`;
  const head = h('p', {class: 'soft', 'aria-live': 'polite'}), news = h('ul', {class: 'news', 'aria-label': 'What others did just now'});
  const problem = h('div', {class: 'conflict', role: 'alert', hidden: true});

  const showHead = () => head.replaceChildren(`${climb.id}, ${STATE[climb.state] ?? ''}, ${[climb.zone, climb.grade, climb.setter].filter(Boolean).join(', ')}, ${held(climb).length} holds `,
    climb.colour ? colourText(climb.colour) : '');
  let behind = false;  // The part that is shown could not be brought to where the climb is.
  const take = async (next) => {
    climb = next;
    showHead();
    try {
      await current.update?.(climb);
      behind = false;
    } catch (error) {
      behind = true;
      throw error;
    }
  };
  // Live events wait for the answers to what is sent here: they would tell of it as another's.
  let answered = Promise.resolve();
  const send = async (what, to) => {
    let done;
    answered = Promise.all([answered, new Promise((resolve) => { done = resolve; })]);
    try {
      const next = await post(`${path}/change?version=${climb.version ?? 0}${to ? `&to=${to}` : ''}`, what);
      mine.add(next.version);
      return next;
    } finally {
      done();
    }
  };
  const tell = (first, sentence) => {
    problem.replaceChildren(h('strong', {}, first), sentence);
    problem.hidden = false;
  };
  /** To look again by hand where the page could not. */
  const again = () => h('p', {}, h('button', {class: 'act quiet', type: 'button', onclick: async () => {
    try {
      await reload();
      problem.hidden = true;
    } catch (error) { say(error.message); }
  }}, 'Look again'));
  const refused = async (error) => {
    const nobodyKnows = !error.status || error.status >= 500;
    if (error.status === 409) tell('Somebody else was first. ', error.message);
    else if (!nobodyKnows) tell('Not done. ', error.message);
    // No answer came, or the library was lost on the way: only what is there now tells.
    else tell('It may have been stored. ', `${error.message} Look whether it is there before you do it once more.`);
    const known = await reload().then(() => true, () => false);
    if (!known || nobodyKnows) problem.append(again());
    problem.scrollIntoView({block: 'nearest'});
  };
  /** One change, as seen at this version; gives false, with the reason shown, when it was refused or nobody knows. */
  const change = async (what, {to, done} = {}) => {
    problem.hidden = true;
    let next;
    try {
      next = await send(what, to);
    } catch (error) {
      await refused(error);
      return false;
    }
    say(done ?? 'Done.');
    await take(next).catch((error) => {
      tell('It is stored. ', `What is there now could not be read: ${error.message}`);
      problem.append(again());
      problem.scrollIntoView({block: 'nearest'});
    });
    return true;
  };
  const reload = async () => {
    await answered;
    const next = await get(path);
    if (next.version === climb.version && !behind) return;
    const fresh = await newsSince(id, Number(climb.version ?? 0), mine);
    if (fresh.length) {
      news.prepend(...fresh.map((text) => h('li', {}, text)));
      while (news.children.length > 3) news.lastChild.remove();
      say(fresh.at(-1));
    }
    await take(next);
  };
  const make = (PARTS.find(([name]) => name === part) ?? PARTS[0])[2];
  const current = await make({climb, gym, about, query, path, change, canSet: may(about, 'set') && climb.state !== 'STRIPPED'});
  showHead();
  main.replaceChildren(h('header', {class: 'hold-head'}, h('a', {href: '#/crates', class: 'act quiet'}, 'Crates'),
    h('div', {}, h('h1', {}, climb.name), head)),
    h('nav', {class: 'parts', 'aria-label': 'Parts of the climb'}, PARTS.map(([name, label]) =>
      h('a', {class: 'chip', href: `#/crate/${encodeURIComponent(id)}/${name}`, 'aria-current': name === part ? 'page' : undefined}, label))),
    news, problem, h('div', {class: 'crate'}, current.node));
  atEnd(listen('library', () => reload().catch((error) => say(error.message))));
  atEnd(() => current.close?.());
  await current.update?.(climb);
}
