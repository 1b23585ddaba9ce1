// SPDX-License-Identifier: Apache-2.0
// What the library has of each kind, against what is wanted: as bars, a table, and a picture.
import {get, post} from './api.js';
import {BASIC, colourText} from './colour.js';
import {h, notice, openSheet, s, say} from './dom.js';
import {may} from './format.js';

const WORDS = {colour: ['*', ...Object.keys(BASIC)], grip: ['*', 'jug', 'edge', 'crimp', 'pocket', 'sloper', 'pinch', 'foot-only'],
               size: ['*', 'small', 'medium', 'large', 'huge'], profile: ['*', 'low', 'middle', 'high']};
const any = (word) => !word || word === '*' ? 'any' : word;
const count = (value) => Number(value ?? 0);

/** Pieces as a bar; the marks are what is wanted and what is too many. */
function bar(line, most) {
  const x = (pieces) => 100 * pieces / most, pieces = count(line.pieces), want = count(line.want);
  const limit = line.most === undefined ? 2 * want : count(line.most);
  return s('svg', {class: 'gap-bar', viewBox: '0 0 100 12', preserveAspectRatio: 'none', 'aria-hidden': 'true'},
    s('rect', {class: 'track', width: 100, height: 12}), s('rect', {class: 'have', y: 2, width: x(pieces), height: 8}),
    line.want !== undefined && s('path', {class: 'want', d: `M${x(want)} 0v12`}),
    line.want !== undefined && s('path', {class: 'most', d: `M${x(limit)} 0v12`}));
}

function table(lines) {
  const most = Math.max(1, ...lines.flatMap((line) => [count(line.pieces), count(line.want), count(line.most)])) * 1.05;
  return h('div', {class: 'scroll', tabindex: 0, role: 'group', 'aria-label': 'Stock'}, h('table', {class: 'gaps'}, h('thead', {}, h('tr', {},
    ['Pieces', 'Colour', 'Grip', 'Size', 'Profile', 'On the shelf', 'Wanted', 'Verdict'].map((text) => h('th', {scope: 'col'}, text)))),
    h('tbody', {}, lines.map((line) => h('tr', {},
      h('td', {class: 'with-bar'}, h('span', {}, String(count(line.pieces))), bar(line, most)),
      h('td', {}, any(line.colour) === 'any' ? 'any' : colourText(line.colour)), h('td', {}, any(line.grip)), h('td', {}, any(line.size)), h('td', {}, any(line.profile)),
      h('td', {}, String(count(line.onShelf))),
      h('td', {}, line.want === undefined ? '' : `${count(line.want)}${line.most === undefined ? '' : ` to ${count(line.most)}`}`),
      h('td', {}, h('strong', {}, line.verdict ?? '')))))));
}

/** Grip by size, all colours together: the darker, the more pieces; the number stands in each. */
function matrix(lines) {
  const grips = [...new Set(lines.map((line) => line.grip))].sort(), sizes = ['small', 'medium', 'large', 'huge', 'none'].filter((size) => lines.some((line) => line.size === size));
  const pieces = (grip, size) => lines.filter((line) => line.grip === grip && line.size === size).reduce((sum, line) => sum + count(line.pieces), 0);
  const most = Math.max(1, ...grips.flatMap((grip) => sizes.map((size) => pieces(grip, size))));
  const W = 84, H = 46, LEFT = 86, TOP = 26;
  return s('svg', {class: 'stock-matrix', viewBox: `0 0 ${LEFT + W * sizes.length} ${TOP + H * grips.length}`, role: 'img',
    'aria-label': grips.map((grip) => `${grip}: ${sizes.map((size) => `${pieces(grip, size)} ${size}`).join(', ')}`).join('; ')},
    sizes.map((size, i) => s('text', {x: LEFT + W * (i + 0.5), y: 17, 'text-anchor': 'middle'}, size)),
    grips.map((grip, j) => [s('text', {x: LEFT - 8, y: TOP + H * (j + 0.5) + 5, 'text-anchor': 'end'}, grip), sizes.map((size, i) => {
      const n = pieces(grip, size);
      return [s('rect', {class: 'cell', x: LEFT + W * i + 2, y: TOP + H * j + 2, width: W - 4, height: H - 4, rx: 6}),
              s('rect', {class: 'cell full', x: LEFT + W * i + 2, y: TOP + H * (j + 1) - 2 - (H - 4) * n / most, width: W - 4, height: (H - 4) * n / most, rx: 6}),
              s('text', {class: 'number', x: LEFT + W * (i + 0.5), y: TOP + H * (j + 0.5) + 5, 'text-anchor': 'middle'}, String(n))];
    })]).flat(3));
}

