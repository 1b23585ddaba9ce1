// SPDX-License-Identifier: Apache-2.0
// Photos that were chosen and are not sent yet: whatever happens to the page, the device, the card or
// the intake, they are sent, offered or named.
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {createHash} from 'node:crypto';
import {readdirSync, readFileSync} from 'node:fs';
import {join} from 'node:path';

const JSON_TYPE = {'Content-Type': 'application/json'};
const sha = (bytes) => createHash('sha256').update(bytes).digest('hex');
const looked = (page, count) => page.waitForFunction((all) => document.querySelectorAll('.photo[data-state="LOOKED"]').length === all, count);

/** Holds pieces of photos up until they are let go: the line is down for them. */
async function holdPieces(page) {
  let down = true;
  await page.route('**/photos/*offset=*', (route) => (down ? route.abort('connectionreset') : route.continue()));
  return () => { down = false; };
}

/** In the page: gives `count` small photos to its chooser, all at once, each of other bytes. `then` is run in
 *  the same moment, and what `spoil` says is done to each file first. */
const choose = (page, jpeg, count, {then = '', spoil = ''} = {}) => page.evaluate(([bytes, all, after, before]) => {
  const data = new DataTransfer();
  for (let i = 0; i < all; ++i) data.items.add(new File([new Uint8Array([...bytes, i])], `chosen ${i + 1}.jpg`, {type: 'image/jpeg'}));
  const input = document.getElementById('photos');
  input.files = data.files;
  // The list gives out the same files each time they are asked for.
  for (const file of input.files) if (before === 'pulled') file.slice = () => Object.assign(new Blob(['?']), {
    arrayBuffer: () => Promise.reject(new DOMException('gone', 'NotReadableError'))});
  input.dispatchEvent(new Event('change'));
  if (after) location.hash = after;
}, [[...jpeg], count, then, spoil]);

