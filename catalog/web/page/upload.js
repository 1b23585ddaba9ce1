// SPDX-License-Identifier: Apache-2.0
// Sends the photos of one intake, one after the other in pieces. A piece that does not get through
// is tried again, from where the server says that the photo ends, for as long as the page is open;
// after that it goes on from what the browser kept, or when the same photo is given once more.
import {get, post, put, remove} from './api.js';
import {dropFile, dropFiles, keepFile, keptCopy, keptFiles, onKept} from './kept_files.js';
import {sha256} from './sha256.js';

const PIECE = 128 * 1024;
const PATIENCE_MS = [500, 1000, 2000, 4000, 8000];
/** What may pass: the line, the server's own trouble (a full disk, say), a device to be paired anew. */
const passes = (status) => !status || status >= 500 || [401, 408, 429].includes(status);

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
/** Lets the page draw and answer between two photos. */
const breathe = () => new Promise((resolve) => setTimeout(resolve));

export class Uploads {
  /** changed: called when the state of an item changes; photo: with what the server knows of one.
   *  mat: what the photos show under the hold, as the intake has it. */
  constructor(intake, {changed, photo, mat}) {
    this.intake = intake;
    this.changed = changed;
    this.photo = photo;
    this.mat = mat;
    this.items = new Map();
    this.queue = [];
    /** How many lots of files are being read. */
    this.reading = 0;
    this.stopped = this.thrownAway = false;
    /** What keeps photos from being sent just now, for people; empty: nothing. */
    this.trouble = '';
    // Those too that are still being read since before the screen was left and come back to.
    this.deaf = onKept((kept) => kept.intake === intake && this.take(kept));
  }

  /** Files that a person gave. Gives the names of those that could not be read. All are kept, even if
   *  the screen is left meanwhile: only sending ends with it. */
  async add(files) {
    const unread = [];
    ++this.reading;
    for (const file of files.filter((one) => /\.(jpe?g|png)$/i.test(one.name))) {
      if (!await this.keep(file)) unread.push(file.name);
      await breathe();
    }
    --this.reading;
    this.changed();
    return unread;
  }

  /** Gives whether it could be read. */
  async keep(file) {
    const bytes = await file.arrayBuffer().then((buffer) => new Uint8Array(buffer), () => undefined);
    if (!bytes || this.thrownAway) return Boolean(bytes);
    const name = sha256(bytes);
    await keepFile({intake: this.intake, sha256: name, name: file.name, bytes: file, mat: this.mat});
    if (this.thrownAway) await dropFile(this.intake, name);
    return true;
  }

  /** What was kept from before. */
  async resume() {
    for (const photo of await keptFiles(this.intake)) this.take(photo);
  }

  take({sha256: name, name: label, bytes: blob, kept}) {
    // One that is done and given once more is asked about anew: another device may have taken it off.
    if (this.stopped || ['waiting', 'sending'].includes(this.items.get(name)?.state)) return;
    const item = {sha256: name, name: label, size: blob.size, sent: 0, state: 'waiting', message: '', blob, kept};
    this.items.set(name, item);
    this.queue.push(item);
    this.changed();
    this.run();
  }

  /** Ends sending. */
  stop() {
    this.stopped = true;
    this.deaf();
  }

  /** The intake is thrown away, and its photos with it. */
  async throwAway() {
    this.stop();
    this.thrownAway = true;
    await dropFiles(this.intake);
  }

  get busy() { return this.reading > 0 || (this.queue.length > 0 && !this.stopped) || Boolean(this.running); }
  /** Photos are not sent yet that the browser has no copy of. */
  get needsPage() { return [...this.items.values()].some((item) => item.state !== 'done' && !item.kept); }

  async run() {
    if (this.running) return;
    this.running = true;
    while (this.queue.length && !this.stopped) {
      await this.send(this.queue[0]);
      this.queue.shift();
      this.changed();
    }
    this.running = false;
    this.say('');
    this.changed();
  }

  /** Still to be sent: the screen is there, and nobody has taken it off. */
  wants(item) { return !this.stopped && this.items.get(item.sha256) === item; }

  /** Asks until an answer comes that stays the same however often it is asked. */
  async persist(item, ask) {
    for (let tries = 0; this.wants(item); ++tries) {
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
    throw new Error('It is not wanted any more.');
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

  /** The next bytes of an item, read before they are sent: what cannot be read is no fault of the line. */
  async nextPiece(item) {
    const read = (blob) => blob.slice(item.sent, item.sent + PIECE).arrayBuffer();
    try {
      return await read(item.blob);
    } catch {
      // The card that it was chosen from is pulled, say; the browser has a copy.
      const copy = await keptCopy(this.intake, item.sha256);
      try {
        const piece = await read(copy);
        item.blob = copy;
        return piece;
      } catch {
        throw new Error('It can no longer be read on this device: choose it once more.');
      }
    }
  }

  async send(item) {
    if (!this.wants(item)) return;
    const path = `/intakes/${this.intake}/photos`;
    try {
      item.state = 'sending';
      let photo = await this.persist(item, () => post(path, {sha256: item.sha256, name: item.name, size: item.size}));
      while (photo.state === 'UPLOADING' && this.wants(item)) {
        item.sent = Number(photo.received ?? 0);
        this.changed();
        const piece = await this.nextPiece(item);
        photo = await this.persist(item, async () => {
          try {
            return await put(`${path}/${item.sha256}?offset=${item.sent}`, piece);
          } catch (error) {
            // An answer was lost on the way: the server has more than this page knows.
            if (error.status === 409) return get(`${path}/${item.sha256}`);
            throw error;
          }
        });
      }
      if (!this.wants(item)) return;
      item.sent = item.size;
      item.state = 'done';
      delete item.blob;
      this.photo(photo);
      await dropFile(this.intake, item.sha256);
    } catch (error) {
      if (!this.wants(item)) return;
      // It stays here until it is sent or taken off: it may be the only copy.
      item.state = 'failed';
      item.message = error.message;
    } finally {
      // Taken off while the server was told of it, which may have heard of that first.
      if (!this.stopped && !this.items.has(item.sha256)) await remove(`${path}/${item.sha256}`).catch(() => {});
    }
  }
}
