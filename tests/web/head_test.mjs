// SPDX-License-Identifier: Apache-2.0
// The head setter's screens: twins spun together, worn holds with their maps, gaps and targets.
import assert from 'node:assert/strict';

const json = async (raw, address, path) => JSON.parse((await raw(address, {path: `/api/v1${path}`})).text);

export function headTests({test, raw, readable}) {
  test('twins: side by side, and what one does the other does', async ({address, page}) => {
    await page.setViewportSize({width: 390, height: 844});
    await page.goto(address + '#/head');
    await page.click('summary >> text=Twins');
    await page.waitForSelector('.pair >> text=H-0019');
    await readable(page);
    const twin = (await json(raw, address, '/twins')).twins.find((each) => [each.hold, each.other].includes('H-0019'));
    assert.equal(twin.kind, 'SAME');
    await page.click(`[aria-label="${twin.hold} and ${twin.other} side by side"]`);
    await page.waitForSelector('[data-ready="twins"]');
    await page.waitForSelector('.sentence >> text=the same shape');
    const looks = () => page.locator('canvas.mesh').evaluateAll((list) => list.map((each) => each.dataset.look));
    const box = await page.locator('canvas.mesh').first().boundingBox();
    await page.mouse.move(box.x + 60, box.y + 60);
    await page.mouse.down();
    await page.mouse.move(box.x + 120, box.y + 80, {steps: 5});
    await page.mouse.up();
    const [one, other] = await looks();
    assert.equal(one, other);
    assert.notEqual(one, '0,12');
    // The keys do the same, and a screen reader is told which and leaves them to it.
    for (const [role, label] of await page.locator('canvas.mesh').evaluateAll((list) =>
      list.map((each) => [each.getAttribute('role'), each.getAttribute('aria-label')]))) {
      assert.equal(role, 'application');
      assert.match(label, /in 3D: arrow keys .* plus and minus/);
    }
    await page.locator('canvas.mesh').first().focus();
    await page.keyboard.press('ArrowLeft');
    await page.waitForFunction((before) => new Set([...document.querySelectorAll('canvas.mesh')].map((each) => each.dataset.look)).size === 1 &&
      document.querySelector('canvas.mesh').dataset.look !== before, one);
    await readable(page);
    // Square at any size of the window, so that nothing is cut off the wall.
    for (const size of [{width: 1280, height: 800}, {width: 390, height: 844}]) {
      await page.setViewportSize(size);
      const {width, height} = await page.locator('canvas.mesh').first().boundingBox();
      assert.ok(Math.abs(width - height) < 1, `${width} by ${height}`);
    }
    await page.focus('#spin');
    await page.keyboard.press('ArrowRight');
    await page.waitForFunction(() => document.querySelector('output[for=spin]').textContent === '5°');
  });

  test('worn: the list with what changed, and its map on the mesh', async ({address, page}) => {
    await page.goto(address + '#/head');
    await page.click('summary >> text=Worn');
    await page.waitForSelector('.offer[data-hold="H-0001"]');
    const wear = (await json(raw, address, '/wear')).wears.find((each) => each.hold === 'H-0001');
    assert.ok((await page.textContent('.offer[data-hold="H-0001"]')).includes(wear.reason));
    await page.click('[aria-label="Map of what changed on H-0001"]');
    await page.waitForSelector('dialog canvas[data-drawn="mesh"][data-heat="value"]');
    await readable(page);
    await page.keyboard.press('Escape');
    await page.waitForSelector('dialog', {state: 'detached'});
  });

  test('twins, worn: holds whose mesh is lost are named, whether or not others are there', async ({address, page}) => {
    for (const path of ['twins', 'wear']) await page.route(`**/api/v1/${path}`, (route) => route.fulfill(
      {contentType: 'application/json', body: JSON.stringify({holds: '2', unread: ['H-0007', 'H-0008']})}));
    await page.route('**/api/v1/holds/H-0001/twins', (route) => route.fulfill(
      {contentType: 'application/json', body: JSON.stringify({twins: [{hold: 'H-0001', other: 'H-0001', kind: 'SAME'}], unread: ['H-0009']})}));
    await page.goto(address + '#/shelf');  // So that the screen is made anew.
    await page.goto(address + '#/head');
    for (const title of ['Twins', 'Worn']) {
      await page.click(`summary >> text=${title}`);
      await page.waitForSelector(`details:has(summary:has-text("${title}")) >> text=lost or damaged: H-0007, H-0008.`);
    }
    await readable(page);
    await page.goto(address + '#/hold/H-0001');
    await page.click('summary >> text=Twins');
    await page.waitForSelector('.caution >> text=lost or damaged: H-0009.');
    await page.unrouteAll();
  });

  test('gaps: a target is set by hand, stored, and the shortfall stands in the table', async ({address, page}) => {
    await page.goto(address + '#/head');
    await page.waitForSelector('.stock-matrix');
    await page.click('text=Say what is wanted');
    await page.click('text=One line more');
    await page.selectOption('dialog .target select >> nth=0', 'green');
    await page.selectOption('dialog .target select >> nth=1', '*');
    await page.fill('dialog .target input >> nth=0', '40');
    await readable(page);
    await page.click('text=Store the table');
    await page.waitForSelector('table.gaps >> text=thin');
    await readable(page);
    const [line] = (await json(raw, address, '/stock')).lines;
    assert.deepEqual([line.colour, line.want, line.verdict], ['green', '40', 'thin']);
    assert.equal(await page.textContent('table.gaps .with-bar span'), line.pieces);
    // The number that the table is for is on a phone's screen without scrolling.
    const right = await page.locator('table.gaps .gap-bar').first().evaluate((bar) => bar.getBoundingClientRect().right);
    assert.ok(right > 0 && right <= 390, `the bar ends at ${right} px`);
    // A word that is none is refused, and the table stays.
    const reply = await raw(address, {method: 'POST', path: '/api/v1/targets', headers: {'Content-Type': 'application/json'},
                                      body: JSON.stringify({lines: [{colour: 'mauvish', want: '3'}]})});
    assert.equal(reply.status, 400);
    assert.equal((await json(raw, address, '/stock')).lines[0].want, '40');
  });

  test('walls: a thickness is changed and stored', async ({address, page}) => {
    await page.goto(address + '#/walls');
    await page.waitForSelector('.panel-fields');
    const before = await json(raw, address, '/gym');
    const field = page.locator('.panel-fields >> nth=0').getByLabel('Panel thickness, mm');
    await field.fill('19');
    await field.blur();
    await page.click('text=Store the walls');
    await page.waitForSelector('#said >> text=The walls are stored');
    const after = await json(raw, address, '/gym');
    before.zones[0].panels[0].fixing.panelMm = 19;
    assert.deepEqual(after, before);
  });
}
