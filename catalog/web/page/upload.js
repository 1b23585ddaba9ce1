// SPDX-License-Identifier: Apache-2.0
// Sends the photos of one intake, one after the other in pieces. A piece that does not get through
// is tried again, from where the server says that the photo ends, for as long as the page is open;
// after that it goes on from what the browser kept, or when the same photo is given once more.
import {get, post, put} from './api.js';
import {dropFile, keepFile, keptFiles} from './kept_files.js';
import {sha256} from './sha256.js';

const PIECE = 128 * 1024;
const PATIENCE_MS = [500, 1000, 2000, 4000, 8000];
/** What may pass: the line, the server's own trouble (a full disk, say), a device to be paired anew. */
const passes = (status) => !status || status >= 500 || [401, 408, 429].includes(status);

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
/** Lets the page draw and answer between two photos. */
const breathe = () => new Promise((resolve) => setTimeout(resolve));

export class Uploads {
  /** changed: called when the state of an item changes; photo: with what the server knows of one. */
  constructor(intake, {changed, photo}) {
    this.intake = intake;
    this.changed = changed;
    this.photo = photo;
    this.items = new Map();
    this.queue = [];
    this.stopped = false;
    /** What keeps photos from being sent just now, for people; empty: nothing. */
    this.trouble = '';
  }

  /** Files that a person gave. Gives the names of those that could not be read. */
  async add(files) {
    const unread = [];
    for (const file of files.filter((one) => /\.(jpe?g|png)$/i.test(one.name))) {
      if (this.stopped) break;
      const bytes = await file.arrayBuffer().then((buffer) => new Uint8Array(buffer), () => undefined);
      if (!bytes) {
        unread.push(file.name);
        continue;
      }
      const name = sha256(bytes);
      await keepFile(this.intake, name, file);
      this.take(name, file.name, file);
      await breathe();
    }
    return unread;
  }

  /** What the browser kept from before. */
  async resume() {
    for (const {sha256: name, name: label, bytes} of await keptFiles(this.intake)) this.take(name, label, bytes);
  }

  take(name, label, blob) {
    const known = this.items.get(name);
    if (known && known.state !== 'failed') return;
    this.items.set(name, {sha256: name, name: label, size: blob.size, sent: 0, state: 'waiting', message: '', blob});
    this.queue.push(name);
    this.changed();
    this.run();
  }

  stop() { this.stopped = true; }
  get busy() { return this.queue.length > 0 || this.running; }

  async run() {
    if (this.running) return;
    this.running = true;
    while (this.queue.length && !this.stopped) {
      const item = this.items.get(this.queue[0]);
      await this.send(item);
      this.queue.shift();
      this.changed();
    }
    this.running = false;
    this.changed();
  }

  /** Asks until an answer comes that stays the same however often it is asked. */
  async persist(ask) {
    for (let tries = 0; !this.stopped; ++tries) {
      try {
        const answer = await ask();
        this.say('');
        return answer;
      } catch (error) {
        if (!passes(error.status)) throw error;
        this.say(error.message);
        await wait(PATIENCE_MS[Math.min(tries, PATIENCE_MS.length - 1)]);
      }
    }
    throw new Error('The page was left.');
  }

  say(trouble) {
    if (trouble === this.trouble) return;
    this.trouble = trouble;
    this.changed();
  }

  /** A person takes a photo off. */
  async drop(name) {
    this.items.delete(name);
    await dropFile(this.intake, name);
  }

  async send(item) {
    const path = `/intakes/${this.intake}/photos`;
    try {
      item.state = 'sending';
      let photo = await this.persist(() => post(path, {sha256: item.sha256, name: item.name, size: item.size}));
      while (photo.state === 'UPLOADING' && !this.stopped) {
        item.sent = Number(photo.received ?? 0);
        this.changed();
        const piece = item.blob.slice(item.sent, item.sent + PIECE);
        photo = await this.persist(async () => {
          try {
            return await put(`${path}/${item.sha256}?offset=${item.sent}`, piece);
          } catch (error) {
            // An answer was lost on the way: the server has more than this page knows.
            if (error.status === 409) return get(`${path}/${item.sha256}`);
            throw error;
          }
        });
      }
      if (this.stopped) return;
      item.sent = item.size;
      item.state = 'done';
      delete item.blob;
      this.photo(photo);
      await dropFile(this.intake, item.sha256);
    } catch (error) {
      if (this.stopped) return;
      // The browser keeps it until it is sent or taken off: it may be the only copy.
      item.state = 'failed';
      item.message = error.message;
    }
  }
}
