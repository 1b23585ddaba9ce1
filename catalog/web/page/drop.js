// SPDX-License-Identifier: Apache-2.0
// Files and whole folders that are dragged onto the page.

/** Adds all files of an entry, in it and below, to `files`, and to `unread` the names of what cannot
 *  be read: it costs nothing but itself. */
async function readEntry(entry, files, unread) {
  try {
    if (entry.isFile) {
      files.push(await new Promise((resolve, reject) => { entry.file(resolve, reject); }));
      return;
    }
    const reader = entry.createReader();
    // It gives a hundred at a time, and none when that was all.
    for (let some; (some = await new Promise((resolve, reject) => { reader.readEntries(resolve, reject); })).length;)
      for (const each of some) await readEntry(each, files, unread);
  } catch {
    unread.push(entry.name);
  }
}

/** Takes what is dropped anywhere on the page while the screen is there; elsewhere a browser would
 *  leave the page to show the file. `screen` is marked while something hangs over it. `give` gets the
 *  files, and the names of what could not be read. */
export function takeDrops(screen, atEnd, give) {
  const carries = (event) => event.dataTransfer?.types.includes('Files');
  let over;
  const hang = (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    screen.classList.add('dropping');
    clearTimeout(over);
    over = setTimeout(() => screen.classList.remove('dropping'), 300);  // Told anew all the while.
  };
  const fall = async (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    screen.classList.remove('dropping');
    // Asked for at once: when this function first waits, the browser takes them away.
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.());
    const plain = [...event.dataTransfer.files];
    const files = [], unread = [];
    if (entries.length && entries.every(Boolean)) await Promise.all(entries.map((entry) => readEntry(entry, files, unread)));
    else files.push(...plain);
    give(files.sort((a, b) => a.name.localeCompare(b.name)), unread);
  };
  document.addEventListener('dragover', hang);
  document.addEventListener('drop', fall);
  atEnd(() => {
    document.removeEventListener('dragover', hang);
    document.removeEventListener('drop', fall);
  });
}