/** Registers the tests. tools: {photos, program, folder, startServer, raw, readable, checkScreen}. */
export function keptTests(test, {photos, program, folder, startServer, raw, readable, checkScreen}) {
  const capture = join(photos, 'ledge');
  const files = readdirSync(capture).filter((f) => f.endsWith('.jpg')).sort().map((f) => join(capture, f));
  const jpeg = readFileSync(files[0]).subarray(0, 20_000);
  const post = async (address, path, message) => JSON.parse((await raw(address, {method: 'POST', path: `/api/v1${path}`,
    headers: JSON_TYPE, body: JSON.stringify(message)})).text);
  const json = async (address, path) => JSON.parse((await raw(address, {path: `/api/v1${path}`})).text);
  const forget = async (address, id) => assert.equal((await raw(address, {method: 'DELETE', path: `/api/v1/intakes/${id}`})).status, 200);
  /** Goes to the list and throws the intake away, so that no page asks for it. */
  const end = async (address, page, id) => {
    await page.goto(`${address}#/intake`);
    await page.waitForSelector('h1 >> text=Take a hold in');
    await forget(address, id);
  };
  /** An intake on the page; on the mat that the photos show where that matters. */
  const itsMat = {mat: JSON.parse(readFileSync(join(capture, 'mat.json'), 'utf8'))};
  const begin = async (address, page, mat = {paper: 'A4'}) => {
    const {id} = await post(address, '/intakes', mat);
    await page.goto(`${address}#/intake/${id}`);
    await page.waitForSelector('#photos', {state: 'attached'});
    return id;
  };

  /** A test on a page of its own, as what is changed about a browser there stays so. */
  const apart = (name, run) => test(name, async (given) => {
    const page = await given.context.newPage();
    page.setDefaultTimeout(15_000);
    await page.setViewportSize({width: 390, height: 844});
    try {
      await run({...given, page});
    } finally {
      await page.close();
    }
  });

  apart('kept: photos chosen a moment before the screen is left are all there', async ({address, page, expectErrors}) => {
    expectErrors(/status of 401/);
    const id = await begin(address, page);
    await choose(page, jpeg, 12, {then: '#/shelf'});
    await page.waitForSelector('.card');
    await page.evaluate((to) => { location.hash = to; }, `#/intake/${id}`);
    await looked(page, 12);
    assert.equal((await json(address, `/intakes/${id}`)).photos.length, 12);
    await end(address, page, id);

    // A device that is not known for a moment leaves the screen as well.
    const next = await begin(address, page);
    let unknown = 1;
    await page.route(`**/intakes/${next}/photos`, (route) => (unknown-- > 0
      ? route.fulfill({status: 401, contentType: 'application/json', body: '{"sentence": "Pair it."}'}) : route.continue()));
    await choose(page, jpeg, 12);
    await looked(page, 12);
    assert.ok(unknown <= 0, 'it was turned down');
    assert.equal((await json(address, `/intakes/${next}`)).photos.length, 12);
    await end(address, page, next);
  });

  apart('kept: a device that is paired anew is back where it was, and sends what it kept', async ({page, expectErrors}) => {
    expectErrors(/status of 401|net::ERR_/);
    // A library of its own, since one server takes holds in for one.
    const library = join(folder, 'lent');
    const run = (...args) => execFileSync(program, [...args, '--library', library], {encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore']});
    run('gym', 'set', join(photos, 'gym.json'));
    const {endServer, address} = await startServer(library, ['--pair-here']);
    const pair = async (role) => {
      await page.waitForSelector('#code');
      await page.fill('#code', JSON.parse(run('devices', '--code', role, '--json')).code);
      await page.fill('#device', 'Lent phone');
      await page.keyboard.press('Enter');
    };
    try {
      await page.goto(`${address}#/intake`);
      await pair('log');
      await page.waitForSelector('h1 >> text=Take a hold in');
      await page.click('text=Next: the photos');
      await page.waitForSelector('#photos', {state: 'attached'});
      const letGo = await holdPieces(page), screen = page.url();
      await choose(page, jpeg, 2);
      await page.waitForSelector('.miss >> text=Nothing is lost');
      await page.waitForFunction(() => document.querySelectorAll('.photo').length === 2);
      const withdraw = () => run('devices', '--withdraw', JSON.parse(run('devices', '--json')).devices[0].id);
      withdraw();
      letGo();
      // In a role that may not send them they are not out of reach.
      await pair('look');
      await page.waitForSelector('[aria-label="2 photos on this device not sent yet"] >> text=Save them to this device');
      assert.equal(await page.locator('text=into a new intake').count(), 0);
      await readable(page);
      withdraw();
      await page.reload();
      await pair('log');
      await page.waitForSelector('#said >> text=2 photos on it still to be sent');
      await looked(page, 2);
      assert.equal(page.url(), screen);
      await page.click('text=Throw it away');
      await page.click('dialog .act >> text=Throw it away');
      await page.waitForSelector('h1 >> text=Take a hold in');
    } finally {
      await page.goto('about:blank');
      await endServer();
    }
  });

  apart('kept: photos of an intake that is gone are offered, and go into a new one', async ({address, page, expectErrors}) => {
    expectErrors(/status of 400|net::ERR_/);
    const letGo = await holdPieces(page);
    const id = await begin(address, page, {paper: 'A3', matScale: 0.99});
    await page.setInputFiles('#photos', files.slice(0, 2));
    await page.waitForFunction(() => document.querySelectorAll('.photo').length === 2);
    // While it lives, the list says what waits for it.
    await page.goto(`${address}#/intake`);
    await page.waitForSelector(`.intake-row[href="#/intake/${id}"] >> text=2 photos on this device are not sent yet`);
    await readable(page);
    assert.equal(await page.locator('text=Left on this device').count(), 0);
    // Another device throws it away while it is on the screen, and it is asked for once more after that.
    await page.goto(`${address}#/intake/${id}`);
    await page.waitForSelector('.photo');
    await forget(address, id);
    await page.waitForSelector('.notice >> text=2 photos of it were not sent: they are still on this device.');
    await page.reload();
    await page.waitForSelector('.notice >> text=This intake is gone');
    await readable(page);
    await page.click('text=To the intakes, and these photos');
    const offer = '[aria-label="2 photos of an intake that is gone"]';
    await page.waitForSelector(`${offer} >> text=photo_001.jpg`);
    await checkScreen(page, 'intake-kept');
    // As files again.
    const saved = [];
    page.on('download', (download) => saved.push(download));
    await page.click(`${offer} >> text=Save them to this device`);
    await page.waitForSelector('#said >> text=2 photos handed to this device’s downloads');
    const wanted = files.slice(0, 2).map((file) => sha(readFileSync(file))).sort();
    assert.deepEqual((await Promise.all(saved.map(async (each) => sha(readFileSync(await each.path()))))).sort(), wanted);
    // Asked twice before they go.
    await page.click(`${offer} >> text=Remove them`);
    await page.click('dialog .act >> text=Keep');
    await page.reload();
    await page.click(`${offer} >> text=Take them into a new intake`);
    await page.waitForSelector('#photos', {state: 'attached'});
    letGo();
    await looked(page, 2);
    const next = page.url().split('/').at(-1), intake = await json(address, `/intakes/${next}`);
    assert.notEqual(next, id);
    assert.deepEqual([intake.paper, intake.matScale], ['A3', 0.99], 'the mat goes with the photos');
    assert.deepEqual(intake.photos.map((photo) => photo.sha256).sort(), wanted);
    await end(address, page, next);
    await page.waitForSelector('text=Nothing is on its way.');
    assert.equal(await page.locator('text=Left on this device').count(), 0);
  });

  apart('kept: photos that are removed are gone, and are asked about first', async ({address, page, expectErrors}) => {
    expectErrors(/status of 400|net::ERR_/);
    await holdPieces(page);
    const id = await begin(address, page);
    await choose(page, jpeg, 1);
    await page.waitForSelector('.photo');
    await page.goto(`${address}#/shelf`);
    await page.waitForSelector('.card');
    await forget(address, id);
    await page.goto(`${address}#/intake`);
    await page.click('[aria-label="1 photo of an intake that is gone"] >> text=Remove it');
    await page.click('dialog .act >> text=Remove for good');
    await page.waitForSelector('[aria-label="1 photo of an intake that is gone"]', {state: 'detached'});
    await page.reload();
    await page.waitForSelector('text=Nothing is on its way.');
    assert.equal(await page.locator('text=Left on this device').count(), 0);
  });

  apart('kept: an intake that the server does not throw away keeps its photos', async ({address, page, expectErrors}) => {
    expectErrors(/status of 400|net::ERR_/);
    const letGo = await holdPieces(page);
    const id = await begin(address, page);
    await page.route(`**/intakes/${id}`, (route) => (route.request().method() === 'DELETE' ? route.fulfill({status: 400,
      contentType: 'application/json', body: '{"sentence": "It is being rebuilt: stop that first."}'}) : route.continue()));
    await choose(page, jpeg, 2);
    await page.waitForFunction(() => document.querySelectorAll('.photo').length === 2);
    await page.click('text=Throw it away');
    await page.click('dialog .act >> text=Throw it away');
    await page.waitForSelector('#said >> text=It is being rebuilt');
    letGo();
    await looked(page, 2);
    await end(address, page, id);
  });

  apart('kept: a photo that is taken off while another is being sent holds nothing up', async ({address, page, expectErrors}) => {
    expectErrors(/status of 400|net::ERR_/);
    const letGo = await holdPieces(page);
    const id = await begin(address, page, itsMat), path = `/intakes/${id}`;
    // The one with the smaller name is sent first; of the other a part is there already.
    const [first, second] = files.slice(0, 2).map((file) => readFileSync(file)).sort((a, b) => (sha(a) < sha(b) ? -1 : 1));
    await page.setInputFiles('#photos', files.slice(0, 2));
    await page.waitForFunction(() => document.querySelectorAll('.photo').length === 2);
    await page.goto(`${address}#/shelf`);
    await page.waitForSelector('.card');
    await post(address, `${path}/photos`, {sha256: sha(second), name: 'second.jpg', size: second.length});
    assert.equal((await raw(address, {method: 'PUT', path: `/api/v1${path}/photos/${sha(second)}?offset=0`, body: second.subarray(0, 5000),
      headers: {'Content-Type': 'application/octet-stream', 'Content-Length': 5000}})).status, 200);
    await page.goto(`${address}#/intake/${id}`);
    await page.waitForSelector('.miss >> text=Nothing is lost');
    await page.click('[aria-label="Remove second.jpg"]');
    await page.waitForFunction(() => document.querySelectorAll('.photo').length === 1);
    letGo();
    await looked(page, 1);
    await page.waitForSelector('button:enabled:has-text("Rebuild it")');
    assert.deepEqual((await json(address, path)).photos.map((photo) => photo.sha256), [sha(first)]);
    // And the one itself that is being sent.
    let tries = 0;
    await page.route('**/photos/*offset=*', (route) => { ++tries; return route.abort('connectionreset'); });
    await page.setInputFiles('#photos', files[2]);
    await page.waitForSelector('.miss >> text=Nothing is lost');
    await page.click('.photo[data-state="UPLOADING"] >> text=Remove');
    await page.waitForFunction(() => document.querySelectorAll('.photo').length === 1);
    await page.waitForSelector('button:enabled:has-text("Rebuild it")');
    const before = tries;
    await page.waitForTimeout(1500);
    assert.equal(tries, before, 'nobody asks for it any more');
    assert.equal((await json(address, path)).photos.length, 1);
    await end(address, page, id);
  });

  apart('kept: what was pulled away after it was chosen is sent from the browser’s copy, or named', async ({address, page, expectErrors}) => {
    expectErrors(/status of 400/);
    const id = await begin(address, page);
    await choose(page, jpeg, 2, {spoil: 'pulled'});
    await looked(page, 2);
    assert.equal((await json(address, `/intakes/${id}`)).photos.length, 2);
    await page.evaluate(() => { indexedDB.constructor.prototype.open = () => { throw new DOMException('private', 'SecurityError'); }; });
    await choose(page, jpeg.subarray(0, 19_000), 1, {spoil: 'pulled'});
    await page.waitForSelector('.photo.bad >> text=chosen 1.jpg');
    await page.waitForSelector('.photo.bad >> text=It can no longer be read on this device: choose it once more.');
    assert.equal(await page.locator('text=does not answer').count(), 0, 'the line is not blamed');
    // The same photo, given once more.
    await choose(page, jpeg.subarray(0, 19_000), 1);
    await looked(page, 3);
    await end(address, page, id);
  });

  // A browser that opens no database; one that takes a photo and then has no room to write it.
  for (const [what, stub] of [['gives no database', () => { IDBFactory.prototype.open = () => { throw new DOMException('private', 'SecurityError'); }; }],
    ['has no room', () => {
      const {put} = IDBObjectStore.prototype;
      IDBObjectStore.prototype.put = function putAndFail(...given) {
        const asked = put.apply(this, given);
        asked.addEventListener('success', () => this.transaction.abort());
        return asked;
      };
    }]])
    apart(`kept: a browser that ${what} is to keep its page open, and says so`, async ({address, page, expectErrors}) => {
      expectErrors(/net::ERR_/);
      await page.addInitScript(stub);
      const letGo = await holdPieces(page);
      const id = await begin(address, page);
      const leaves = () => page.evaluate(() => window.dispatchEvent(new Event('beforeunload', {cancelable: true})));
      assert.ok(await leaves(), 'nothing waits yet');
      await choose(page, jpeg, 2);
      await page.waitForSelector('.miss >> text=keep this page open until all are sent');
      await page.waitForSelector('.miss >> text=Sending goes on as soon as it can');
      assert.equal(await page.locator('text=Nothing is lost').count(), 0);
      assert.ok(!await leaves(), 'it asks before it is left');
      await page.waitForFunction(() => document.querySelectorAll('.photo').length === 2);
      // Another screen of the page is no other page.
      await page.evaluate(() => { location.hash = '#/shelf'; });
      await page.waitForSelector('.card');
      assert.ok(!await leaves(), 'wherever it is');
      await page.evaluate((to) => { location.hash = to; }, `#/intake/${id}`);
      await page.waitForSelector('.miss >> text=keep this page open until all are sent');
      letGo();
      await looked(page, 2);
      assert.equal(await page.locator('.miss').count(), 0);
      assert.ok(await leaves(), 'all are sent');
      // Given once more, they are there already.
      await choose(page, jpeg, 2);
      await page.waitForTimeout(700);
      assert.ok(await leaves(), 'nothing waits');
      // Unless they were taken off by another device: then they are sent again.
      const [{sha256}] = (await json(address, `/intakes/${id}`)).photos;
      assert.equal((await raw(address, {method: 'DELETE', path: `/api/v1/intakes/${id}/photos/${sha256}`})).status, 200);
      await looked(page, 1);
      await choose(page, jpeg, 2);
      await looked(page, 2);
      await end(address, page, id);
    });
}
