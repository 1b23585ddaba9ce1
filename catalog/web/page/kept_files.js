// SPDX-License-Identifier: Apache-2.0
// Photos that are on their way, kept by the browser until the server has them: a closed tab or an
// empty battery loses none. Where the browser keeps nothing (a private window), they are on their
// way only as long as the page is open.

const open = () => new Promise((resolve, reject) => {
  const asked = indexedDB.open('holdshelf', 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore('files', {keyPath: ['intake', 'sha256']});
  asked.onsuccess = () => resolve(asked.result);
  asked.onerror = () => reject(asked.error);
});

async function inStore(mode, work) {
  try {
    const database = await open();
    try {
      const asked = work(database.transaction('files', mode).objectStore('files'));
      return await new Promise((resolve, reject) => {
        asked.onsuccess = () => resolve(asked.result);
        asked.onerror = () => reject(asked.error);
      });
    } finally {
      database.close();
    }
  } catch {
    return undefined;
  }
}

export const keepFile = (intake, sha256, file) =>
  inStore('readwrite', (store) => store.put({intake, sha256, name: file.name, bytes: file}));
export const dropFile = (intake, sha256) => inStore('readwrite', (store) => store.delete([intake, sha256]));
const range = (intake) => IDBKeyRange.bound([intake], [intake, []]);
/** [{sha256, name, bytes}] of an intake. */
export const keptFiles = async (intake) => await inStore('readonly', (store) => store.getAll(range(intake))) ?? [];
export const dropFiles = (intake) => inStore('readwrite', (store) => store.delete(range(intake)));
