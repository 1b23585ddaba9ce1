// SPDX-License-Identifier: Apache-2.0
// The page in a real browser, against the program and a library of two holds made from the demo's
// photos. Usage: node page_test.mjs HOLDSHELF WEB NODE_MODULES CHROMIUM PHOTOS OUT
// With HOLDSHELF_TEST_PLACE, the address of an empty database (tests/postgres/with_postgres.cpp), the
// library is there, and a worker of its queue does the rebuilds. HOLDSHELF_TEST_WAIT_S: how long the page may
// take over what a test waits for.
import assert from 'node:assert/strict';
import {execFileSync, spawn} from 'node:child_process';
import {cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync} from 'node:fs';
import {request} from 'node:http';
import {createRequire} from 'node:module';
import {tmpdir} from 'node:os';
import {join} from 'node:path';
import {doorTests} from './door_test.mjs';

import {crateTests} from './crate_test.mjs';
import {drawTests} from './draw_test.mjs';
import {intakeTests} from './intake_test.mjs';
import {keptTests} from './kept_test.mjs';
import {labelsTests} from './labels_test.mjs';
import {headTests} from './head_test.mjs';
import {holdTests} from './hold_test.mjs';
import {readable} from './readable.mjs';
import {statesTests} from './states_test.mjs';

const [program, web, modules, chromium, photos, out] = process.argv.slice(2);
const require = createRequire(join(modules, 'x.js'));
const {chromium: browserType} = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const folder = mkdtempSync(join(tmpdir(), 'holdshelf-page-'));
const place = process.env.HOLDSHELF_TEST_PLACE;
const library = process.env.HOLDSHELF_TEST_LIBRARY ?? place ?? join(folder, 'library');
if (place) process.env.XDG_STATE_HOME = join(folder, 'state');
mkdirSync(out, {recursive: true});

const EVENING = ['quay_crimp', 'pier_crimp', 'slipway_jug', 'bollard_high', 'bollard_low', 'gravel_step', 'shingle_chip', 'buoy'];

/** The program with these arguments, on the library. */
const run = (...args) => new Promise((resolve, reject) => {
  const child = spawn(program, [...args, '--library', library], {stdio: ['ignore', 'ignore', 'inherit']});
  child.on('error', reject);
  child.on('exit', (status) => (status === 0 ? resolve() : reject(new Error(`holdshelf ${args[0]} ended with ${status}`))));
});

/** Holds H-0011 to H-0019 from ready-made meshes, the demo's walls, and one climb being set. */
async function makeEvening() {
  for (const [i, name] of EVENING.entries()) await run('shelve', '--id', `H-${String(11 + i).padStart(4, '0')}`, '--name', name.replace('_', ' '),
    '--bin', `A${1 + i % 3}`, '--set', 'Evening', '--colour', 'green', join(photos, 'evening', `${name}.ply`));
  await run('shelve', '--id', 'H-0019', '--name', 'quay crimp again', '--bin', 'A1', '--colour', 'red', join(photos, 'evening', 'quay_crimp.ply'));
  await run('gym', 'set', join(photos, 'gym.json'));
  await run('crate', 'start', '--name', 'green 7', '--colour', 'green', '--zone', 'harbour wave', '--grade', 'hard', '--setter', 'Maren');
  await run('crate', 'add', 'C-0001', 'H-0011', 'H-0014', '--wish', 'crimp');
  await run('climb', 'place', 'C-0001', 'H-0011', '--panel', 'wave lower', '--column', '4', '--row', '9');
  await run('climb', 'place', 'C-0001', 'H-0014', '--panel', 'wave top', '--column', '5', '--row', '6');
}

/** H-0001 from the demo's photos, twice. */
async function makeLedge() {
  const capture = join(photos, 'ledge');
  // Every fourth photo and draft quality: the page is tested here, not the precision.
  // The second scan, of other photos, shows what two scans of one hold differ by.
  for (const [first, as] of [[0, ['--id', 'H-0001', '--name', 'Harbour ledge', '--bin', 'A1']], [1, ['--new-scan-of', 'H-0001']]]) {
    const files = readdirSync(capture).filter((f) => f.endsWith('.jpg')).sort().filter((_, i) => i % 4 === first);
    await run('intake', '--mat', join(capture, 'mat.json'), '--quality', 'draft', ...as, ...files.map((f) => join(capture, f)));
  }
}

