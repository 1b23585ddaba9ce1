// SPDX-License-Identifier: Apache-2.0
// The hold screen beyond its dial: the cut under the finger, heat maps, bolt, swaps by lip, scans.
import assert from 'node:assert/strict';

const open = async (page, address, hash = '#/hold/H-0001') => {
  await page.setViewportSize({width: 390, height: 844});
  await page.goto(address + '#/more');
  // The hold of the test before has left; else it would be taken for the one that is opened.
  await page.waitForFunction(() => !document.querySelector('canvas.mesh'));
  await page.goto(address + hash);
  await page.waitForSelector('canvas[data-drawn="mesh"]');
  await page.waitForSelector('.panel[data-at] .sentence');
};
const json = async (raw, address, path) => JSON.parse((await raw(address, {path: `/api/v1${path}`})).text);

export function holdTests({test, raw, readable}) {
  test('hold: a picture at once, coarse, then finer', async ({address, page}) => {
    const asked = [];
    const watch = (request) => request.url().includes('mesh.glb') && asked.push(Number(new URL(request.url()).searchParams.get('triangles')));
    page.on('request', watch);
    await open(page, address);
    await page.waitForFunction(() => Number(document.querySelector('canvas.mesh').dataset.triangles) > 3000);
    page.off('request', watch);
    assert.ok(asked.length === 2 && asked[0] < asked[1], String(asked));
    // Sent compressed: quantised, and gzip over it.
    const plain = await raw(address, {path: '/api/v1/holds/H-0001/mesh.glb?triangles=1500'});
    const packed = await raw(address, {path: '/api/v1/holds/H-0001/mesh.glb?triangles=1500', headers: {'Accept-Encoding': 'gzip'}});
    assert.equal(packed.headers['content-encoding'], 'gzip');
    assert.ok(Number(packed.headers['content-length']) < 0.8 * Number(plain.headers['content-length']));
  });

  test('hold: a finger cuts it; browser and program cut the same section', async ({address, page}) => {
    await open(page, address);
    const box = await page.locator('canvas.mesh').boundingBox();
    await page.mouse.click(box.x + box.width * 0.55, box.y + box.height * 0.55);
    await page.waitForSelector('[data-cut]');
    const at = await page.getAttribute('[data-cut]', 'data-cut');
    await page.waitForSelector(`[data-measured="${at}"]`);
    assert.match(await page.textContent('[aria-label="Section"]'), /edge|no edge/);
    // The slider is the same by keyboard.
    await page.focus('#cut-at');
    await page.keyboard.press('ArrowRight');
    await page.waitForFunction((before) => document.querySelector('[data-measured]').dataset.measured !== before, at);
    await page.waitForFunction(() => document.querySelector('[data-cut]').dataset.cut === document.querySelector('[data-measured]').dataset.measured);
    const offset = Number((await page.getAttribute('[data-cut]', 'data-cut')).split(',')[1]);
    const shape = await json(raw, address, `/holds/H-0001/section?rotation=0&offset=${offset}`);
    const highest = Math.max(...shape.sections[0].pointsMm.map((p) => p.y ?? 0));
    const cut = await page.evaluate(async ([mm]) => {
      const [{cutGeometry}, {readGlb}] = await Promise.all([import('/cut.js'), import('/glb.js')]);
      const glb = await (await fetch('/api/v1/holds/H-0001/mesh.glb?triangles=60000')).arrayBuffer();
      return Math.max(...cutGeometry(readGlb(glb), 0, mm).flatMap(([, z0,, z1]) => [z0, z1]));
    }, [offset]);
    assert.ok(Math.abs(cut - highest) < 0.2, `${cut} against ${highest} mm`);
    await page.click('text=Back to the best place');
    await page.waitForSelector('[data-measured="0,best"]');
  });

  test('hold: the depth stands clear of the outline', async ({address, page}) => {
    for (const rotation of [0, 90, 180, 270]) {
      await open(page, address, `#/hold/H-0001?at=${rotation}`);
      const crossed = await page.evaluate(() => {
        const text = document.querySelector('.section text:not(.word)');
        if (!text) return false;
        const box = text.getBoundingClientRect(), cut = document.querySelector('.section .cut');
        const to = cut.getScreenCTM();
        for (let i = 0, length = cut.getTotalLength(); i <= 400; ++i) {
          const p = cut.getPointAtLength(length * i / 400).matrixTransform(to);
          if (p.x > box.left && p.x < box.right && p.y > box.top && p.y < box.bottom) return true;
        }
        return false;
      });
      assert.equal(crossed, false, `turned ${rotation}`);
    }
  });

  test('hold: a finger on the ring turns it, and the verdict follows', async ({address, page}) => {
    await open(page, address);
    const box = await page.locator('.dial').boundingBox();
    const at = (deg) => [box.x + box.width / 2 - 0.465 * box.width * Math.sin(deg * Math.PI / 180),
                         box.y + box.height / 2 - 0.465 * box.height * Math.cos(deg * Math.PI / 180)];
    await page.mouse.move(...at(0));
    await page.mouse.down();
    for (let deg = 15; deg <= 90; deg += 15) await page.mouse.move(...at(deg), {steps: 2});
    await page.mouse.up();
    await page.waitForSelector('.panel[data-at="90,0"] .sentence');
    assert.equal(await page.textContent('.sentence'), (await json(raw, address, '/holds/H-0001/verdict?rotation=90')).footSentence);
  });

  test('hold: one finger looks around, two come closer, a tap cuts; keys do the same', async ({address, page}) => {
    await open(page, address);
    const cdp = await page.context().newCDPSession(page), box = await page.locator('canvas.mesh').boundingBox();
    const at = (x, y, id = 0) => ({x: box.x + box.width * x, y: box.y + box.height * y, id});
    const touch = async (type, ...touchPoints) => cdp.send('Input.dispatchTouchEvent', {type, touchPoints});
    const frame = () => page.evaluate(() => new Promise((resolve) => { requestAnimationFrame(() => requestAnimationFrame(resolve)); }));
    const view = async () => {
      await frame();
      const {look, zoom} = await page.locator('canvas.mesh').evaluate((canvas) => ({...canvas.dataset}));
      return {yaw: Number(look.split(',')[0]), pitch: Number(look.split(',')[1]), zoom: Number(zoom)};
    };
    const scrolled = await page.evaluate(() => scrollY);
    await touch('touchStart', at(0.5, 0.5));
    for (const x of [0.45, 0.4, 0.3]) await touch('touchMove', at(x, 0.5));
    await touch('touchEnd');
    const turned = await view();
    assert.ok(turned.yaw > 10 && turned.pitch === 12 && turned.zoom === 1, JSON.stringify(turned));
    // Two fingers twice as far apart; the second comes later, and neither turns the hold.
    await touch('touchStart', at(0.4, 0.5));
    await touch('touchStart', at(0.4, 0.5), at(0.6, 0.5, 1));
    for (const d of [0.12, 0.16, 0.2]) await touch('touchMove', at(0.5 - d, 0.5), at(0.5 + d, 0.5, 1));
    await touch('touchEnd', at(0.3, 0.5));
    await touch('touchEnd');
    const near = await view();
    assert.ok(Math.abs(near.zoom - 2) < 0.15, JSON.stringify(near));
    assert.deepEqual([near.yaw, near.pitch], [turned.yaw, turned.pitch], 'it did not jump');
    assert.equal(await page.getAttribute('[data-measured]', 'data-measured'), '0,best', 'nor was it a tap');
    assert.equal(await page.evaluate(() => scrollY), scrolled, 'nor did the page scroll');
    await touch('touchStart', at(0.55, 0.55));
    await touch('touchEnd');
    await page.waitForFunction(() => document.querySelector('[data-measured]').dataset.measured !== '0,best');
    await page.focus('canvas.mesh');
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowUp');
    for (let i = 0; i < 5; ++i) await page.keyboard.press('-');
    assert.deepEqual(await view(), {yaw: turned.yaw + 10, pitch: 22, zoom: 1});
    await cdp.detach();
  });

  test('hold: heat maps colour the mesh and say in words what they mean', async ({address, page}) => {
    await open(page, address);
    const mean = () => page.evaluate(() => {  // Of the canvas, as drawn in the next frame.
      const canvas = document.querySelector('canvas.mesh'), copy = new OffscreenCanvas(60, 60).getContext('2d');
      return new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(() => {
        copy.drawImage(canvas, 0, 0, 60, 60);
        const {data} = copy.getImageData(0, 0, 60, 60);
        const sum = [0, 0, 0];
        for (let i = 0; i < data.length; ++i) if (i % 4 < 3) sum[i % 4] += data[i];
        resolve(sum.map((v) => Math.round(v / 3600)).join(','));
      })));
    });
    await page.click('.chip >> text=Slope');
    assert.match(await page.textContent('.heat-ends'), /faces you.*looks back to the wall/);
    await page.click('.chip >> text=Guesswork');
    assert.match(await page.textContent('.heat-ends'), /seen by two photos or more.*guessed/);
    await page.click('.chip >> text=Wear');
    await page.waitForFunction(() => /as it was/.test(document.querySelector('.heat-ends')?.textContent ?? ''));
    await page.waitForSelector('canvas[data-heat="value"]');
    await mean();
    await page.click('.chip >> text=As it is');
    await page.waitForSelector('.heat', {state: 'detached'});
  });

  test('hold: bolt, scans over time and same lip, lower say what the program says', async ({address, page}) => {
    await open(page, address, '#/hold/H-0014');
    await page.click('summary >> text=Its bolt');
    const bolt = await json(raw, address, '/holds/H-0014/bolt?zone=harbour%20wave&panel=wave%20top');
    await page.waitForSelector(`.on-demand li >> text=${bolt.bolts[0].label || 'none'}`);
    assert.ok((await page.textContent('.on-demand')).includes(bolt.cautions[0]));
    await page.click('summary >> text=Same lip, lower');
    await page.waitForSelector('.on-demand .offer');
    const own = (await json(raw, address, '/holds/H-0014')).scans.at(-1).shape.protrusionMm.value;
    for (const href of await page.locator('.on-demand .offer a').evaluateAll((links) => links.map((a) => a.getAttribute('href')))) {
      const other = (await json(raw, address, `/holds/${href.match(/H-\d+/)[0]}`)).scans.at(-1).shape.protrusionMm.value;
      assert.ok(other < own, `${other} is not lower than ${own}`);
    }
    await open(page, address);
    await page.click('summary >> text=Scans over time');
    await page.waitForSelector('.on-demand table');
    assert.equal(await page.locator('.on-demand tbody tr').count(), (await json(raw, address, '/holds/H-0001')).scans.length);
    const wear = await json(raw, address, '/holds/H-0001/wear');
    await page.waitForSelector(`.on-demand >> text=${wear.grade}`);
    await page.click('.chip >> text=Slope');
    await page.click('summary >> text=Twins');
    await page.click('summary >> text=Its bolt');
    await page.waitForSelector('.on-demand >> text=Seat');
    await readable(page);
  });
}
