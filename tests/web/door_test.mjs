// SPDX-License-Identifier: Apache-2.0
// Who gets in and who does not: pairing, roles, withdrawing, and requests that no page makes.
import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {connect} from 'node:net';

const JSON_TYPE = {'Content-Type': 'application/json'};

/** Sends bytes as they are and gives back what came until the server closed, or the test has failed. */
const wire = (address, bytes) => new Promise((resolve) => {
  const url = new URL(address);
  let text = '';
  const socket = connect(url.port, url.hostname, () => socket.write(bytes));
  const end = () => { socket.destroy(); resolve(text); };
  socket.on('data', (data) => { text += data; });
  socket.on('close', end);
  socket.on('error', end);
  setTimeout(end, 10_000).unref();
});

/** Sends bytes as they are: {text: what came, ended: whether the server closed, within ten seconds}. */
const wireEnd = (address, bytes) => new Promise((resolve) => {
  const url = new URL(address);
  let text = '';
  const socket = connect(url.port, url.hostname, () => socket.write(bytes));
  const end = (ended) => { socket.destroy(); resolve({text, ended}); };
  socket.on('data', (data) => { text += data; });
  for (const event of ['end', 'close', 'error']) socket.on(event, () => end(true));
  setTimeout(() => end(false), 10_000).unref();
});

