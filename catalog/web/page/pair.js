// SPDX-License-Identifier: Apache-2.0
// Pairing: a device that is not known yet shows its code here.
import {post} from './api.js';
import {h, say} from './dom.js';
import {keptFiles} from './kept_files.js';
import {photosText} from './kept_offer.js';

const ROLES = {look: 'look at everything', set: 'move holds and write notes',
               log: 'take holds in and change what is written of them', head: 'do everything'};

/** What a role may, for people. */
export const roleText = (role) => ROLES[role] ?? 'nothing yet';

/** A first guess at what the phone is called. */
function deviceGuess() {
  const found = navigator.userAgent.match(/iPhone|iPad|Android|Windows|Mac|Linux/);
  return found ? `${found[0]} device` : '';
}

/** What this device may now, and what waits for that. */
async function pairedText(role) {
  const waiting = await keptFiles();
  return `Paired: this device may ${roleText(role)}.${waiting.length ? ` ${photosText(waiting)} on it still to be sent: see Take in.` : ''}`;
}

/** Shows the screen in `main`; `code` may come with the address that was photographed. Once paired it goes on
 *  to `next`, an address of this page. */
export function pairScreen(main, code, next) {
  document.title = 'Pair - Holdshelf';
  const digits = h('input', {id: 'code', inputmode: 'numeric', autocomplete: 'one-time-code', maxlength: 12,
                             required: true, placeholder: '0000-0000', value: code});
  const name = h('input', {id: 'device', maxlength: 40, required: true, autocomplete: 'off',
                           value: deviceGuess()});
  const problem = h('p', {class: 'miss', role: 'alert'});
  const button = h('button', {class: 'act', type: 'submit'}, 'Pair this device');
  const form = h('form', {class: 'pair', onsubmit: async (event) => {
    event.preventDefault();
    button.disabled = true;
    problem.textContent = '';
    try {
      const device = await post('/pair', {code: digits.value, name: name.value});
      say(await pairedText(device.role));
      location.hash = next;
      window.dispatchEvent(new Event('settings'));
    } catch (error) {
      problem.textContent = error.message;
      digits.select();
    }
    button.disabled = false;
  }},
  h('label', {for: 'code'}, 'Code'), digits, h('label', {for: 'device'}, 'What to call this device'), name,
  problem, button);
  main.replaceChildren(h('section', {class: 'notice'},
    h('h1', {}, 'Pair this device'),
    h('p', {}, 'The computer that holds the library shows a code of eight digits; the head setter can make ' +
               'one under More, Devices. A code works once, for ten minutes.'), form));
  (code ? name : digits).focus();
}
