// SPDX-License-Identifier: Apache-2.0
// A hold taken in on the page, with everything going wrong on the way that can: answers lost, the
// server killed and started again, the tab closed, the rebuild cut off.
import assert from 'node:assert/strict';
import {createHash} from 'node:crypto';
import {cpSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync} from 'node:fs';
import {basename, join} from 'node:path';

const JSON_TYPE = {'Content-Type': 'application/json'};

/** Registers the tests. tools: {copyLibrary, photos, folder, startServer, raw, checkScreen}. */
export function intakeTests(test, {copyLibrary, photos, folder, startServer, raw, checkScreen}) {
  const capture = join(photos, 'ledge');
  // The photos between those that the library's hold was made of: another capture of the same hold.
  const files = readdirSync(capture).filter((f) => f.endsWith('.jpg')).sort().filter((_, i) => i % 4 === 1)
    .map((f) => join(capture, f));
  const late = join(capture, readdirSync(capture).filter((f) => f.endsWith('.jpg')).sort()[2]);  // None of these.
  const post = (address, path, message) => raw(address, {method: 'POST', path: `/api/v1${path}`, headers: JSON_TYPE,
                                                        body: JSON.stringify(message)});
  const json = async (address, path) => JSON.parse((await raw(address, {path: `/api/v1${path}`})).text);
  const put = (address, path, body) => raw(address, {method: 'PUT', path: `/api/v1${path}`, body,
    headers: {'Content-Type': 'application/octet-stream', 'Content-Length': body.length}});

  test('intake: what is no photo, no piece or no intake is turned down', async ({address}) => {
    const mat = {paper: 'A4'};
    for (const wrong of [{}, {paper: 'A0'}, {...mat, quality: 'best'}, {...mat, matScale: 2}, {...mat, count: -1},
                         {...mat, name: 'x'.repeat(201)}, {mat: {name: 'mine', dictionary: 'DICT_9X9_1'}}])
      assert.equal((await post(address, '/intakes', wrong)).status, 400, JSON.stringify(wrong));
    const {id} = JSON.parse((await post(address, '/intakes', {...mat, name: '../../etc'})).text);
    const path = `/intakes/${id}`, bytes = readFileSync(files[0]);
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    for (const wrong of [{sha256: 'x', size: 5}, {sha256: '../'.repeat(22).slice(0, 64), size: 5}, {sha256, size: 0},
                         {sha256, size: 50 << 20}, {sha256: sha256.toUpperCase(), size: 5}])
      assert.equal((await post(address, `${path}/photos`, wrong)).status, 400, JSON.stringify(wrong));
    assert.equal((await post(address, `${path}/photos`, {sha256, name: '../../../x.jpg', size: bytes.length})).status, 200);
    assert.equal((await post(address, `${path}/start`, {})).status, 400, 'a photo is on its way');
    const piece = bytes.subarray(0, 5000);
    assert.equal((await put(address, `${path}/photos/${sha256}?offset=7`, piece)).status, 409);
    assert.equal((await put(address, `${path}/photos/${sha256}?offset=-1`, piece)).status, 400);
    assert.equal((await put(address, `${path}/photos/${sha256}`, piece)).status, 400);
    assert.equal((await put(address, `${path}/photos/${sha256}?offset=0`, piece)).status, 200);
    assert.equal((await json(address, `${path}/photos/${sha256}`)).received, '5000');
    // Bytes that are not those that were announced, of the right number.
    const damaged = await put(address, `${path}/photos/${sha256}?offset=5000`, Buffer.alloc(bytes.length - 5000));
    assert.equal(damaged.status, 400);
    assert.match(damaged.text, /damaged/);
    assert.equal((await json(address, `${path}/photos/${sha256}`)).received ?? '0', '0');
    assert.equal((await put(address, `${path}/photos/${sha256}?offset=0`, Buffer.concat([bytes, piece]))).status, 400, 'too many');
    const text = Buffer.from('<svg onload=alert(1)>'), hash = createHash('sha256').update(text).digest('hex');
    await post(address, `${path}/photos`, {sha256: hash, name: 'x.jpg', size: text.length});
    assert.equal((await put(address, `${path}/photos/${hash}?offset=0`, text)).status, 400, 'no photo');
    assert.equal((await json(address, path)).photos.length, 1);
    assert.equal((await post(address, `${path}/store`, {kind: 'NEW'})).status, 400, 'not rebuilt');
    // A JPEG's beginning and then rubbish is a photo that cannot be read, and says so.
    const rubbish = Buffer.concat([bytes.subarray(0, 20_000), Buffer.alloc(30_000, 0x5a)]);
    const its = createHash('sha256').update(rubbish).digest('hex');
    await post(address, `${path}/photos`, {sha256: its, name: 'rubbish.jpg', size: rubbish.length});
    assert.equal((await put(address, `${path}/photos/${its}?offset=0`, rubbish)).status, 200);
    let look;
    for (let i = 0; i < 100 && !look; ++i) {
      await new Promise((resolve) => setTimeout(resolve, 100));
      look = (await json(address, `${path}/photos/${its}`)).look;
    }
    assert.ok(!look.usable && look.sentence.endsWith('.'), JSON.stringify(look));
    assert.equal((await raw(address, {method: 'DELETE', path: `/api/v1${path}`})).status, 200);
    assert.equal((await raw(address, {path: `/api/v1${path}`})).status, 400);
  });

  test('intake: of what is dropped all that can be read is taken, and what cannot is named', async ({address, page}) => {
    await page.setViewportSize({width: 390, height: 844});
    const {id} = JSON.parse((await post(address, '/intakes', {paper: 'A4'})).text);
    await page.goto(`${address}#/intake/${id}`);
    await page.waitForSelector('#photos', {state: 'attached'});
    // Entries as a browser gives them; which of them cannot be read is not in a test's hand otherwise.
    await page.evaluate((jpeg) => {
      const refuse = (_, failed) => failed(new DOMException('gone', 'NotReadableError'));
      const file = (name, file) => ({name, isFile: true, file});
      const folder = (name, rounds) => ({name, isFile: false, createReader: () => ({readEntries: (done, failed) => {
        const next = rounds.shift() ?? [];
        return next === 'fails' ? refuse(done, failed) : done(next);
      }})});
      const photo = (name, last) => file(name, (done) => done(new File([new Uint8Array([...jpeg, last])], name)));
      const unreadable = new File(['x'], 'pulled.jpg');
      unreadable.arrayBuffer = () => Promise.reject(new DOMException('gone', 'NotReadableError'));
      const entries = [file('gone.jpg', refuse), photo('one.jpg', 1), file('pulled.jpg', (done) => done(unreadable)),
                       folder('card', [[photo('two.jpg', 2), file('torn.jpg', refuse)], [photo('three.jpg', 3)], 'fails'])];
      window.dropEntries = (list) => document.dispatchEvent(Object.assign(new Event('drop', {cancelable: true}),
        {dataTransfer: {types: ['Files'], files: [], items: list.map((entry) => ({webkitGetAsEntry: () => entry}))}}));
      window.emptyFolder = folder('empty', []);
      window.dropEntries(entries);
    }, [...readFileSync(files[0]).subarray(0, 20_000)]);
    await page.waitForSelector('#said >> text=gone.jpg, torn.jpg, card and 1 more could not be read.');
    await page.waitForFunction(() => document.querySelectorAll('.photo[data-state="LOOKED"]').length === 3);
    assert.deepEqual((await json(address, `/intakes/${id}`)).photos.map((photo) => photo.name).sort(), ['one.jpg', 'three.jpg', 'two.jpg']);
    await page.evaluate(() => window.dropEntries([window.emptyFolder]));
    await page.waitForSelector('#said >> text=There is no file in it');
    await page.goto(`${address}#/intake`);
    assert.equal((await raw(address, {method: 'DELETE', path: `/api/v1/intakes/${id}`})).status, 200);
  });

  test('intake: what the server cannot take just now is kept, and sent when it can', async ({address, page, expectErrors}) => {
    expectErrors(/status of (400|401|408|503|507)/);  // The browser notes each.
    let turned = 0;
    // Live events are turned down at first: as many listen as may.
    await page.route('**/api/v1/events', (route) => (turned++ ? route.continue() : route.fulfill({status: 503})));
    const {id} = JSON.parse((await post(address, '/intakes', {paper: 'A4'})).text), path = `/intakes/${id}`;
    const answers = [];
    await page.route('**/photos/*offset=*', (route) => {
      const next = answers.shift();
      return next ? route.fulfill({status: next, contentType: 'application/json', body: `{"sentence": "Not ${next}."}`}) : route.continue();
    });
    await page.goto(`${address}#/intake/${id}`);
    await page.waitForSelector('#photos', {state: 'attached'});
    // A full disk, a body that was cut off, a device that was not known for a moment.
    answers.push(507, 408, 401);
    await page.setInputFiles('#photos', files[0]);
    await page.waitForSelector('.miss >> text=Not 507. Nothing is lost');
    await page.waitForSelector('.photo[data-state="LOOKED"]');
    assert.equal(await page.locator('.miss >> text=Nothing is lost').count(), 0);
    assert.equal(answers.length, 0, 'each was given');
    // What is turned down for good stays in the browser until it is taken off, or goes after all.
    answers.push(400, 400);
    await page.setInputFiles('#photos', files.slice(1, 3));
    await page.waitForFunction(() => [...document.querySelectorAll('.photo.bad')].filter((photo) => photo.textContent.includes('Not 400.')).length === 2);
    await page.reload();
    await page.waitForFunction(() => document.querySelectorAll('.photo[data-state="LOOKED"]').length === 3);
    answers.push(400);
    await page.setInputFiles('#photos', files[3]);
    await page.waitForSelector('.photo.bad >> text=Not 400.');
    await page.click('.photo.bad >> text=Remove');
    await page.waitForFunction(() => document.querySelectorAll('.photo').length === 3);
    await page.reload();
    await page.waitForFunction(() => document.querySelectorAll('.photo[data-state="LOOKED"]').length === 3);
    assert.equal((await json(address, path)).photos.length, 3);
    await page.waitForSelector('#photos', {state: 'attached'});
    await page.waitForFunction(() => document.querySelectorAll('.photo').length === 3);
    // By the events that were turned down at first; the page hears of what others do.
    assert.ok(turned > 1, 'it asked for events again');
    assert.equal((await post(address, path, {paper: 'A4', name: 'heard of'})).status, 200);
    await page.waitForSelector('h1 >> text=heard of');
    await page.goto(`${address}#/intake`);
    assert.equal((await raw(address, {method: 'DELETE', path: `/api/v1${path}`})).status, 200);
  });

  test('intake: the demo’s photos with the line cut, the server killed and the tab closed', async ({context, expectErrors}) => {
    const {copy: own, end: endCopy} = await copyLibrary('intake-library');
    let {endServer, address} = await startServer(own);
    const port = new URL(address).port;
    const restart = async () => {
      await endServer('SIGKILL');
      ({endServer, address} = await startServer(own, ['--port', port]));
    };
    // The browser notes each lost answer and each try while there was no server.
    expectErrors(/net::ERR_|status of 40[09]/);
    const newPage = async () => {
      const page = await context.newPage();
      page.setDefaultTimeout(60_000);
      await slow(page);
      return page;
    };
    // Pieces take their time, and every seventh answer is lost after the server has the piece. The
    // last third waits until the tab was closed.
    let pieces = 0, closed = false;
    const most = files.reduce((sum, file) => sum + Math.ceil(statSync(file).size / (128 * 1024)), 0) * 2 / 3;
    const slow = (to) => to.route('**/photos/*offset=*', async (route) => {
      await new Promise((resolve) => setTimeout(resolve, 120));
      if (pieces >= most && !closed) return;  // Never answered: the tab goes first.
      if (++pieces % 7 !== 0) return route.continue().catch(() => {});
      await route.fetch().catch(() => {});
      return route.abort('connectionreset').catch(() => {});
    });
    /** Files and folders dragged in from outside the browser. */
    const drop = async (onto, paths) => {
      const cdp = await onto.context().newCDPSession(onto);
      for (const type of ['dragEnter', 'dragOver', 'drop'])
        await cdp.send('Input.dispatchDragEvent', {type, x: 200, y: 300, data: {items: [], files: paths, dragOperationsMask: 1}});
      await cdp.detach();
    };
    const scans = (await json(address, '/holds/H-0001')).scans.length;
    let page = await newPage();
    await page.goto(`${address}#/intake`);
    await page.selectOption('#paper', '');
    await page.setInputFiles('#mat-file', join(capture, 'mat.json'));
    await checkScreen(page, 'intake-begin');
    await page.click('text=Next: the photos');
    await page.waitForSelector('#photos', {state: 'attached'});
    const id = page.url().split('/').at(-1), path = `/intakes/${id}`;
    // The first half as a folder in a folder that is dropped, beside what is no photo.
    const dropped = join(folder, 'from the card');
    mkdirSync(join(dropped, 'ledge'), {recursive: true});
    writeFileSync(join(dropped, 'notes.txt'), 'no photo');
    const half = files.slice(0, files.length / 2);
    half.forEach((file, i) => cpSync(file, join(dropped, i % 2 ? 'ledge' : '.', basename(file))));
    await drop(page, [dropped]);
    await page.waitForSelector('#said >> text=1 of ');
    await page.waitForFunction((all) => document.querySelectorAll('.photo').length === all, half.length);
    await page.setInputFiles('#photos', files.slice(half.length));

    await page.waitForSelector('.photo[data-state="LOOKED"] >> nth=1');
    await restart();
    await page.waitForSelector('.photo[data-state="LOOKED"] >> nth=3');
    const before = (await json(address, path)).photos.filter((photo) => photo.state !== 'UPLOADING').length;
    assert.ok(before < files.length, `${before} photos are here: the tab is closed before all are`);
    closed = true;
    await page.close();
    page = await newPage();
    await page.goto(`${address}#/intake/${id}`);
    await page.waitForFunction((all) => document.querySelectorAll('.photo[data-state="LOOKED"]').length === all, files.length);
    const state = await json(address, path);
    assert.equal(state.photos.length, files.length);
    assert.deepEqual(state.photos.map((photo) => photo.sha256).sort(),
                     files.map((f) => createHash('sha256').update(readFileSync(f)).digest('hex')).sort());
    assert.ok(state.photos.every((photo) => photo.look.usable), 'all photos are usable');
    assert.equal(state.coverage.usable, files.length);
    await checkScreen(page, 'intake-photos');

    await page.selectOption('#quality', 'draft');
    await page.click('text=What you know of it');
    await page.fill('#label-bin', 'B2');
    await page.click('text=Rebuild it');
    await page.waitForSelector('.steps .now');
    await checkScreen(page, 'intake-running');
    // Stopped, it is where it was before, with all its photos; what comes too late is told so.
    await page.click('text=Stop it');
    await page.waitForSelector('.intake-state[data-state="COLLECTING"]');
    assert.equal((await json(address, path)).state, 'COLLECTING');
    assert.equal(await page.locator('.photo[data-state="LOOKED"]').count(), files.length);
    await page.click('text=Rebuild it');
    await page.waitForSelector('.steps .now >> text=/photos|camera|free machine|rebuilt by/');
    await drop(page, [dropped]);
    await page.waitForSelector('#said >> text=begin another intake');
    await restart();  // It begins again by itself.
    await page.waitForSelector('text=/H-0001 again/', {timeout: 240_000});
    await checkScreen(page, 'intake-result');
    for (const words of ['New scan of H-0001', 'One more of H-0001', 'A new hold']) await page.waitForSelector(`text=${words}`);
    // A photo that is on its way could not get into what is stored now.
    let down = true;
    await page.route('**/photos/*offset=*', (route) => (down ? route.abort('connectionreset') : route.fallback()));
    await page.setInputFiles('#photos', late);
    await page.waitForSelector('.result >> text=Photos are still on their way: wait for them, or remove them.');
    assert.equal(await page.locator('.result button:enabled').count(), 0);
    await page.click('.photo[data-state="UPLOADING"] >> text=Remove');
    await page.waitForFunction(() => document.querySelectorAll('.result button:enabled').length === 3);
    assert.equal(await page.locator('.result >> text=still on their way').count(), 0);
    assert.equal((await json(address, path)).photos.length, files.length);
    // One that the server would not hear of stays on this device, and is offered once the others are stored.
    await page.route(`**${path}/photos`, (route) => route.fulfill({status: 400, contentType: 'application/json', body: '{"sentence": "Not now."}'}));
    await page.setInputFiles('#photos', late);
    await page.waitForSelector('.photo.bad >> text=Not now.');
    await page.click('text=New scan of H-0001');
    await page.waitForSelector('text=In the library as H-0001');
    await page.waitForSelector(`[aria-label="1 photo was not sent before the hold was stored"] >> text=${basename(late)}`);
    await checkScreen(page, 'intake-stored');
    await page.reload();
    await page.waitForSelector('[aria-label="1 photo was not sent before the hold was stored"]');
    await page.goto(`${address}#/intake`);
    await page.waitForSelector('[aria-label="1 photo of H-0001, which is in the library"]');
    await page.goto(`${address}#/intake/${id}`);
    await page.click('text=Take it into a new intake');
    down = false;
    await page.waitForSelector('.photo[data-state="LOOKED"]');
    const another = await json(address, `/intakes/${page.url().split('/').at(-1)}`);
    assert.deepEqual(another.photos.map((photo) => [photo.name, photo.look.usable]), [[basename(late), true]], 'on the same mat');
    const hold = await json(address, '/holds/H-0001');
    assert.equal(hold.scans.length, scans + 1);
    assert.equal(hold.scans.at(-1).photoBlobs.length, files.length);
    assert.equal((await json(address, path)).state, 'STORED');
    await page.close();
    await endServer();
    await endCopy();
  });
}
