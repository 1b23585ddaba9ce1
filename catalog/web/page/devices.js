// SPDX-License-Identifier: Apache-2.0
// Devices: who may use the page over the network; a code for one more; withdrawing one.
import {get, listen, post, remove} from './api.js';
import {chips, h, notice, say} from './dom.js';
import {time} from './format.js';
import {roleText} from './pair.js';

const ROLES = [['look', 'Look'], ['set', 'Set'], ['log', 'Log'], ['head', 'Head']];

function codeView(code) {
  const picture = code.qrSvg ? h('img', {class: 'qr', alt: 'The same code to photograph with the phone',
    src: URL.createObjectURL(new Blob([code.qrSvg], {type: 'image/svg+xml'}))}) : null;
  return h('section', {class: 'panel code'},
    h('p', {}, 'On the other device, ', picture ? 'photograph this, or open ' : 'open ',
      h('strong', {}, (code.addresses ?? [])[0] ?? 'this page'), ' and type'),
    h('p', {class: 'code-digits'}, code.code),
    h('p', {class: 'soft'}, `One device, to ${roleText(code.role)}; until ${time(code.expiresAt)}.`), picture);
}

/** Shows the screen in `main`. */
export async function devicesScreen(main, {about, atEnd}) {
  document.title = 'Devices - Holdshelf';
  if (about.role !== 'head') {
    main.replaceChildren(notice('For the head setter', `This device may ${roleText(about.role)}. ` +
      'Pairing and withdrawing devices needs the role head.', leaveButton(about)));
    return;
  }
  const chosen = new Set(['set']);
  const made = h('div', {'aria-live': 'polite'});
  const rows = h('ul', {class: 'devices'});
  const says = h('p', {class: 'soft'});
  const explain = () => { says.textContent = `May ${roleText([...chosen][0])}.`; };
  const show = ({devices = []}) => rows.replaceChildren(...(devices.length ? devices.map((device) =>
    h('li', {class: 'panel'},
      h('div', {}, h('strong', {}, device.name), ` may ${roleText(device.role)}`,
        h('div', {class: 'soft'}, `last seen ${time(device.lastSeen)}, paired until ${time(device.expiresAt)}`)),
      h('button', {class: 'act quiet', type: 'button', 'aria-label': `Withdraw ${device.name}`,
                   onclick: async () => {
                     try {
                       show(await remove(`/devices/${device.id}`));
                       say(`${device.name} is shut out.`);
                     } catch (error) { say(error.message); }
                   }}, 'Withdraw')))
    : [h('li', {class: 'soft'}, 'No device is paired: only this computer can use the page.')]));
  const list = async () => show(await get('/devices'));
  explain();
  main.replaceChildren(
    h('h1', {}, 'Devices'),
    about.openToNetwork ? null : h('p', {class: 'miss'}, 'The page is open to this computer only. To let ' +
      'phones in, start it with: holdshelf serve --open'),
    h('h2', {}, 'Let one in'),
    chips('What it may do', ROLES, chosen, {onchange: () => {
      if (!chosen.size) chosen.add('look');
      explain();
    }}), says,
    h('button', {class: 'act', type: 'button', onclick: async () => {
      try {
        made.replaceChildren(codeView(await post('/pairing-codes', {role: [...chosen][0]})));
      } catch (error) { made.replaceChildren(h('p', {class: 'miss'}, error.message)); }
    }}, 'Make a code'), made,
    h('h2', {}, 'Paired'), rows, leaveButton(about),
    h('p', {class: 'soft'}, 'Nothing is encrypted on the way: use the gym’s own network, not its guests’.'));
  await list();
  atEnd(listen('devices', () => list().catch(() => {})));
}

/** For a paired device to give up its own pairing. */
function leaveButton(about) {
  return about.paired && h('button', {class: 'act quiet', type: 'button', onclick: async () => {
    try {
      await post('/leave', {});
      window.dispatchEvent(new Event('settings'));
    } catch (error) { say(error.message); }
  }}, 'Unpair this device');
}
