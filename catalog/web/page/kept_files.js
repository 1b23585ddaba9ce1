// SPDX-License-Identifier: Apache-2.0
// Photos that are on their way, kept by the browser until the server has them: a closed tab or an
// empty battery loses none. What it cannot keep (a private window, no room) is on its way only as
// long as the page is open: that is remembered here, whichever screen is shown, and the page asks
// before it is left.
//
// A photo is {intake, sha256, name, bytes, mat}: the mat that it shows goes with it, as a new intake
// needs it. Those that are given out say besides with `kept` whether the browser has a copy.

/** By keyOf: those that the browser does not keep. */
const loose = new Map();
const watchers = new Set();
const keyOf = ({intake, sha256}) => `${intake}/${sha256}`;

function askFirst(event) {
  event.preventDefault();
  event.returnValue = true;  // What browsers of before 2024 go by.
}

/** Where nothing would be lost nobody is asked. */
function guardLeaving() {
  if (loose.size) window.addEventListener('beforeunload', askFirst);
  else window.removeEventListener('beforeunload', askFirst);
}

const open = () => new Promise((resolve, reject) => {
  const asked = indexedDB.open('holdshelf', 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore('files', {keyPath: ['intake', 'sha256']});
  asked.onsuccess = () => resolve(asked.result);
  asked.onerror = () => reject(asked.error);
});

/** {result: what was asked for} once all of it is done and written; undefined where it is not. */
async function inStore(mode, work) {
  try {
    const database = await open();
    try {
      const all = database.transaction('files', mode, {durability: 'strict'});
      const asked = work(all.objectStore('files'));
      // A request that went well may still not be written: the disk was full, the file is gone.
      await new Promise((resolve, reject) => {
        all.oncomplete = resolve;
        all.onabort = () => reject(all.error);
      });
      return {result: asked.result};
    } finally {
      database.close();
    }
  } catch {
    return undefined;
  }
}

const range = (intake) => IDBKeyRange.bound([intake], [intake, []]);
const looseOf = (intake) => [...loose.values()].filter((photo) => intake === undefined || photo.intake === intake);

/** Gives whether the browser has a copy now. */
export async function keepFile(photo) {
  const kept = Boolean(await inStore('readwrite', (store) => store.put(photo)));
  if (kept) loose.delete(keyOf(photo));
  else loose.set(keyOf(photo), photo);
  guardLeaving();
  for (const each of [...watchers]) each({...photo, kept});
  return kept;
}

/** Calls back with each photo that is given from now on, for whichever intake; returns how to stop. */
export function onKept(callback) {
  watchers.add(callback);
  return () => watchers.delete(callback);
}

/** Those of an intake, or of all. */
export async function keptFiles(intake) {
  const written = (await inStore('readonly', (store) => store.getAll(intake === undefined ? undefined : range(intake))))?.result ?? [];
  const photos = [...looseOf(intake).map((photo) => ({...photo, kept: false})), ...written.map((photo) => ({...photo, kept: true}))];
  return [...new Map(photos.map((photo) => [keyOf(photo), photo])).values()];
}

/** The browser's copy of one, if it has one. */
export const keptCopy = async (intake, sha256) =>
  (await inStore('readonly', (store) => store.get([intake, sha256])))?.result?.bytes;

export async function dropFile(intake, sha256) {
  loose.delete(keyOf({intake, sha256}));
  guardLeaving();
  await inStore('readwrite', (store) => store.delete([intake, sha256]));
}

export async function dropFiles(intake) {
  for (const photo of looseOf(intake)) loose.delete(keyOf(photo));
  guardLeaving();
  await inStore('readwrite', (store) => store.delete(range(intake)));
}

/** Hands all photos of an intake on to another, or none. Gives whether that was done. */
export async function moveFiles(from, to) {
  await inStore('readwrite', (store) => {
    const walk = store.openCursor(range(from));
    walk.onsuccess = () => {
      const at = walk.result;
      if (!at) return;
      store.put({...at.value, intake: to});
      at.delete();
      at.continue();
    };
    return walk;
  });
  if ((await keptFiles(from)).some((photo) => photo.kept)) return false;
  for (const photo of looseOf(from)) {
    loose.delete(keyOf(photo));
    loose.set(keyOf({...photo, intake: to}), {...photo, intake: to});
  }
  return true;
}
