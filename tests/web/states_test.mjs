// SPDX-License-Identifier: Apache-2.0
// What every screen is in other states: an empty library, no answer, inches and uncertainty, keys
// only. And the pictures of the README, put together from those of this run.
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {readFileSync} from 'node:fs';
import {join} from 'node:path';

export function statesTests({test, raw, program, photos, folder, out, startServer}) {
  test('an empty library: every screen says what is missing and what to do', async ({page}) => {
    const empty = join(folder, 'empty');
    execFileSync(program, ['gym', 'set', join(photos, 'gym.json'), '--library', empty], {stdio: 'ignore'});
    const {endServer, address} = await startServer(empty);
    try {
      await page.setViewportSize({width: 390, height: 844});
      for (const [hash, words] of [['#/shelf', 'The shelf is empty'], ['#/draw', 'no hold|empty|None|has a lip|0 holds'],
                                   ['#/crates', 'No crate is being packed'], ['#/head', 'The library is empty']]) {
        await page.goto(address + hash);
        await page.waitForFunction((pattern) => new RegExp(pattern).test(document.querySelector('main').textContent), words);
      }
    } finally {
      await page.goto('about:blank');
      await endServer();
    }
  });

  test('no answer: the page says so in words and tries again when asked', async ({address, page, expectErrors}) => {
    expectErrors(/ERR_FAILED/);
    await page.goto(address + '#/more');
    await page.waitForSelector('main h2');
    await page.route('**/api/v1/holds/**', (route) => route.abort());
    await page.goto(address + '#/hold/H-0001');
    await page.waitForSelector('.notice >> text=does not answer');
    await page.unroute('**/api/v1/holds/**');
    await page.click('text=Try again');
    await page.waitForSelector('.panel[data-at] .sentence');
  });

  test('screens left before they are there stay away', async ({address, page}) => {
    await page.goto(address + '#/more');
    await page.waitForSelector('main h2');
    for (let run = 0; run < 3; ++run) {
      await page.evaluate(() => { location.hash = '#/hold/H-0001'; });
      await page.evaluate(() => new Promise((resolve) => { setTimeout(resolve, 20); }));
      await page.evaluate(() => { location.hash = '#/draw'; });
      await page.waitForSelector('.lip-hit');
      await page.waitForTimeout(400);
      assert.equal(await page.locator('main h1').textContent(), 'Draw a lip');
      await page.evaluate(() => { location.hash = '#/more'; });
    }
  });

  test('gone to and past a screen at once: the last one is drawn, once', async ({address, page}) => {
    const asked = [];
    const watch = (request) => request.url().includes('mesh.glb') && asked.push(request.url());
    await page.goto(address + '#/crates');
    await page.waitForSelector('.climb-card');
    page.on('request', watch);
    await page.evaluate(() => { location.hash = '#/more'; location.hash = '#/hold/H-0001'; });
    await page.waitForFunction(() => Number(document.querySelector('canvas.mesh')?.dataset.triangles) > 3000);
    page.off('request', watch);
    assert.equal(asked.length, 2, `coarse and fine: ${asked}`);
  });

  test('of one change the live events tell once', async ({address}) => {
    const stream = await fetch(`${address}api/v1/events`), reader = stream.body.getReader();
    let text = '';
    const end = setTimeout(() => reader.cancel(), 2500);  // The watch on the library looks twice a second.
    const read = async () => { for (let part; !(part = await reader.read()).done;) text += Buffer.from(part.value); };
    const reading = read();
    for (let i = 0; i < 3; ++i) {
      await raw(address, {method: 'POST', path: '/api/v1/holds/H-0001/note', headers: {'Content-Type': 'application/json'},
                          body: JSON.stringify({text: `seen ${i}`})});
      await new Promise((resolve) => setTimeout(resolve, 300));
    }
    await reading;
    clearTimeout(end);
    const told = [...text.matchAll(/"lastEvent":"(\d+)"/g)].map((found) => found[1]);
    assert.equal(told.length, 3, text);
    assert.equal(new Set(told).size, 3, text);
  });

  test('inches, and uncertainty on demand', async ({address, page}) => {
    await page.goto(address + '#/more');
    await page.click('text=inches');
    await page.click('text=with ±');
    try {
      await page.goto(address + '#/hold/H-0001');
      await page.waitForSelector('.section text:not(.word)');
      const {protrusionMm} = JSON.parse((await raw(address, {path: '/api/v1/holds/H-0001'})).text).scans.at(-1).shape;
      const shown = await page.locator('dt:text-is("Stands out") + dd').textContent();
      const [, value, sigma] = shown.match(/^([\d.]+) ± <?([\d.]+) in$/);
      assert.ok(Math.abs(Number(value) * 25.4 - protrusionMm.value) < 0.2, shown);
      assert.ok(Number(sigma) > 0, shown);
      assert.match(await page.textContent('.section text:not(.word)'), /± .*in$/);
      await page.goto(address + '#/draw');
      await page.waitForSelector('.lip-hit');
      assert.match(await page.textContent('.gap-words'), / in apart/);
      assert.match(await page.textContent('.lip-canvas'), /in from the wall/);
    } finally {
      await page.goto(address + '#/more');
      await page.click('text=millimetres');
      await page.click('text=numbers only');
    }
  });

  test('keys alone: from the shelf to a hold and through its dial', async ({address, page}) => {
    await page.setViewportSize({width: 1280, height: 800});
    await page.goto(address + '#/shelf');
    await page.waitForSelector('.card');
    await page.focus('#search');
    for (let i = 0; i < 12 && !await page.evaluate(() => document.activeElement.classList.contains('card')); ++i) await page.keyboard.press('Tab');
    assert.ok(await page.evaluate(() => document.activeElement.classList.contains('card')));
    await page.keyboard.press('Enter');
    await page.waitForSelector('.panel[data-at] .sentence');
    for (let i = 0; i < 12 && !await page.evaluate(() => document.activeElement.classList.contains('dial')); ++i) await page.keyboard.press('Tab');
    await page.keyboard.press('ArrowUp');
    await page.waitForSelector('.panel[data-at="5,0"] .sentence');
  });

  test('pictures of the README', async ({page}) => {
    const image = (name) => `<img src="data:image/png;base64,${readFileSync(join(out, `${name}.png`)).toString('base64')}">`;
    const sheet = async (file, height, names) => {
      await page.setViewportSize({width: 1600, height});
      await page.setContent(`<style>body{margin:0;display:flex;gap:10px;width:max-content;background:#fff}img{height:${height}px;border:1px solid #999;border-radius:8px;box-sizing:border-box}</style>${names.map(image).join('')}`);
      await page.locator('body').screenshot({path: join(out, file)});
    };
    await page.goto('about:blank');  // Out of the server's content policy.
    await sheet('tour-phones.png', 640, ['shelf-phone', 'hold-phone', 'draw-phone', 'crate-checks-phone']);
    await sheet('tour-desk.png', 440, ['hold-desktop', 'crate-wall-desktop']);
  });
}
