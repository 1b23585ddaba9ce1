// SPDX-License-Identifier: Apache-2.0
// Draw a lip: by finger, by keyboard, by numbers; what the page shows is what the program finds.
import assert from 'node:assert/strict';

const answered = async (page, act) => {
  const before = Number(await page.getAttribute('.lip-hits', 'data-answered'));
  await act();
  // The last drawing's answer, not one of those given while it was drawn.
  await page.waitForFunction((n) => {
    const {answered, drawing} = document.querySelector('.lip-hits').dataset;
    return Number(answered) > n && drawing === document.querySelector('#typed').value;
  }, before);
};

const open = async (page, address, hash = '#/draw') => {
  await page.setViewportSize({width: 390, height: 844});
  await page.goto(address + '#/more');
  // A drawing of the test before answers too, until the other screen is there.
  await page.waitForSelector('.lip-hits', {state: 'detached'});
  await page.goto(address + hash);
  await page.waitForSelector('.lip-hits[data-answered]');
};

export function drawTests({test, raw, readable}) {
  test('draw a lip: a finger draws, the nearest lips come with their distance and overlay', async ({address, page}) => {
    await open(page, address);
    await page.click('text=Clear');
    await page.waitForSelector('.lip-hit', {state: 'detached'});
    const box = await page.locator('.lip-canvas').boundingBox();
    const scale = box.width / 68, at = (x, y) => [box.x + (x + 4) * scale, box.y + (20 - y) * scale];
    // 20 mm of face, a lip of 5 mm, an edge square to the wall.
    const line = [[34, -20], [34, -5], ...Array.from({length: 9}, (_, i) =>
      [29 + 5 * Math.cos(i * Math.PI / 16), -5 + 5 * Math.sin(i * Math.PI / 16)]), [12, 0], [12, 10]];
    await answered(page, async () => {
      await page.mouse.move(...at(...line[0]));
      await page.mouse.down();
      for (const p of line.slice(1)) await page.mouse.move(...at(...p), {steps: 4});
      await page.mouse.up();
    });
    await page.waitForSelector('.lip-hit');
    assert.match(await page.textContent('.gap-words'), /^\d+\.\d\d mm apart/);
    assert.ok((await page.getAttribute('.lip-canvas .found', 'd')).length > 40);
    const points = await page.inputValue('#typed');
    assert.ok(points.split('\n').length < 30, 'a stroke becomes few points');
    // The program, asked with the points that stand in the text field, says the same.
    const pointsMm = points.split('\n').map((l) => l.split(' ').map(Number)).map(([x, y]) => ({x, y}));
    const reply = await raw(address, {method: 'POST', path: '/api/v1/find', body: JSON.stringify({lip: {pointsMm}, limit: 1}),
                                      headers: {'Content-Type': 'application/json'}});
    const [hit] = JSON.parse(reply.text).hits;
    const shown = Number((await page.textContent('.gap-words')).match(/^[\d.]+/)[0]);
    assert.ok(Math.abs(hit.lip.gapMm - shown) < 0.05, `${hit.lip.gapMm} against ${shown}`);
    // The overlay's points lie where the drawing is: the wanted line less its shift is the drawing.
    const w = hit.lip.wantedMm[0], s = hit.lip.shiftMm ?? {};
    const own = [(w.x ?? 0) - (s.x ?? 0), (w.y ?? 0) - (s.y ?? 0)];
    const away = Math.min(...pointsMm.slice(1).map((b, i) => {
      const a = pointsMm[i], l2 = (b.x - a.x) ** 2 + (b.y - a.y) ** 2;
      const t = Math.max(0, Math.min(1, ((own[0] - a.x) * (b.x - a.x) + (own[1] - a.y) * (b.y - a.y)) / l2));
      return Math.hypot(a.x + t * (b.x - a.x) - own[0], a.y + t * (b.y - a.y) - own[1]);
    }));
    assert.ok(away < 0.01, `${away} mm off the drawing`);
  });

  test('draw a lip: a touch draws and does not scroll the page away', async ({address, page}) => {
    await open(page, address);
    await page.click('text=Clear');
    const touch = await page.context().newCDPSession(page);
    const box = await page.locator('.lip-canvas').boundingBox(), scale = box.width / 68;
    const send = (type, ...places) => touch.send('Input.dispatchTouchEvent', {type,
      touchPoints: places.map(([x, y]) => ({x: box.x + (x + 4) * scale, y: box.y + (20 - y) * scale}))});
    await answered(page, async () => {
      await send('touchStart', [40, -24]);
      for (const place of [[40, -12], [40, -4], [39, -1], [36, 0], [28, 0], [20, 0]]) await send('touchMove', place);
      await send('touchEnd');
    });
    await page.waitForSelector('.lip-hit');
    const typed = (await page.inputValue('#typed')).split('\n');
    assert.ok(typed.length >= 4 && /^40\.\d -2[34]\.\d$/.test(typed[0]) && /^20\.\d -?0\.\d$/.test(typed.at(-1)), typed.join('; '));
    assert.equal(await page.evaluate(() => scrollY), 0);
    await touch.detach();
  });

  test('draw a lip: by keyboard and by typed points', async ({address, page}) => {
    await open(page, address);
    await page.click('text=Clear');
    await page.focus('.lip-canvas');
    await page.keyboard.press('Shift+ArrowDown');
    await page.keyboard.press('Enter');             // 30 out, 5 down
    for (let i = 0; i < 5; ++i) await page.keyboard.press('ArrowUp');
    await page.keyboard.press('Enter');             // 30, 0
    await answered(page, async () => {
      for (let i = 0; i < 3; ++i) await page.keyboard.press('Shift+ArrowLeft');
      await page.keyboard.press('Enter');           // 15, 0
    });
    assert.equal(await page.inputValue('#typed'), '30.0 -5.0\n30.0 0.0\n15.0 0.0');
    await page.waitForSelector('.lip-hit');
    await page.focus('.lip-canvas');
    await page.keyboard.press('Backspace');
    assert.equal(await page.inputValue('#typed'), '30.0 -5.0\n30.0 0.0');
    await page.click('text=Type points');
    await answered(page, () => page.fill('#typed', '40.0 -20.0\n40.0 0.0\n20.0 0.0'));
    await page.waitForSelector('.lip-hit');
    await page.click('text=From numbers');
    await readable(page);
    await page.fill('#typed', '40 -20\n40 up');
    assert.match(await page.textContent('.typed .miss'), /Line 2 is no point/);
  });

  test('draw a lip: a straight line is no lip, and the page says so in words', async ({address, page}) => {
    await open(page, address);
    await page.click('text=Type points');
    await answered(page, () => page.fill('#typed', '30.0 -20.0\n30.0 20.0'));
    await page.waitForFunction(() => /has no lip/.test(document.querySelector('main .count').textContent));
    assert.equal(await page.locator('.lip-hit').count(), 0);
  });

  test('draw a lip: a hold\'s own section finds that hold', async ({address, page}) => {
    await open(page, address, '#/draw?like=H-0001&at=0');
    await page.waitForFunction(() => document.querySelectorAll('.lip-hit').length > 0);
    await page.waitForFunction(() => /H-0001/.test(document.querySelector('.lip-hit a').textContent));
    assert.ok(Number((await page.textContent('.gap-words')).match(/^[\d.]+/)[0]) < 0.3);
  });
}
