// SPDX-License-Identifier: Apache-2.0
// What holds for whatever is on the screen: nothing wider than the window, nothing that the
// accessibility rules find, nothing too small for a chalky finger, no value that was never meant to
// be read.
import assert from 'node:assert/strict';

const LEAST_PX = 44;

/** @param axe  Text of axe-core's script. */
export async function readable(page, axe) {
  assert.doesNotMatch(await page.textContent('body'), /\[object|undefined|NaN/);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(wide <= 0, `wider than the window by ${wide} px`);
  if (!await page.evaluate(() => Boolean(window.axe))) await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run(document, {
    runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']}));
  assert.deepEqual(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(' ')}`), []);
  const small = await page.evaluate((least) => [...document.querySelectorAll('button, select, input:not(.hidden-file), textarea, summary, .card, nav a, a.act, a.chip')]
    .filter((e) => e.offsetParent).map((e) => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])
    .filter(([, box]) => box.height < least || box.width < least).map(([html]) => html), LEAST_PX);
  assert.deepEqual(small, []);
}
