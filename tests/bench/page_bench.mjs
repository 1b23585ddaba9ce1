// SPDX-License-Identifier: Apache-2.0
// How quick the page's server and the page are with a large library. Two parts:
//   load      50 clients browse (a pause of a second on average between two looks, as people make)
//             while an intake of a capture runs into the same library; times of the JSON answers.
//   taps      in a browser, from the tap on a filter to the result on the screen; and from the last
//             point of a drawn lip to its holds.
//   hold      from the address of a hold being opened to its first picture; asked for by name, since
//             it needs a library with meshes whose H-0001 it opens.
// Usage: node page_bench.mjs HOLDSHELF WEB NODE_MODULES CHROMIUM CAPTURE LIBRARY [load|taps|hold]
// LIBRARY is one made by: find_bench open 10000 LIBRARY. The intake is stored in it.
import {spawn} from 'node:child_process';
import {readdirSync} from 'node:fs';
import {Agent, request} from 'node:http';
import {createRequire} from 'node:module';
import {join} from 'node:path';

const [program, web, modules, chromium, capture, library, only] = process.argv.slice(2);
const CLIENTS = 50, SECONDS = 60, PAUSE_MS = 1000;

const server = spawn(program, ['serve', '--library', library, '--web', web, '--port', '0'], {stdio: ['ignore', 'pipe', 'inherit']});
const address = await new Promise((resolve) => {
  let text = '';
  server.stdout.on('data', (data) => {
    text += data;
    const found = text.match(/http:\/\/[^/ ]+\//);
    if (found) resolve(found[0].replace('localhost', '127.0.0.1'));
  });
});
const {hostname, port} = new URL(address);

const ask = (agent, method, path, body) => new Promise((resolve) => {
  const started = performance.now();
  const sent = request({hostname, port, agent, method, path: `/api/v1${path}`,
                        headers: body ? {'Content-Type': 'application/json'} : {}}, (reply) => {
    let text = '';
    reply.on('data', (data) => { text += data; });
    reply.on('end', () => resolve({ms: performance.now() - started, status: reply.statusCode, text}));
  });
  sent.on('error', (error) => resolve({ms: performance.now() - started, status: 0, text: String(error)}));
  sent.end(body && JSON.stringify(body));
});

const quantile = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? NaN;
function tell(name, times) {
  times.sort((a, b) => a - b);
  console.log(`${name.padEnd(34)} ${String(times.length).padStart(6)} ${quantile(times, 0.5).toFixed(1).padStart(9)} ` +
              `${quantile(times, 0.95).toFixed(1).padStart(9)} ${(times.at(-1) ?? NaN).toFixed(1).padStart(9)}`);
}

/** What a person looks at: the shelf by one filter or another, now and then a hold. */
const LOOKS = [
  ['find by a number', () => ['POST', '/find', {ranges: [{number: 'edge-depth', from: 5 + 25 * Math.random(), to: 40}], limit: 48}]],
  ['find by colour', () => ['POST', '/find', {colours: [['red', 'blue', 'green', 'black'][Math.floor(4 * Math.random())]], limit: 48}]],
  ['find by a line of text', () => ['POST', `/find?line=${encodeURIComponent(`edge over ${10 + Math.floor(20 * Math.random())} mm deep`)}`, {limit: 48}]],
  ['find by a lip', () => ['POST', '/find', {lip: {radiusMm: 2 + 8 * Math.random(), incutDeg: 5, depthMm: 34}, limit: 24}]],
  ['a hold', () => ['GET', `/holds/H-${Math.floor(10_000 * Math.random())}`]],
  ['its history', () => ['GET', `/holds/H-${Math.floor(10_000 * Math.random())}/history`]],
  ['about', () => ['GET', '/about']]];

async function load() {
  const times = new Map(LOOKS.map(([name]) => [name, []])), errors = [];
  await ask(undefined, 'POST', '/find', {lip: {radiusMm: 5, incutDeg: 5, depthMm: 34}, limit: 1});  // Makes the indexes.
  const photos = readdirSync(capture).filter((name) => name.endsWith('.jpg')).map((name) => join(capture, name));
  const began = performance.now();
  const intake = spawn(program, ['intake', '--library', library, '--mat', join(capture, 'mat.json'), ...photos], {stdio: 'ignore'});
  let intakeEnded;
  const stored = new Promise((resolve) => intake.on('exit', (status) => {
    intakeEnded = (performance.now() - began) / 1000;
    resolve(status);
  }));
  const until = began + SECONDS * 1000;
  const client = async () => {
    const agent = new Agent({keepAlive: true, maxSockets: 1});
    while (performance.now() < until) {
      const [name, make] = LOOKS[Math.floor(LOOKS.length * Math.random())];
      const reply = await ask(agent, ...make());
      times.get(name).push(reply.ms);
      if (reply.status !== 200) errors.push(`${name}: ${reply.status} ${reply.text.slice(0, 120)}`);
      await new Promise((resolve) => setTimeout(resolve, 2 * PAUSE_MS * Math.random()));
    }
    agent.destroy();
  };
  await Promise.all(Array.from({length: CLIENTS}, client));
  console.log(`${CLIENTS} clients for ${SECONDS} s beside an intake of ${photos.length} photos (` +
              `${intakeEnded ? `done after ${intakeEnded.toFixed(0)} s` : 'still running at the end'})`);
  console.log('answer                              count median ms   95 % ms   most ms');
  for (const [name, list] of times) tell(name, list);
  tell('all', [...times.values()].flat());
  console.log(`errors: ${errors.length}${errors.length ? `, e.g. ${errors[0]}` : ''}`);
  console.log(`intake's exit status: ${await stored}`);
}

async function taps() {
  const {chromium: type} = createRequire(join(modules, 'x.js'))('playwright-core');
  const browser = await type.launch({executablePath: chromium, args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-background-networking']});
  const page = await browser.newPage({viewport: {width: 390, height: 844}});
  await page.goto(`${address}#/shelf`);
  await page.waitForSelector('.card');
  await page.click('.dock-chip >> text=Numbers');
  // From the tap to the second frame after the cards changed: painted.
  const measured = (label, act) => page.evaluate(async ([selector, i]) => {
    const list = document.querySelector('.cards, .lip-hits'), button = document.querySelectorAll(selector)[i];
    return new Promise((resolve) => {
      const started = performance.now();
      new MutationObserver((_, watch) => {
        watch.disconnect();
        requestAnimationFrame(() => requestAnimationFrame(() => resolve(performance.now() - started)));
      }).observe(list, {childList: true});
      button.click();
    });
  }, [label, act]);
  const chip = [];
  const count = await page.locator('dialog .chip').count();
  for (let run = 0; run < 60; ++run) chip.push(await measured('dialog .chip', run % count));
  console.log('in the browser                      count median ms   95 % ms   most ms');
  tell('filter tap to cards painted', chip);
  await page.goto(`${address}#/draw`);
  await page.waitForSelector('.lip-hit');
  const lips = [];
  for (let run = 0; run < 40; ++run) {
    const before = await page.getAttribute('.lip-hits', 'data-answered');
    await page.evaluate((step) => {
      const area = document.querySelector('#typed');
      area.value = `${40 + step % 5} -20\n${40 + step % 5} -4\n${37 + step % 5} 0\n20 ${-(step % 4)}\n20 8`;
      area.dispatchEvent(new Event('input'));
      window.startedAt = performance.now();
    }, run);
    await page.waitForFunction((n) => document.querySelector('.lip-hits').dataset.answered !== n, before, {polling: 'raf'});
    lips.push(await page.evaluate(() => Number(document.querySelector('.lip-hits').dataset.shownAt) - window.startedAt));
  }
  tell('drawn lip to holds shown', lips);
  await browser.close();
}

/** From the address being opened to the hold drawn; the first time nothing of it is in memory. */
async function firstPicture() {
  const {chromium: type} = createRequire(join(modules, 'x.js'))('playwright-core');
  const browser = await type.launch({executablePath: chromium, args: ['--headless', '--no-sandbox', '--use-gl=angle',
    '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--disable-background-networking']});
  const times = [];
  for (let run = 0; run < 6; ++run) {
    const page = await (await browser.newContext({viewport: {width: 390, height: 844}})).newPage();
    await page.goto(`${address}#/hold/H-0001`);
    await page.waitForSelector('canvas[data-drawn="mesh"]');
    times.push(await page.evaluate(() => Number(document.querySelector('canvas.mesh').dataset.drawnAt)));
    await page.context().close();
  }
  console.log(`first picture of H-0001: ${times[0].toFixed(0)} ms at first, then ${times.slice(1).map((ms) => ms.toFixed(0)).join(', ')} ms`);
  await browser.close();
}

if (only === 'hold') await firstPicture();
if (!only || only === 'load') await load();
if (!only || only === 'taps') await taps();
server.kill('SIGINT');
await new Promise((resolve) => server.on('exit', resolve));
