// SPDX-License-Identifier: Apache-2.0
// Building the page without a framework.

const SVG = 'http://www.w3.org/2000/svg';

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (name === 'style') Object.assign(element.style, value);
    else element.setAttribute(name, value === true ? '' : value);
  }
  element.append(...children.flat(3).filter((child) => child !== null && child !== undefined &&
                                            child !== false));
  return element;
}

/** An HTML element: h('button', {class: 'chip', onclick: f}, 'Red'). Text is never read as HTML. */
export const h = (name, attributes, ...children) =>
  fill(document.createElement(name), attributes, children);

/** The same for SVG. */
export const s = (name, attributes, ...children) =>
  fill(document.createElementNS(SVG, name), attributes, children);

/** Says something to people who do not see the page, and shows it for a moment to those who do. */
export function say(text) {
  const said = document.getElementById('said');
  said.textContent = text;
  said.classList.add('shown');
  clearTimeout(say.timer);
  say.timer = setTimeout(() => said.classList.remove('shown'), 4000);
}

/** A message in place of content: empty, failed, or waiting. */
export const notice = (title, text, ...more) =>
  h('section', {class: 'notice'}, h('h2', {}, title), h('p', {}, text), ...more);

/** A sheet from below with a heading; resolves when it is closed. */
export function openSheet(title, content, done = 'Done') {
  const heading = h('h2', {id: 'sheet-title'}, title);
  const close = h('button', {class: 'act', type: 'button', onclick: () => sheet.close()}, done);
  const sheet = h('dialog', {class: 'sheet', 'aria-labelledby': 'sheet-title'}, heading,
                  h('div', {class: 'sheet-body'}, content), h('div', {class: 'sheet-foot'}, close));
  sheet.addEventListener('click', (event) => event.target === sheet && sheet.close());
  document.body.append(sheet);
  sheet.showModal();
  const closed = new Promise((resolve) => sheet.addEventListener('close', () => {
    sheet.remove();
    resolve();
  }));
  return {sheet, close, closed};
}

/** A choice of chips. values: [[value, label, node?]]; several: any number of them may be on. */
export function chips(label, values, chosen, {several = false, onchange}) {
  const group = h('div', {class: 'chips', role: 'group', 'aria-label': label});
  const show = () => group.replaceChildren(...values.map(([value, text, mark]) => h('button', {
    class: 'chip', type: 'button', 'aria-pressed': String(chosen.has(value)),
    onclick: (event) => {
      const on = chosen.has(value);
      if (!several) chosen.clear();
      if (on) chosen.delete(value);
      else chosen.add(value);
      const place = [...group.children].indexOf(event.currentTarget);
      show();
      group.children[place]?.focus();
      onchange();
    },
  }, mark, text)));
  show();
  return group;
}
