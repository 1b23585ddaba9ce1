// SPDX-License-Identifier: Apache-2.0
// bill-of-materials.mjs PROGRAM: what the built program and its page are made of, with versions and
// licences, as CycloneDX 1.5 JSON on standard output. Shared libraries are those that the program
// loads on this machine, by Debian package; libraries of headers only are compiled in; what the page
// uses comes from its lock file. Asks nothing of the network.
import {execFileSync, spawnSync} from 'node:child_process';
import {createHash} from 'node:crypto';
import {existsSync, readFileSync, realpathSync} from 'node:fs';
import {dirname, join} from 'node:path';
import {fileURLToPath} from 'node:url';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const program = process.argv[2];
if (!program) throw new Error('usage: bill-of-materials.mjs PROGRAM');
const run = (command, ...words) => execFileSync(command, words, {encoding: 'utf8'});

// Compiled in, so that no loaded file tells of them.
const headersOnly = ['libeigen3-dev', 'libcli11-dev'];

/** Files that the program loads, without the kernel's own. */
function loadedFiles() {
  return run('ldd', program).split('\n')
    .map((line) => line.match(/=> (\/\S+)/)?.[1] ?? line.match(/^\s*(\/\S+)/)?.[1])
    .filter(Boolean);
}

/** Debian packages of the files. A file may be known by a link's name, with or without /usr. */
function packagesOf(files) {
  const names = files.map((file) => {
    const real = realpathSync(file);
    return [real, file, real.replace(/^\/usr/, ''), file.replace(/^\/usr/, '')];
  });
  // One look for all of them; names that nobody knows are reported by the status, which counts for
  // nothing as long as each file has one that is known.
  const {stdout} = spawnSync('dpkg', ['-S', ...new Set(names.flat())], {encoding: 'utf8'});
  const owner = new Map(stdout.split('\n').filter(Boolean).map((line) => {
    const [owners, file] = line.split(': ');
    return [file, owners.split(',')[0].trim()];
  }));
  return names.map((of, i) => {
    const known = of.find((name) => owner.has(name));
    if (!known) throw new Error(`no package owns ${files[i]}`);
    return owner.get(known);
  });
}

const words = [
  [/GNU LESSER GENERAL PUBLIC|GNU Lesser General Public|LGPL/i, 'LGPL'],
  [/GNU General Public License/i, 'GPL'],
  [/Apache License/i, 'Apache-2.0'],
  [/Mozilla Public License|MPL/i, 'MPL'],
  [/Permission is hereby granted, free of charge/i, 'MIT'],
  [/Redistribution and use in source and binary forms/i, 'BSD'],
  [/Permission to use, copy, modify,? and(?:\/or)? distribute/i, 'ISC'],
  [/public domain/i, 'public-domain'],
];

/** Names of licences in a Debian copyright file: its fields (DEP 5) or, in old ones, its words. */
function licencesIn(text) {
  const fields = [...text.matchAll(/^License:[ \t]*(\S.*)$/gm)].map((m) => m[1].trim());
  const found = fields.length > 0 ? fields
                                  : words.filter(([shape]) => shape.test(text)).map(([, name]) => name);
  return [...new Set(found)].sort();
}

function debianParts(names, how) {
  const format = '${Package}\\t${Version}\\t${source:Package}\\n';
  return run('dpkg-query', '-W', '-f', format, ...names).trim().split('\n')
    .map((line) => debianPart(...line.split('\t'), how));
}

function debianPart(plain, version, source, how) {
  const copyright = `/usr/share/doc/${plain}/copyright`;
  return {
    type: 'library',
    name: plain,
    version,
    licenses: existsSync(copyright)
                ? licencesIn(readFileSync(copyright, 'utf8')).map((l) => ({license: {name: l}}))
                : [],
    purl: `pkg:deb/debian/${plain}@${encodeURIComponent(version)}`,
    properties: [{name: 'source', value: source}, {name: 'how', value: how}],
  };
}

function pageParts() {
  const lock = JSON.parse(readFileSync(join(root, 'catalog/web/package-lock.json'), 'utf8'));
  return Object.entries(lock.packages)
    .filter(([path, part]) => path !== '' && !part.dev)
    .map(([path, part]) => ({
      type: 'library',
      name: path.replace(/^.*node_modules\//, ''),
      version: part.version,
      licenses: [{license: {name: part.license}}],
      purl: `pkg:npm/${path.replace(/^.*node_modules\//, '')}@${part.version}`,
      hashes: [{alg: 'SHA-512', content: Buffer.from(part.integrity.slice(7), 'base64').toString('hex')}],
      properties: [{name: 'how', value: 'served with the page'}],
    }));
}

const packages = [...new Set(packagesOf(loadedFiles()))].sort();
const project = readFileSync(join(root, 'CMakeLists.txt'), 'utf8');
const bytes = readFileSync(program);
const bill = {
  bomFormat: 'CycloneDX',
  specVersion: '1.5',
  version: 1,
  metadata: {
    component: {
      type: 'application',
      name: 'holdshelf',
      version: project.match(/project\(Holdshelf VERSION (\S+)/)[1],
      licenses: [{license: {id: 'Apache-2.0'}}],
      hashes: [{alg: 'SHA-256', content: createHash('sha256').update(bytes).digest('hex')}],
    },
  },
  components: [
    ...debianParts(packages, 'loaded at start'),
    ...debianParts(headersOnly, 'compiled in'),
    ...pageParts(),
  ],
};
process.stdout.write(JSON.stringify(bill, null, 1) + '\n');