/** Registers the tests. tools: {program, library, startServer, raw, checkScreen}. */
export function doorTests(test, {program, library, startServer, raw, checkScreen}) {
  const codeFor = (role) => JSON.parse(execFileSync(program,
    ['devices', '--library', library, '--code', role, '--json'], {encoding: 'utf8'})).code;
  const pair = (address, code, name = 'a phone') => raw(address, {method: 'POST', path: '/api/v1/pair',
    headers: JSON_TYPE, body: JSON.stringify({code, name})});
  /** Headers of a new device in this role. */
  const device = async (address, role) => {
    const reply = await pair(address, codeFor(role), `a ${role} phone`);
    assert.equal(reply.status, 200, reply.text);
    const cookie = reply.headers['set-cookie'][0];
    assert.match(cookie, /^holdshelf=[0-9a-f]{64}; HttpOnly; SameSite=Strict; Path=\/; Max-Age=\d+$/);
    return {headers: {...JSON_TYPE, Cookie: cookie.split(';')[0]}, id: JSON.parse(reply.text).id};
  };
  const status = async (address, ask) => (await raw(address, ask)).status;
  /** A server to which this machine is as foreign as any phone. */
  const closed = (name, run) => test(name, async (given) => {
    const {endServer, address} = await startServer(library, ['--pair-here']);
    try {
      await run({...given, address});
    } finally {
      await endServer();
    }
  });
  const note = (headers) => ({method: 'POST', path: '/api/v1/holds/H-0001/note', headers, body: '{"text": "seen"}'});
  const edit = (headers) => ({method: 'POST', path: '/api/v1/holds/H-0001/edit', headers,
                              body: '{"fields": ["bin"], "bin": "A1"}'});

  closed('door: without a code there is the page and nothing behind it', async ({address}) => {
    const document = JSON.parse((await raw(address, {path: '/api/v1/openapi.json'})).text);
    for (const [path, methods] of Object.entries(document.paths))
      for (const [method, operation] of Object.entries(methods)) {
        if (operation.description === 'Open to every device.') continue;
        const ask = {method: method.toUpperCase(), path: path.replace(/\{\w+\}/g, 'H-0001'), headers: JSON_TYPE,
                     body: method === 'get' ? undefined : '{}'};
        assert.equal(await status(address, ask), 401, `${method} ${path}`);
      }
    const about = JSON.parse((await raw(address, {path: '/api/v1/about'})).text);
    for (const secret of ['role', 'device', 'library']) assert.ok(!about[secret], secret);
    assert.equal(await status(address, {path: '/'}), 200);
    for (const cookie of ['holdshelf=', `holdshelf=${'0'.repeat(64)}`, `holdshelf=' OR 1=1 --`, `x; holdshelf=${'f'.repeat(64)};`])
      assert.equal(await status(address, {path: '/api/v1/numbers', headers: {Cookie: cookie}}), 401, cookie);
  });

  closed('door: each role may what it may, and no more', async ({address}) => {
    const may = {look: [200, 403, 403, 403], set: [200, 200, 403, 403], log: [200, 200, 200, 403], head: [200, 200, 200, 200]};
    for (const [role, wanted] of Object.entries(may)) {
      const {headers} = await device(address, role);
      const asks = [{path: '/api/v1/holds/H-0001', headers}, note(headers), edit(headers), {path: '/api/v1/devices', headers}];
      const got = [];
      for (const ask of asks) got.push(await status(address, ask));
      assert.deepEqual(got, wanted, role);
      const move = {method: 'POST', path: '/api/v1/holds/H-0001/move', headers};
      assert.equal(await status(address, {...move, body: '{"status": "RETIRED"}'}), role === 'head' ? 200 : 403);
      if (role === 'head') assert.equal(await status(address, {...move, body: '{"status": "SHELF"}'}), 200);
    }
    const history = JSON.parse((await raw(address, {path: '/api/v1/holds/H-0001/history',
      headers: (await device(address, 'look')).headers})).text);
    assert.ok(history.events.some((event) => event.who === 'a set phone'), 'the history names the device');
  });

  closed('door: a withdrawn device is out at once, its live events too', async ({address}) => {
    const head = await device(address, 'head'), phone = await device(address, 'set');
    const stream = fetch(`${address}api/v1/events`, {headers: phone.headers}).then((reply) => reply.text()).catch(() => {});
    await new Promise((resolve) => setTimeout(resolve, 200));
    assert.equal(await status(address, {method: 'DELETE', path: `/api/v1/devices/${phone.id}`, headers: phone.headers}), 403);
    execFileSync(program, ['devices', '--library', library, '--withdraw', phone.id]);
    assert.equal(await status(address, note(phone.headers)), 401);
    await stream;
    const other = await device(address, 'look');
    assert.equal(await status(address, {method: 'DELETE', path: `/api/v1/devices/${other.id}`, headers: head.headers}), 200);
    assert.equal(await status(address, {path: '/api/v1/numbers', headers: other.headers}), 401);
    assert.equal(await status(address, {method: 'DELETE', path: `/api/v1/devices/${other.id}`, headers: head.headers}), 400);
    assert.equal(await status(address, {method: 'POST', path: '/api/v1/leave', headers: head.headers, body: '{}'}), 200);
    assert.equal(await status(address, {path: '/api/v1/devices', headers: head.headers}), 401);
  });

  closed('door: codes work once and cannot be tried out', async ({address}) => {
    const code = codeFor('set');
    assert.equal((await pair(address, code)).status, 200);
    assert.equal((await pair(address, code)).status, 403, 'replayed');
    for (const name of [' ', 'x'.repeat(41), '\u0001', '', 'ä'.repeat(41), ' \t ', '']) {
      const unnamed = await pair(address, code, name);
      assert.equal(unnamed.status, 400, 'a wrong name is no wrong code');
      assert.match(JSON.parse(unnamed.text).sentence, /name/);
    }
    for (const wrong of ['', "' OR ''='", '99999999999999999999', '1234'])
      assert.equal((await pair(address, wrong)).status, 403, wrong);
    assert.equal((await pair(address, '12345678')).status, 429);
    const late = await pair(address, codeFor('head'));
    assert.equal(late.status, 429, 'nor does a right one get in now');
    assert.match(JSON.parse(late.text).sentence, /ten minutes/);
  });

  test('door: what is written of a hold has a length', async ({address}) => {
    const says = (path, message) => raw(address, {method: 'POST', path: `/api/v1/holds/H-0001/${path}`, headers: JSON_TYPE,
                                                  body: JSON.stringify(message)});
    for (const [field, most] of [['name', 200], ['bin', 100], ['set', 200], ['texture', 200], ['maker', 200]]) {
      const reply = await says('edit', {fields: [field], [field]: 'x'.repeat(most + 1)});
      assert.equal(reply.status, 400, field);
      assert.match(reply.text, new RegExp(`${field} is longer than ${most} letters`));
    }
    for (const count of [0, -1, 100_001]) assert.equal((await says('edit', {fields: ['count'], count})).status, 400, `${count} pieces`);
    assert.equal((await says('note', {text: 'x'.repeat(4001)})).status, 400);
    assert.equal((await says('note', {text: ' \n\u0001'})).status, 400, 'nothing that can be read');
    assert.equal((await says('move', {status: 'WALL', place: 'x'.repeat(201)})).status, 400);
    assert.equal((await says('edit', {fields: ['texture'], texture: ` ${'ä'.repeat(200)}\u001b`})).status, 200, 'letters, not bytes');
    assert.equal(JSON.parse((await raw(address, {path: '/api/v1/holds/H-0001'})).text).texture, 'ä'.repeat(200));
    assert.equal((await says('edit', {fields: ['texture'], texture: ''})).status, 200);
  });

  closed('door: foreign names, foreign pages, bodies of the wrong kind', async ({address}) => {
    const {headers} = await device(address, 'set'), log = await device(address, 'log');
    const host = new URL(address).host;
    const bad = [
      [421, {path: '/', headers: {Host: 'rebound.example'}}],
      [421, {path: '/api/v1/numbers', headers: {...headers, Host: 'rebound.example:8484'}}],
      [421, {path: '/api/v1/numbers', headers: {...headers, Host: `${host}.rebound.example`}}],
      [403, note({...headers, Origin: 'http://rebound.example'})], [403, note({...headers, Origin: 'null'})],
      [403, note({...headers, Origin: `https://${host}`})], [403, note({...headers, 'Sec-Fetch-Site': 'same-site'})],
      [413, {...note(headers), body: JSON.stringify({text: 'x'.repeat(100_000)})}],
      [413, {...note({...log.headers, 'Content-Length': '9500000'}), body: 'x'.repeat(100_000)}],
      [401, {...note(JSON_TYPE), body: 'x'.repeat(100_000)}],
      [413, {...note({...JSON_TYPE, 'Content-Length': '9000000000'}), body: ''}],
      [411, note({...headers, 'Transfer-Encoding': 'chunked'})],
      [415, note({...headers, 'Content-Encoding': 'gzip'})],
      [415, note({...headers, 'Content-Type': 'multipart/form-data; boundary=x'})],
      [415, note({...headers, 'Content-Type': 'application/x-www-form-urlencoded'})],
      [416, {path: '/', headers: {Range: 'bytes=0-0,1-1,2-2'}}],
      [400, {path: '/api/v1/holds/%ff%fe', headers}], [400, {path: '/api/v1/holds/H-0001/verdict?hand=%c3', headers}],
    ];
    for (const [wanted, ask] of bad) {
      const reply = await raw(address, ask).catch((error) => ({status: error.code, text: ''}));
      assert.equal(reply.status, wanted, `${JSON.stringify(ask).slice(0, 200)}: ${reply.text}`);
    }
    for (const path of ['/../serve/devices.sqlite', '/%2e%2e/serve/devices.sqlite', '/serve/devices.sqlite', '/lib/..%2f..%2fserve%2fdevices.sqlite',
                        '/api/v1/holds/..%2f..%2fserve%2fdevices.sqlite/thumbnail', '/api/v1/holds/H-0001/thumbnail?scan=../../../etc/passwd',
                        '/app.js%00.css', '//etc/passwd'])
      assert.equal(await status(address, {path, headers}), 404, path);
  });

  closed('door: what is no HTTP does not bring it down', async ({address}) => {
    const {host} = new URL(address);
    const sent = ['\r\n\r\n\r\n', '\x00\x01\x02\xff\xfe\r\n\r\n', 'GET / HTTP/9.9\r\n\r\n', 'GET\r\n\r\n', 'BREW / HTTP/1.1\r\n\r\n',
      `GET / HTTP/1.1\r\nHost: ${host}\r\nHost: rebound.example\r\n\r\n`, `GET /${'a'.repeat(20_000)} HTTP/1.1\r\nHost: ${host}\r\n\r\n`,
      `GET / HTTP/1.1\r\nHost: ${host}\r\nX: ${'b'.repeat(70_000)}\r\n\r\n`, `GET / HTTP/1.1\r\nHost ${host}\r\n\r\n`, 'GET / HTTP/1.1\r\n\r\n',
      `POST /api/v1/pair HTTP/1.1\r\nHost: ${host}\r\nContent-Length: -1\r\n\r\n`, `POST /api/v1/pair HTTP/1.1\r\nHost: ${host}\r\nContent-Length: 1e3\r\n\r\n{}`,
      `POST /api/v1/pair HTTP/1.1\r\nHost: ${host}\r\nContent-Length: 5\r\nContent-Length: 50\r\n\r\n{}`,
      `POST /api/v1/pair HTTP/1.1\r\nHost: ${host}\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\n`,
      `GET / HTTP/1.1\r\nHost: ${host}\r\nRange: bytes=99999999999999999999-\r\n\r\n`,
      `GET /api/v1/numbers HTTP/1.1\r\nHost: ${host}\r\nCookie: ${'holdshelf=;'.repeat(600)}\r\n\r\n`];
    for (const bytes of sent) {
      const reply = await wire(address, Buffer.from(bytes, 'latin1'));
      assert.doesNotMatch(reply, /^HTTP\/1\.1 (2|5)/, JSON.stringify(bytes.slice(0, 120)));
    }
    assert.equal(await status(address, {path: '/api/v1/about'}), 200, 'it still answers');
  });

  closed('door: a part of an answer is never more than the answer', async ({address}) => {
    const all = await raw(address, {path: '/'}), about = await raw(address, {path: '/api/v1/about'});
    assert.equal(all.status, 200);
    for (const range of ['0-0', '0-999999', '4000-4000000', '999999-9999999', '5-', '-5', '-999999', '18446744073709551615-']) {
      const headers = {Range: `bytes=${range}`};
      for (const [path, whole] of [['/', all], ['/api/v1/about', about]]) {
        const reply = await raw(address, {path, headers});
        assert.ok([200, 416].includes(reply.status), `${path} ${range}: ${reply.status}`);
        if (reply.status === 200) assert.equal(reply.text, whole.text, `${path} ${range}`);
      }
      const closed = (await raw(address, {path: '/api/v1/numbers', headers})).status;
      assert.ok([401, 416].includes(closed), `${range}: ${closed}`);
    }
  });

  closed('door: what never ends is not kept', async ({address}) => {
    const {host} = new URL(address);
    const endless = (head, piece) => new Promise((resolve, reject) => {
      let text = '', sent = 0;
      const socket = connect(new URL(address).port, new URL(address).hostname, () => {
        socket.write(head);
        const more = () => {
          if (socket.destroyed) return;
          sent += piece.length;
          if (sent > 64e6) reject(new Error(`64 MB were taken after ${head.slice(0, 60)}`));
          else socket.write(piece, () => setImmediate(more));
        };
        more();
      });
      const end = () => { socket.destroy(); resolve(text); };
      socket.on('data', (data) => { text += data; });
      for (const event of ['end', 'close', 'error']) socket.on(event, end);
    });
    const piece = 'a'.repeat(50_000);
    await endless('GET /', piece);
    await endless(`GET / HTTP/1.1\r\nHost: ${host}\r\n`, 'A: b\r\n'.repeat(5000));
    for (const length of ['', 'Content-Length: \r\n']) {
      await endless(`POST /api/v1/pair HTTP/1.1\r\nHost: ${host}\r\n${length}\r\n`, piece);
      assert.match(await wire(address, `POST /api/v1/pair HTTP/1.1\r\nHost: ${host}\r\n${length}\r\n`), /^HTTP\/1\.1 411 /);
    }
    for (const method of ['PATCH', 'PRI', 'OPTIONS'])
      assert.doesNotMatch(await endless(`${method} /api/v1/pair HTTP/1.1\r\nHost: ${host}\r\n\r\n`, piece), /^HTTP\/1\.1 2/, method);
    assert.equal(await status(address, {path: '/api/v1/about'}), 200, 'it still answers');
  });

  test('door: the rest of what was turned down is not taken for a request', async ({address}) => {
    const {host} = new URL(address);
    const inner = '{"text": "smuggled"}';
    const note = `POST /api/v1/holds/H-0001/note HTTP/1.1\r\nHost: ${host}\r\nContent-Type: application/json\r\n` +
                 `Content-Length: ${inner.length}\r\n\r\n${inner}`;
    const noted = async () => JSON.parse((await raw(address, {path: '/api/v1/holds/H-0001/history'})).text)
      .events.filter((event) => event.noted === 'smuggled').length;
    const post = 'POST /api/v1/holds/H-0001/note HTTP/1.1', from = `Host: ${host}\r\nOrigin: http://rebound.example`;
    const size = `Content-Length: ${note.length}`;
    const heads = [
      [403, `${post}\r\n${from}\r\n${size}`], [403, `${post}\r\n${from}\r\nConnection: keep-alive\r\n${size}`],
      [403, `${post}\r\n${from}\r\nRange: bytes=999999-\r\n${size}`], [403, `${post}\r\n${from}\r\nRange: bytes=0-1\r\n${size}`],
      [421, `${post}\r\nHost: rebound.example\r\n${size}`], [421, `HEAD / HTTP/1.1\r\nHost: rebound.example\r\n${size}`],
      [411, `${post}\r\nHost: ${host}\r\nTransfer-Encoding: chunked`], [415, `${post}\r\nHost: ${host}\r\nContent-Encoding: gzip\r\n${size}`],
      [415, `${post}\r\nHost: ${host}\r\nContent-Type: multipart/form-data; boundary=x\r\n${size}`],
      [413, `${post}\r\nHost: ${host}\r\nContent-Length: 9000000000`], [400, `${post}\r\nHost: ${host}\r\nContent-Length: 1e3`],
      [416, `GET / HTTP/1.1\r\nHost: ${host}\r\nRange: bytes=0-0,1-1\r\n${size}`], [416, `${post}\r\nHost: ${host}\r\nRange: x\r\n${size}`],
      [400, `GET / HTTP/1.1\r\nHost: ${host}\r\n${size}`], [400, `HEAD / HTTP/1.1\r\nHost: ${host}\r\n${size}`],
      [400, `OPTIONS / HTTP/1.1\r\nHost: ${host}\r\n${size}`], [400, `BREW / HTTP/1.1\r\nHost: ${host}\r\n${size}`],
      [414, `POST /${'a'.repeat(20_000)} HTTP/1.1\r\n${from}\r\n${size}`], [400, `${post}\r\n${from}\r\nX: ${'b'.repeat(20_000)}\r\n${size}`],
    ];
    for (const [wanted, head] of heads) {
      const began = performance.now();
      const {text, ended} = await wireEnd(address, `${head}\r\n\r\n${note}`);
      const what = `${head.slice(0, 200)}: ${text.slice(0, 200)}`;
      assert.ok(text.startsWith(`HTTP/1.1 ${wanted} `), what);
      assert.equal(text.split('HTTP/1.1 ').length, 2, `one answer to ${what}`);
      assert.ok(ended, `the connection ends after ${Math.round(performance.now() - began)} ms: ${what}`);
      assert.equal(await noted(), 0, what);
    }
    assert.match((await wireEnd(address, note)).text, /^HTTP\/1\.1 200 /, 'by itself it is a request');
    assert.equal(await noted(), 1);
  });

  test('door: behind a proxy on this machine nobody is its head', async ({address}) => {
    assert.equal(await status(address, {path: '/api/v1/devices'}), 200);
    for (const [name, value] of [['X-Forwarded-For', '192.0.2.7'], ['Forwarded', 'for=192.0.2.7'], ['Via', '1.1 proxy']])
      assert.equal(await status(address, {path: '/api/v1/devices', headers: {[name]: value}}), 401, name);
  });

  closed('door: a phone pairs by hand, the head sees it and withdraws it', async ({address, page, expectErrors}) => {
    expectErrors(/status of 40[134]|net::ERR_(INCOMPLETE|CONTENT_LENGTH)/);  // The browser notes what is turned down.
    await page.goto(address);
    await page.waitForSelector('#code');
    await checkScreen(page, 'pair');
    await page.fill('#code', '0000 0000');
    await page.fill('#device', 'Kim’s phone');
    await page.click('text=Pair this device >> nth=-1');
    await page.waitForSelector('.miss >> text=ask for a new one');
    await page.fill('#code', codeFor('head'));
    await page.keyboard.press('Enter');
    await page.waitForSelector('.card');
    await page.goto(`${address}#/devices`);
    await page.waitForSelector('.devices >> text=Kim’s phone');
    await page.click('.chip >> text=Log');
    await page.click('text=Make a code');
    await page.waitForSelector('.code-digits');
    await checkScreen(page, 'devices');
    const code = await page.textContent('.code-digits');
    assert.equal(JSON.parse((await pair(address, code, 'Clerk')).text).role, 'log');
    await page.waitForSelector('.devices >> text=Clerk');
    await page.click('[aria-label="Withdraw Clerk"]');
    await page.waitForSelector('.devices >> text=Clerk', {state: 'detached'});
    const {devices} = JSON.parse(execFileSync(program, ['devices', '--library', library, '--json'], {encoding: 'utf8'}));
    execFileSync(program, ['devices', '--library', library, '--withdraw', devices.find((d) => d.name === 'Kim’s phone').id]);
    await page.goto(`${address}#/shelf`);
    await page.waitForSelector('#code');
    await page.goto('about:blank');  // Before its server ends.
  });
}
