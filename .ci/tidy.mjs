// SPDX-License-Identifier: Apache-2.0
// tidy.mjs BUILD [PART]: clang-tidy (checks and why: .clang-tidy) over all of ours, or over what is read with
// files that have PART in their names. BUILD is a configured folder in which what is generated stands (targets
// holdshelf_messages and holdshelf_guides).
//
// Of a file by itself nearly all time goes into the headers that it includes, so many are read as one. Files
// that give one name to two things, each in its unnamed namespace, are not read together; one that opens
// another namespace for all that follows is read last, as is one with the HTTP library's header, which
// brings macros (resolv.h's _res, a name of Eigen's).
import {spawn} from 'node:child_process';
import {mkdirSync, readFileSync, rmSync, writeFileSync} from 'node:fs';
import {cpus} from 'node:os';
import {dirname, join, relative} from 'node:path';
import {fileURLToPath} from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const [build, part = ''] = process.argv.slice(2);
if (!build) throw new Error('usage: tidy.mjs BUILD [PART]');
const LINES = 3600;  // At most, of files that are read as one.
// clang 14 does not read qpdf's headers as C++20 with the library of GCC 12 (a vector of a class inside that class).
const UNREAD = ['mesh/pdf.cpp'];

const commands = JSON.parse(readFileSync(join(build, 'compile_commands.json'), 'utf8'))
  .filter(({file}) => /^(mesh|capture|catalog)\/.*\.cpp$/.test(relative(root, file)) && !UNREAD.includes(relative(root, file)));

/** What any of ours is compiled with, but for optimisation, outputs and precompiled headers. */
function flags() {
  const found = new Set(['-std=c++20', '-Wall', '-Wextra', '-Wpedantic', '-Wshadow']);
  for (const {command} of commands)
    for (const [flag] of command.matchAll(/(?<= )(-D\S+|-I\S+|-isystem \S+)/g)) found.add(flag.replaceAll('\\"', '"'));
  return [...found].flatMap((flag) => flag.startsWith('-isystem ') ? flag.split(' ') : [flag]);
}

/** Names that a file keeps to itself. Everything in a namespace begins its line. */
function ownNames(text) {
  const names = new Set();
  let own = false;
  for (const line of text.split('\n')) {
    if (line.startsWith('namespace {')) own = true;
    else if (line.startsWith('}  // namespace')) own = false;
    const found = own ? line.match(/^(?:struct|class|enum class|enum|using) (\w+)(?!.*::\w+;)|^\w.*?[ *&](\w+)(?:\(|\[| =(?: |$)|\{|;)/)
      : line.match(/^(?:static .*?[ *&]|int )(\w+)\(/);
    if (found) names.add(found[1] ?? found[2]);
    if (own && line.startsWith('const')) for (const [, name] of line.matchAll(/(\w+) =(?: |$)/g)) names.add(name);
  }
  return names;
}

/** Each file with others of its room, as long as there is room. */
function batches() {
  const made = [];
  const files = commands.map(({file}) => ({file, room: relative(root, file).split('/')[0], text: readFileSync(file, 'utf8')}))
    .map((each) => ({...each, names: ownNames(each.text), lines: each.text.split('\n').length, opens: /^using (?:enum|namespace) |^#include (?:<httplib.h>|"catalog\/bounded_stream.h")/m.test(each.text)}))
    .sort((one, other) => one.opens - other.opens || (one.file < other.file ? -1 : 1));
  for (const {file, room, names, lines, opens} of files) {
    const fits = (batch) => batch.room === room && !batch.ended && batch.lines + lines <= LINES && ![...names].some((name) => batch.names.has(name));
    let batch = made.find(fits);
    if (!batch) made.push(batch = {room, lines: 0, names: new Set(), files: []});
    batch.lines += lines;
    batch.ended = opens;
    names.forEach((name) => batch.names.add(name));
    batch.files.push(file);
  }
  return made;
}

/** Runs it on one batch; gives whether it found nothing. */
function look(batch, name, words) {
  const file = join(build, 'tidy', `${name}.cpp`);
  writeFileSync(file, batch.files.map((each) => `#include "${each}"  // NOLINT(bugprone-suspicious-include)\n`).join(''));
  return new Promise((resolve) => {
    const began = performance.now();
    const child = spawn('clang-tidy', ['--quiet', file, '--', ...words], {cwd: root, stdio: ['ignore', 'pipe', 'ignore']});
    let said = '';
    child.stdout.on('data', (data) => { said += data; });
    child.on('error', (error) => { throw error; });
    child.on('close', (status) => {
      const s = ((performance.now() - began) / 1000).toFixed(0);
      console.log(`${name}: ${batch.files.length} files, ${batch.lines} lines, ${s} s${status ? '' : ', clean'}`);
      if (said) console.log(said.trimEnd());
      resolve(status === 0);
    });
  });
}

rmSync(join(build, 'tidy'), {recursive: true, force: true});
mkdirSync(join(build, 'tidy'));
const words = flags(), all = batches().filter((batch) => batch.files.some((file) => file.includes(part)));
// The long ones first, so that at the end no processor waits.
const waiting = all.map((batch, i) => [batch, `${batch.room}-${i + 1}`])
  .sort(([one], [other]) => other.lines - one.lines);
let clean = true;
await Promise.all(cpus().map(async () => {
  for (let next; (next = waiting.shift());) clean = await look(...next, words) && clean;
}));
console.log(`${commands.length} files in ${all.length} runs: ${clean ? 'clean' : 'see above'}`);
process.exitCode = clean ? 0 : 1;
