// SPDX-License-Identifier: Apache-2.0
// SHA-256 (FIPS 180-4) of bytes. The browser has its own only where the page comes over https or
// from this machine, and phones in the gym's network reach it by neither.

/** The first 32 bits of the fractional parts of a root of the primes (FIPS 180-4, 4.2.2, 5.3.3). */
function rootBits(count, root) {
  const primes = [], bits = new Int32Array(count);
  for (let n = 2; primes.length < count; ++n) if (primes.every((p) => n % p)) primes.push(n);
  primes.forEach((p, i) => { bits[i] = ((p ** (1 / root)) % 1) * 2 ** 32; });
  return bits;
}

const K = rootBits(64, 3), START = rootBits(8, 2);
const w = new Int32Array(64);

function block(state, bytes, at) {
  for (let i = 0; i < 16; ++i, at += 4)
    w[i] = (bytes[at] << 24) | (bytes[at + 1] << 16) | (bytes[at + 2] << 8) | bytes[at + 3];
  for (let i = 16; i < 64; ++i) {
    const x = w[i - 15], y = w[i - 2];
    w[i] = (w[i - 16] + ((x >>> 7 | x << 25) ^ (x >>> 18 | x << 14) ^ x >>> 3) + w[i - 7] +
            ((y >>> 17 | y << 15) ^ (y >>> 19 | y << 13) ^ y >>> 10)) | 0;
  }
  let a = state[0], b = state[1], c = state[2], d = state[3], e = state[4], f = state[5], g = state[6], h = state[7];
  for (let i = 0; i < 64; ++i) {
    const t1 = (h + ((e >>> 6 | e << 26) ^ (e >>> 11 | e << 21) ^ (e >>> 25 | e << 7)) +
                ((e & f) ^ (~e & g)) + K[i] + w[i]) | 0;
    const t2 = (((a >>> 2 | a << 30) ^ (a >>> 13 | a << 19) ^ (a >>> 22 | a << 10)) +
                ((a & b) ^ (a & c) ^ (b & c))) | 0;
    h = g; g = f; f = e; e = (d + t1) | 0; d = c; c = b; b = a; a = (t1 + t2) | 0;
  }
  state[0] += a; state[1] += b; state[2] += c; state[3] += d; state[4] += e; state[5] += f; state[6] += g; state[7] += h;
}

/** 64 hex digits of a Uint8Array. */
export function sha256(bytes) {
  const state = Int32Array.from(START), whole = bytes.length & ~63;
  for (let at = 0; at < whole; at += 64) block(state, bytes, at);
  const rest = bytes.length - whole;
  const end = new Uint8Array(rest < 56 ? 64 : 128);
  end.set(bytes.subarray(whole));
  end[rest] = 0x80;
  new DataView(end.buffer).setBigUint64(end.length - 8, BigInt(bytes.length) * 8n);
  for (let at = 0; at < end.length; at += 64) block(state, end, at);
  return Array.from(state, (v) => (v >>> 0).toString(16).padStart(8, '0')).join('');
}