/** The target table as lines of choices; `done` gets the report after it is stored. */
function editSheet(lines, done) {
  const body = h('div', {class: 'target-lines'}), problem = h('p', {class: 'miss', role: 'alert'});
  const rows = lines.map((line) => ({...line}));
  const show = () => body.replaceChildren(...rows.map((row, i) => h('fieldset', {class: 'fields target'}, h('legend', {}, `Line ${i + 1}`),
    Object.entries(WORDS).map(([key, words]) => h('label', {class: 'field'}, h('span', {}, key), h('select', {onchange: (event) => { row[key] = event.target.value; }},
      [...new Set([...words, row[key] || '*'])].map((word) => h('option', {value: word, selected: word === (row[key] || '*')}, any(word)))))),
    [['want', 'pieces wanted'], ['most', 'too many from']].map(([key, label]) => h('label', {class: 'field'}, h('span', {}, label), h('input', {
      type: 'number', min: 0, max: 100000, inputmode: 'numeric', value: row[key] ?? '', oninput: (event) => {
        if (event.target.value === '') delete row[key];
        else row[key] = event.target.value;
      }}))),
    h('button', {class: 'chip', type: 'button', 'aria-label': `Take line ${i + 1} out`, onclick: () => { rows.splice(i, 1); show(); }}, 'Take out'))));
  const save = async () => {
    try {
      const report = await post('/targets', {lines: rows.map((row) => ({colour: row.colour || '*', grip: row.grip || '*', size: row.size || '*',
        profile: row.profile || '*', want: String(count(row.want)), ...(row.most !== undefined && {most: String(count(row.most))})}))});
      sheet.close();
      say('The target table is stored.');
      done(report);
    } catch (error) {
      problem.textContent = error.message;
    }
  };
  const {sheet} = openSheet('What the library should have', [body, h('p', {}, h('button', {class: 'chip', type: 'button', onclick: () => {
    rows.push({colour: '*', grip: 'jug', size: '*', profile: '*', want: '4'});
    show();
  }}, 'One line more')), problem, h('button', {class: 'act', type: 'button', onclick: save}, 'Store the table')], 'Leave it as it was');
  show();
}

export async function gapsPart(node, about) {
  const kinds = (await get('/stock?kinds=true')).lines ?? [];
  const show = (report) => {
    const lines = report.lines ?? [], wanted = lines.filter((line) => line.want !== undefined);
    const edit = may(about, 'head') && h('button', {class: 'act', type: 'button', onclick: () => editSheet(wanted, show)},
                                         wanted.length ? 'Change the targets' : 'Say what is wanted');
    node.replaceChildren(kinds.length ? h('div', {}, h('h3', {}, 'By grip and size'), matrix(kinds)) : notice('The library is empty', 'Take holds in first.'),
      h('div', {}, h('h3', {}, wanted.length ? 'Against the targets, what is missing most first' : 'By kind; no targets are set'), table(lines.slice(0, 200)),
      wanted.length ? h('p', {class: 'legend'}, h('span', {class: 'key'}, 'pieces'), h('span', {class: 'key want'}, 'wanted'), h('span', {class: 'key most'}, 'too many')) : null,
      edit || null));
  };
  show(await get('/stock'));
}
