// SPDX-License-Identifier: Apache-2.0
// The server's answers.

const ROOT = '/api/v1';

/** The server turned the request down, or could not be reached; the message is for people. */
export class Refused extends Error {
  constructor(status, sentence) {
    super(sentence);
    this.status = status;
  }
}

async function ask(path, options = {}) {
  let response;
  try {
    response = await fetch(ROOT + path, options);
  } catch (error) {
    if (error.name === 'AbortError') throw error;
    throw new Refused(0, "The gym's computer does not answer: check that this device is in its " +
                         'network and that holdshelf serve is running.');
  }
  if (response.ok) return response;
  let sentence = `The server answered with ${response.status}.`;
  try {
    sentence = (await response.json()).sentence ?? sentence;
  } catch { /* No JSON: the plain sentence stays. */ }
  // Withdrawn or expired while the page was open: the frame asks for a code again.
  if (response.status === 401) window.dispatchEvent(new Event('settings'));
  throw new Refused(response.status, sentence);
}

export const get = async (path, signal) => (await ask(path, {signal})).json();
export const getBytes = async (path, signal) => (await ask(path, {signal})).arrayBuffer();
export const post = async (path, message, signal) => (await ask(path, {
  method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify(message ?? {}), signal,
})).json();
export const put = async (path, bytes, signal) => (await ask(path, {
  method: 'PUT', headers: {'Content-Type': 'application/octet-stream'}, body: bytes, signal,
})).json();
export const remove = async (path) => (await ask(path, {method: 'DELETE'})).json();

/** Address of a picture or file of the server. */
export const address = (path) => ROOT + path;
export const holdPath = (id, rest = '') => `/holds/${encodeURIComponent(id)}${rest}`;

const AGAIN_MS = 5000;
const listeners = new Map();
const returns = new Set();
let source, cut = false;

function hear(kind) {
  source.addEventListener(kind, (event) => {
    const message = JSON.parse(event.data);
    for (const each of listeners.get(kind)) each(message);
  });
}

/** Where the line is cut the browser reconnects by itself and the server sends what was missed; where
 *  the server turned it down (as many listen as may), it gives up, and is asked anew here. */
function connect() {
  source = new EventSource(ROOT + '/events');
  for (const kind of listeners.keys()) hear(kind);
  source.addEventListener('error', () => {
    cut = true;
    if (source.readyState === EventSource.CLOSED) setTimeout(connect, AGAIN_MS);
  });
  source.addEventListener('open', () => {
    if (cut) for (const each of [...returns]) each();
    cut = false;
  });
}

/** Calls back when live events come again after the line was cut; returns how to stop. */
export function onReturn(callback) {
  returns.add(callback);
  return () => returns.delete(callback);
}

/** Calls back on live events of a kind; returns how to stop. */
export function listen(kind, callback) {
  const first = !listeners.has(kind);
  if (first) listeners.set(kind, new Set());
  if (!source) connect();
  else if (first) hear(kind);
  listeners.get(kind).add(callback);
  return () => listeners.get(kind).delete(callback);
}
