// SPDX-License-Identifier: Apache-2.0
// The zone's panels with their T-nuts, and where each hold is mounted.
import {get} from './api.js';
import {held} from './crates.js';
import {chips, h, notice, s} from './dom.js';
import {degrees, lean} from './format.js';

/** A panel as the climber faces it; a tap gives the nearest T-nut. */
function panelPicture(panel, holds, chosen, onpick) {
  const pitch = panel.pitchMm || 150, top = (panel.features ?? []).filter((each) => each.kind === 'TOP_EDGE');
  const width = (panel.columns - 1) * pitch, height = (panel.rows - 1) * pitch, margin = pitch * 0.8;
  const x = (column) => (column - 1) * pitch, y = (row) => height - (row - 1) * pitch;
  const high = Math.max(height, ...top.map((each) => each.atMm ?? 0));
  const parts = [s('rect', {class: 'board', x: -margin, y: height - high - margin, width: width + 2 * margin, height: high + 2 * margin})];
  for (let row = 1; row <= panel.rows; ++row)
    parts.push(s('path', {class: 'tnut', d: Array.from({length: panel.columns}, (_, i) => `M${x(i + 1)} ${y(row)}h.1`).join('')}));
  for (const each of top)
    parts.push(s('path', {class: 'top-edge', d: `M${-margin} ${height - each.atMm}H${width + margin}`}),
               s('text', {x: width + margin, y: height - each.atMm - pitch * 0.15, 'text-anchor': 'end', style: {fontSize: `${pitch * 0.4}px`}}, each.name || 'top edge'));
  for (const each of holds) {
    const {column, row} = each.placement;
    parts.push(s('circle', {class: each.foot ? 'mounted foot' : 'mounted', cx: x(column), cy: y(row), r: pitch * 0.34}),
               s('text', {x: x(column), y: y(row) + pitch * 0.72, 'text-anchor': 'middle', style: {fontSize: `${pitch * 0.42}px`}}, each.hold.replace(/^H-0*/, '')));
  }
  if (chosen.column && chosen.row)
    parts.push(s('circle', {class: 'target', cx: x(chosen.column), cy: y(chosen.row), r: pitch * 0.46}));
  const node = s('svg', {class: 'panel-picture', role: 'img', viewBox: `${-margin} ${height - high - margin} ${width + 2 * margin} ${high + 2 * margin}`,
    'aria-label': `${panel.name}: ${panel.columns} by ${panel.rows} T-nuts. ${holds.map((each) => `${each.hold} at column ${each.placement.column}, row ${each.placement.row}`).join('; ') || 'nothing mounted'}.`}, parts);
  node.addEventListener('click', (event) => {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(node.getScreenCTM().inverse());
    const clamp = (value, most) => Math.min(most, Math.max(1, Math.round(value) + 1));
    onpick(clamp(p.x / pitch, panel.columns), clamp((height - p.y) / pitch, panel.rows));
  });
  return node;
}

const numberInput = (id, label, least, most, value, onchange, step = 1) => h('label', {class: 'field', for: id}, h('span', {}, label),
  h('input', {id, type: 'number', min: least, max: most, step, value: value ?? '', inputmode: 'numeric', onchange}));

/** What the chosen hold gives where it is about to hang, asked while it is turned. */
async function verdictText(hold, rotation, wall) {
  try {
    return (await get(`/holds/${encodeURIComponent(hold)}/verdict?rotation=${rotation}&wallAngle=${wall}`)).sentence;
  } catch (error) {
    return error.message;
  }
}

