// SPDX-License-Identifier: Apache-2.0
// Files and whole folders that are dragged onto the page.

/** All files of a folder's entry, in it and below. */
async function filesBelow(entry) {
  if (entry.isFile) return [await new Promise((resolve, reject) => { entry.file(resolve, reject); })];
  const reader = entry.createReader(), found = [];
  // It gives a hundred at a time, and none when that was all.
  for (let some; (some = await new Promise((resolve, reject) => { reader.readEntries(resolve, reject); })).length;)
    for (const each of some) found.push(...await filesBelow(each));
  return found;
}

/** Takes what is dropped anywhere on the page while the screen is there; elsewhere a browser would
 *  leave the page to show the file. `screen` is marked while something hangs over it. */
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
    const files = entries.length && entries.every(Boolean) ? (await Promise.all(entries.map(filesBelow))).flat() : plain;
    give(files.sort((a, b) => a.name.localeCompare(b.name)));
  };
  document.addEventListener('dragover', hang);
  document.addEventListener('drop', fall);
  atEnd(() => {
    document.removeEventListener('dragover', hang);
    document.removeEventListener('drop', fall);
  });
}