/** How a program that was started is ended: asked to, it has to end with status 0, which it does not where a
 *  sanitizer has something to report of it. */
function ending(what, child) {
  const ended = new Promise((resolve) => child.on('exit', (status, signal) => resolve(status ?? signal)));
  return async (signal = 'SIGINT') => {
    child.kill(signal);
    assert.equal(await ended, signal === 'SIGKILL' ? signal : 0, `how ${what} ended`);
  };
}

/** Another library with the same holds, and with a worker if it is shared. */
async function copyLibrary(name) {
  if (!place) {
    const copy = join(folder, name);
    cpSync(library, copy, {recursive: true, filter: (path) => !path.startsWith(join(library, 'serve'))});
    return {copy, end: () => {}};
  }
  const copy = process.env.HOLDSHELF_TEST_PLACE_2;
  execFileSync(program, ['transfer', '--from', library, '--to', copy], {stdio: ['ignore', 'ignore', 'inherit']});
  const worker = spawn(program, ['work', '--library', copy], {stdio: ['ignore', 'ignore', 'inherit']});
  process.on('exit', () => worker.kill('SIGKILL'));
  return {copy, end: ending('the worker', worker)};
}

async function startServer(shown = library, more = []) {
  const port = more.includes('--port') ? [] : ['--port', '0'];
  const server = spawn(program, ['serve', '--library', shown, '--web', web, ...port, ...more],
                       {stdio: ['ignore', 'pipe', 'inherit']});
  const endServer = ending('the server', server);
  const address = await new Promise((resolve, reject) => {
    let text = '';
    server.stdout.on('data', (data) => {
      text += data;
      const found = text.match(/http:\/\/[^/ ]+\//);
      if (found) resolve(found[0].replace('localhost', '127.0.0.1'));
    });
    server.on('exit', (status) => reject(new Error(`the server ended with ${status}: ${text}`)));
  });
  return {endServer, address};
}

/** One request as no browser would make it. */
const raw = (address, {method = 'GET', path = '/', headers = {}, body} = {}) => new Promise((resolve, reject) => {
  const url = new URL(address);
  // A connection of its own: one kept open would hold up the end of its server.
  const sent = request({host: url.hostname, port: url.port, method, path, headers, agent: false}, (reply) => {
    let text = '';
    reply.on('data', (data) => { text += data; });
    reply.on('end', () => resolve({status: reply.statusCode, text, headers: reply.headers}));
  });
  sent.on('error', reject);
  sent.end(body);
});

const cases = [];
const test = (name, run) => cases.push({name, run});
const only = process.env.HOLDSHELF_TEST_ONLY?.split('|');  // Parts of the names of the tests to run.

test('bad requests are turned down, each with a sentence', async ({address}) => {
  const json = {'Content-Type': 'application/json'};
  const bad = [
    [404, {path: '/../../etc/passwd'}], [404, {path: '/%2e%2e/%2e%2e/etc/passwd'}], [404, {path: '/api/v1/nothing'}],
    [404, {path: '/api/v1/holds/..%2f..%2fetc'}], [404, {path: '/api/v1/holds/H-9999'}],
    [400, {path: '/api/v1/holds/H-0001/verdict?wallAngle=90'}], [400, {path: '/api/v1/holds/H-0001/verdict?rotation=nan'}],
    [400, {method: 'POST', path: '/api/v1/find', headers: json, body: '{"ranges": 3'}],
    [400, {method: 'POST', path: '/api/v1/find', headers: json, body: '{"ranges": [{"number": "nonsense", "from": 1}]}'}],
    [400, {method: 'POST', path: '/api/v1/holds/H-0001/edit', headers: json, body: '{"fields": ["id"]}'}],
    [405, {method: 'DELETE', path: '/api/v1/find'}],
    [421, {path: '/api/v1/about', headers: {Host: 'elsewhere.example'}}],
    [403, {method: 'POST', path: '/api/v1/holds/H-0001/note', headers: {...json, Origin: 'http://elsewhere.example'}, body: '{"text": "x"}'}],
    [403, {method: 'POST', path: '/api/v1/holds/H-0001/note', headers: {...json, 'Sec-Fetch-Site': 'cross-site'}, body: '{"text": "x"}'}],
  ];
  for (const [status, ask] of bad) {
    const reply = await raw(address, ask);
    assert.equal(reply.status, status, `${JSON.stringify(ask)}: ${reply.text}`);
    assert.match(JSON.parse(reply.text).sentence, /\.$/);
    assert.match(reply.headers['content-security-policy'], /default-src 'none'/);
  }
});

// Values of the parameters that routes cannot do without.
const SAMPLES = {wishes: 'two crimps', hold: 'H-0011'};

test('the OpenAPI document refers only to what it holds, and its routes answer', async ({address}) => {
  const document = JSON.parse((await raw(address, {path: '/api/v1/openapi.json'})).text);
  assert.equal(document.openapi, '3.0.3');
  const names = new Set();
  for (const found of JSON.stringify(document).matchAll(/#\/components\/schemas\/(\w+)/g)) {
    assert.ok(document.components.schemas[found[1]], found[1]);
    names.add(found[1]);
  }
  assert.ok(names.size > 15);
  const operations = new Set();
  for (const [path, methods] of Object.entries(document.paths))
    for (const [method, operation] of Object.entries(methods)) {
      assert.ok(operation.responses['200'] && operation.responses.default, path);
      assert.ok(!operations.has(operation.operationId), operation.operationId);
      operations.add(operation.operationId);
      const declared = (operation.parameters ?? []).filter((p) => p.in === 'path').map((p) => p.name);
      assert.deepEqual(declared, [...path.matchAll(/\{(\w+)\}/g)].map((m) => m[1]));
      if (method !== 'get' || /twins|wear|events$|intakes\/{/.test(path)) continue;
      const query = (operation.parameters ?? []).filter((p) => p.required && p.in === 'query')
        .map((p) => `${p.name}=${encodeURIComponent(SAMPLES[p.name])}`).join('&');
      const id = path.startsWith('/api/v1/climbs') ? 'C-0001' : 'H-0001';
      const reply = await raw(address, {path: `${path.replace('{id}', id)}?${query}`});
      assert.equal(reply.status, 200, `${path}: ${reply.text.slice(0, 200)}`);
    }
});

/** The screen as it is now: a picture of it, no wider than the window, readable for all, thumb-sized. */
async function checkShown(page, name) {
  await page.screenshot({path: join(out, `${name}.png`)});
  await readable(page, axe);
}

/** The same at the sizes and in the light that people have. */
async function checkScreen(page, name) {
  for (const [size, width, height, colorScheme] of [['320', 320, 640, 'dark'], ['390', 390, 844, 'light'],
                                                    ['1280', 1280, 800, 'light'], ['3840', 3840, 2160, 'dark']]) {
    await page.setViewportSize({width, height});
    await page.emulateMedia({colorScheme});
    await page.waitForTimeout(100);
    await checkShown(page, `${name}-${size}`);
  }
  await page.emulateMedia({colorScheme: 'light'});
}

const SIZES = [['phone', {width: 390, height: 844}], ['desktop', {width: 1280, height: 800}],
               ['small', {width: 320, height: 640}], ['4k', {width: 3840, height: 2160}]];
const DARK = new Set(['desktop', '4k']);  // The others are shown light.
const SCREENS = [['shelf', '#/shelf', '.card img'], ['hold', '#/hold/H-0001', '.sentence'], ['draw', '#/draw', '.lip-hit'],
                 ['head', '#/head', '.stock-matrix'], ['twins', '#/twins/H-0011/H-0019', '[data-ready="twins"]'],
                 ['walls', '#/walls', '.panel-fields'], ['crates', '#/crates', '.climb-card'], ['crate-holds', '#/crate/C-0001/holds', '.crate-hold'],
                 ['crate-find', '#/crate/C-0001/find', '#wishes'], ['crate-fetch', '#/crate/C-0001/fetch', '.tick'],
                 ['crate-wall', '#/crate/C-0001/wall', '.panel-picture'], ['crate-checks', '#/crate/C-0001/checks', '.crate .panel'],
                 ['crate-record', '#/crate/C-0001/record', '.crate ol'], ['more', '#/more', 'h2']];

for (const [size, viewport] of SIZES)
  for (const [name, hash, ready] of SCREENS)
    test(`${name}, ${size}: shown, readable for all, no errors`, async ({address, page}) => {
      await page.setViewportSize(viewport);
      await page.emulateMedia({colorScheme: DARK.has(size) ? 'dark' : 'light'});
      await page.goto(address + hash);
      await page.waitForSelector(ready);
      if (name === 'hold') await page.waitForSelector('canvas[data-drawn="mesh"]');
      if (name === 'shelf') await page.waitForFunction(() => [...document.querySelectorAll('.card img')]
        .filter((img) => img.getBoundingClientRect().top < innerHeight).every((img) => img.complete));
      await page.waitForTimeout(150);
      await checkShown(page, `${name}-${size}`);
    });

test('the dial, by keyboard, changes the verdict', async ({address, page}) => {
  await page.setViewportSize(SIZES[0][1]);
  await page.goto(address + '#/shelf');
  await page.goto(address + '#/hold/H-0001');
  await page.waitForSelector('.panel[data-at="0,0"] .sentence');
  const before = await page.textContent('.sentence');
  await page.focus('.dial');
  for (let i = 0; i < 6; ++i) await page.keyboard.press('PageUp');
  await page.waitForSelector('.panel[data-at="180,0"] .sentence');
  assert.notEqual(await page.textContent('.sentence'), before);
  // The page says what the server says.
  const reply = await raw(address, {path: '/api/v1/holds/H-0001/verdict?rotation=180'});
  const verdict = JSON.parse(reply.text);
  assert.equal(await page.textContent('.sentence'), verdict.footSentence);
  const shown = await page.textContent('.panel[data-at]');
  assert.equal(shown.split(verdict.hand.reason).length, 2, 'the reason stands there once');
  await page.focus('#wall');
  await page.keyboard.press('ArrowRight');
  await page.waitForSelector('.panel[data-at="180,5"] .sentence');
});

test('filters: a colour that is not there names the nearest; clearing brings all back', async ({address, page}) => {
  await page.goto(address + '#/shelf');
  await page.waitForSelector('.card');
  await page.click('.dock-chip >> text=Colour');
  await page.click('dialog .chip >> text=purple');
  await page.waitForSelector('.notice');
  await readable(page, axe);
  await page.keyboard.press('Escape');
  assert.match(await page.textContent('.notice'), /None is like that/);
  assert.match(await page.textContent('.card .miss'), /purple/);
  await page.click('text=Clear the filters');
  await page.waitForSelector('.notice', {state: 'detached'});
  assert.equal(await page.locator('.card').count(), Number(JSON.parse(
    (await raw(address, {path: '/api/v1/about'})).text).holds));
});

test('the end of the list comes clear of what is fixed below it', async ({address, page}) => {
  await page.goto(address + '#/shelf');
  for (const [, viewport] of SIZES) {
    await page.setViewportSize(viewport);
    await page.waitForSelector('.card');
    // Cards are measured as they come into view, which moves the end.
    for (let i = 0; i < 3; ++i) {
      await page.evaluate(() => window.scrollTo(0, document.documentElement.scrollHeight));
      await page.waitForTimeout(60);
    }
    const [last, dock] = await page.evaluate(() => [[...document.querySelectorAll('.card')].at(-1).getBoundingClientRect().bottom,
                                                    document.querySelector('.dock').getBoundingClientRect().top]);
    assert.ok(last <= dock, `${viewport.width} px: the last card ends at ${last}, the filters begin at ${dock}`);
  }
});

test('the search line takes a question and part of a name', async ({address, page}) => {
  await page.goto(address + '#/shelf');
  await page.waitForSelector('.card');
  const asks = async (line, matched) => {
    await page.fill('#search', line);
    await page.waitForFunction((text) => document.querySelector('.count').textContent.startsWith(text), matched);
  };
  const all = Number(JSON.parse((await raw(address, {path: '/api/v1/about'})).text).holds);
  await asks('ledge', all === 1 ? '1 hold,' : `1 of ${all}`);
  await asks('edge over 900 mm deep', `0 of ${all}`);
  await asks('protrusion under 200 mm', all === 1 ? '1 hold,' : `${all} holds`);
  await page.fill('#search', '');
});

test('what another program changes shows by itself', async ({address, page}) => {
  await page.goto(address + '#/shelf');
  await page.waitForSelector('.card');
  execFileSync(program, ['move', '--library', library, '--to', 'wash', 'H-0001']);
  await page.waitForSelector('.card >> text=in the wash', {timeout: 8000});
  execFileSync(program, ['move', '--library', library, '--to', 'shelf', 'H-0001']);
});

const looked = (page) => readable(page, axe);
drawTests({test, raw, readable: looked});
holdTests({test, raw, readable: looked});
headTests({test, raw, readable: looked});
crateTests({test, raw, readable: looked});
statesTests({test, raw, program, photos, folder, out, startServer});
doorTests(test, {program, library, startServer, raw, checkScreen});
keptTests(test, {photos, program, folder, startServer, raw, readable: looked, checkScreen});
intakeTests(test, {copyLibrary, photos, folder, startServer, raw, checkScreen});
labelsTests(test, {raw, checkScreen});

const chosen = cases.filter((each) => !only || only.some((part) => each.name.includes(part)));
for (const part of only ?? []) assert.ok(chosen.some((each) => each.name.includes(part)), `no test has "${part}" in its name`);

// Side by side: neither keeps both cores busy all the time.
if (!process.env.HOLDSHELF_TEST_LIBRARY) await Promise.all([makeLedge(), makeEvening()]);
const {endServer, address} = await startServer();
const browser = await browserType.launch({executablePath: chromium, args: ['--headless', '--no-sandbox',
  '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--disable-quic', '--no-first-run',
  '--disable-gpu-compositing', '--disable-background-networking', '--disable-component-update', '--disable-sync']});
const context = await browser.newContext();
const errors = [];
context.on('page', (page) => {
  page.on('console', (message) => message.type() === 'error' && errors.push(message.text()));
  page.on('pageerror', (error) => errors.push(String(error)));
});
context.on('request', (asked) => asked.url().startsWith('http://127.0.0.1:') || /^(data|blob):/.test(asked.url()) ||
  errors.push(`left this machine: ${asked.url()}`));
const page = await context.newPage();
page.setDefaultTimeout(1000 * Number(process.env.HOLDSHELF_TEST_WAIT_S ?? 15));
const seconds = () => (performance.now() / 1000).toFixed(1).padStart(6);
console.log(`${seconds()} s  library, server and browser are there`);
let failed = 0;
for (const {name, run} of chosen) {
  try {
    let expected;
    await run({address, page, context, expectErrors: (pattern) => { expected = pattern; }});
    assert.deepEqual(errors.splice(0).filter((text) => !expected?.test(text)), [], 'the browser reported errors');
    console.log(`${seconds()} s  ok      ${name}`);
  } catch (error) {
    ++failed;
    errors.length = 0;
    console.log(`${seconds()} s  FAILED  ${name}\n${error.stack}`);
  }
}
await browser.close();
await endServer().catch((error) => {
  ++failed;
  console.log(`${seconds()} s  FAILED  the end of the server\n${error.stack}`);
});
rmSync(folder, {recursive: true, force: true});
console.log(failed ? `${failed} of ${chosen.length} failed` : `all ${chosen.length} passed`);
process.exit(failed ? 1 : 0);