export function wallPart({climb: first, gym, change, canSet, query}) {
  const zone = (gym.zones ?? []).find((each) => each.name === first.zone);
  if (!zone) return {node: notice('This zone is no longer described', `${first.zone} is not among the walls.`)};
  let climb = first;
  const chosen = {hold: query.get('hold') ?? '', panel: zone.panels[0].name, rotation: 0, column: 0, row: 0};
  const panelSet = new Set([chosen.panel]), holdSet = new Set([chosen.hold]);
  const now = held(first).find((each) => each.hold === chosen.hold)?.placement;
  if (now) Object.assign(chosen, {panel: now.panel, column: now.column ?? 0, row: now.row ?? 0, rotation: now.rotationDeg ?? 0});
  panelSet.clear();
  panelSet.add(chosen.panel);
  const node = h('div', {class: 'wall-part'}), where = h('input', {type: 'text', id: 'place-note', autocomplete: 'off', maxlength: 200});
  const verdict = h('p', {class: 'sentence', role: 'status'});
  const panel = () => zone.panels.find((each) => each.name === chosen.panel) ?? zone.panels[0];
  const judge = async () => {
    const asked = `${chosen.hold} ${chosen.rotation} ${chosen.panel}`;
    verdict.dataset.asked = asked;
    const text = chosen.hold ? await verdictText(chosen.hold, chosen.rotation, panel().wallAngleDeg ?? 0) : '';
    if (verdict.dataset.asked === asked) verdict.textContent = text;
  };
  const place = async () => {
    const placement = {panel: chosen.panel, rotationDeg: chosen.rotation,
      ...(chosen.row && chosen.column ? {column: chosen.column, row: chosen.row} : {}), note: where.value.trim()};
    if (await change({placed: {hold: chosen.hold, placement}}, {done: `${chosen.hold} is on the wall.`})) {
      const next = held(climb).find((each) => !each.placement);
      Object.assign(chosen, {hold: next?.hold ?? '', column: 0, row: 0, rotation: 0});
      holdSet.clear();
      holdSet.add(chosen.hold);
      show();
    }
  };
  const show = () => {
    const {wallAngleDeg = 0, columns, rows} = panel();
    const mounted = held(climb).filter((each) => each.placement?.panel === chosen.panel && each.placement.row);
    const which = canSet && h('div', {class: 'which'}, h('h2', {}, 'Which hold'),
      chips('Which hold', held(climb).map((each) => [each.hold, `${each.name || each.hold}${each.placement ? ', on the wall' : ''}`]), holdSet, {onchange: () => {
        chosen.hold = [...holdSet][0] ?? '';
        const has = held(climb).find((each) => each.hold === chosen.hold)?.placement;
        if (has) Object.assign(chosen, {panel: has.panel, column: has.column ?? 0, row: has.row ?? 0, rotation: has.rotationDeg ?? 0});
        panelSet.clear();
        panelSet.add(chosen.panel);
        show();
        node.querySelector('.which [aria-pressed="true"]')?.focus({preventScroll: true});
      }}));
    const form = canSet && chosen.hold && h('div', {}, h('div', {class: 'fields'},
        numberInput('place-column', `T-nut column, 1 to ${columns}`, 1, columns, chosen.column || '', (event) => { chosen.column = event.target.valueAsNumber || 0; show(); }),
        numberInput('place-row', `Row from the bottom, 1 to ${rows}`, 1, rows, chosen.row || '', (event) => { chosen.row = event.target.valueAsNumber || 0; show(); }),
        numberInput('place-turn', 'Turned counter-clockwise, °', 0, 355, chosen.rotation, (event) => { chosen.rotation = event.target.valueAsNumber || 0; judge(); }, 5),
        h('label', {class: 'field', for: 'place-note'}, h('span', {}, 'No T-nut? Say where'), where)),
      verdict, h('button', {class: 'act', type: 'button', onclick: place}, `Place ${chosen.hold}`));
    const todo = !canSet ? '' : chosen.hold ? ` Tap the T-nut of ${chosen.hold}.`
      : held(climb).length ? ' Choose a hold; then tap its T-nut.' : ' No hold is in it yet.';
    node.replaceChildren(...[which, h('div', {}, zone.panels.length > 1 && chips('Panel', zone.panels.map((each) => [each.name, each.name]), panelSet, {onchange: () => {
      chosen.panel = [...panelSet][0] ?? zone.panels[0].name;
      show();
    }}), h('p', {class: 'soft'}, `${chosen.panel}, ${lean(wallAngleDeg)}.${todo}`),
      panelPicture(panel(), mounted, chosen, (column, row) => { Object.assign(chosen, {column, row}); show(); })), form].filter(Boolean));
    // One strip on a phone: what is chosen stands in it.
    const strip = node.querySelector('.which .chips'), on = strip?.querySelector('[aria-pressed="true"]');
    if (on) strip.scrollLeft = on.offsetLeft - strip.offsetLeft - 40;
    judge();
  };
  return {node, update: (next) => { climb = next; if (!node.contains(document.activeElement) || document.activeElement.tagName !== 'INPUT') show(); }};
}
