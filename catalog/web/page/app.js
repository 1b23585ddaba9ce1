// SPDX-License-Identifier: Apache-2.0
// The frame around the screens: which one is shown, and the way between them.
import {get} from './api.js';
import {crateScreen} from './crate.js';
import {cratesScreen} from './crates.js';
import {drawScreen} from './draw.js';
import {devicesScreen} from './devices.js';
import {h, notice, say} from './dom.js';
import {headScreen} from './head.js';
import {holdScreen} from './hold.js';
import {intakeScreen} from './intake.js';
import {labelsScreen} from './labels.js';
import {moreScreen} from './more.js';
import {pairScreen} from './pair.js';
import {shelfScreen} from './shelf.js';
import {twinsScreen} from './twins.js';
import {wallsScreen} from './walls.js';

const ROOMS = [['shelf', 'Shelf'], ['intake', 'Take in'], ['draw', 'Draw a lip'], ['crates', 'Crates'], ['head', 'Head setter'], ['more', 'More']];
const SCREENS = {shelf: shelfScreen, draw: drawScreen, crates: cratesScreen, crate: crateScreen, head: headScreen, twins: twinsScreen, walls: wallsScreen,
                 hold: holdScreen, more: moreScreen, devices: devicesScreen, intake: intakeScreen, labels: labelsScreen};
const ROOM_OF = {hold: 'shelf', crate: 'crates', walls: 'crates', twins: 'head', devices: 'more', labels: 'more'};

let leave = () => {};

/** "#/hold/H-0001?at=30" gives ['hold', 'H-0001'] and the words after the question mark. */
function place() {
  const [path, query] = location.hash.replace(/^#\/?/, '').split('?');
  const parts = path.split('/').filter(Boolean).map(decodeURIComponent);
  return {screen: parts[0] ?? 'shelf', rest: parts.slice(1), query: new URLSearchParams(query)};
}

function showRooms(current) {
  document.getElementById('rooms').replaceChildren(...ROOMS.map(([name, label]) =>
    h('a', {href: `#/${name}`, 'aria-current': name === current ? 'page' : undefined}, label)));
}

let shown;  // The address of the screen that is there.
let wanted = '#/shelf';  // The last that was asked for, but for the pairing's own: there it goes on once paired.

async function show() {
  shown = location.hash;
  leave();
  // A place of its own: what is still under way for the screen before goes on where nobody sees it.
  const main = h('div', {}), ends = [];
  let over = false;
  leave = () => { over = true; ends.forEach((f) => f()); };
  document.getElementById('screen').replaceChildren(main);
  for (const sheet of document.querySelectorAll('dialog[open]')) sheet.close();
  const {screen, rest, query} = place();
  if (screen !== 'pair') wanted = location.hash || '#/shelf';
  showRooms(ROOM_OF[screen] ?? screen);
  main.replaceChildren(notice('One moment', 'Asking the library.'));
  try {
    const about = await get('/about');
    const make = SCREENS[screen];
    if (!about.role) {
      document.getElementById('rooms').replaceChildren();
      pairScreen(main, (screen === 'pair' && rest[0]) || '', wanted);
      return;
    }
    if (screen === 'pair') {
      main.replaceChildren(notice('This device is paired', 'Nothing more is needed.',
                                  h('a', {class: 'act', href: '#/shelf'}, 'To the shelf')));
      return;
    }
    if (!make) {
      main.replaceChildren(notice('No such screen', 'The address names none.',
                                  h('a', {class: 'act', href: '#/shelf'}, 'To the shelf')));
      return;
    }
    await make(main, {about, rest, query, atEnd: (f) => (over ? f() : ends.push(f))});
  } catch (error) {
    if (over) return;
    main.replaceChildren(notice('That did not work', error.message, h('button', {
      class: 'act', type: 'button', onclick: show}, 'Try again')));
    say(error.message);
  }
}

window.addEventListener('hashchange', () => {
  // Gone on from one place to the next at once: told twice, both times at the last.
  if (location.hash === shown) return;
  show();
  // At once: later it would take the focus from whatever is in use by then.
  document.getElementById('screen').focus({preventScroll: true});
  window.scrollTo(0, 0);
});
window.addEventListener('settings', show);
show();
