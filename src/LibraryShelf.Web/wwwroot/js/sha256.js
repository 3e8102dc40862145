// SHA-256 (FIPS 180-4) piece by piece: WebCrypto wants a whole file in memory. About a tenth of its speed, so only for files too big for that.
const fraction = (root) => Math.floor((root - Math.floor(root)) * 2 ** 32) | 0;
const primes = [];
for (let n = 2; primes.length < 64; n += 1) if (primes.every((p) => n % p !== 0)) primes.push(n);
// The first 32 bits of the fractional parts of the cube and square roots of the first primes (§4.2.2, §5.3.3).
const K = Int32Array.from(primes, (p) => fraction(Math.cbrt(p)));
const START = Int32Array.from(primes.slice(0, 8), (p) => fraction(Math.sqrt(p)));

export class Sha256 {
  constructor() {
    this.state = START.slice();
    this.block = new Uint8Array(64);
    this.words = new Int32Array(64);
    this.filled = 0;
    this.length = 0;
  }

  /** bytes: Uint8Array. */
  update(bytes) {
    this.length += bytes.length;
    let at = 0;
    if (this.filled > 0) {
      const some = bytes.subarray(0, 64 - this.filled);
      this.block.set(some, this.filled);
      this.filled += some.length;
      at = some.length;
      if (this.filled < 64) return this;
      this.compress(this.block, 0);
      this.filled = 0;
    }
    for (; at + 64 <= bytes.length; at += 64) this.compress(bytes, at);
    this.block.set(bytes.subarray(at), 0);
    this.filled = bytes.length - at;
    return this;
  }

  /** 64 lower-case hex digits; nothing may be added afterwards. */
  hex() {
    const bits = this.length * 8; // exact up to 2^53 bits, a million gigabytes
    const padding = new Uint8Array((this.filled < 56 ? 64 : 128) - this.filled);
    padding[0] = 0x80;
    const end = new DataView(padding.buffer, padding.length - 8);
    end.setUint32(0, Math.floor(bits / 2 ** 32));
    end.setUint32(4, bits >>> 0);
    this.update(padding);
    return Array.from(this.state, (word) => (word >>> 0).toString(16).padStart(8, "0")).join("");
  }

  /** One block of 64 bytes (§6.2.2). */
  compress(bytes, at) {
    const w = this.words;
    for (let t = 0, i = at; t < 16; t += 1, i += 4) w[t] = (bytes[i] << 24) | (bytes[i + 1] << 16) | (bytes[i + 2] << 8) | bytes[i + 3];
    for (let t = 16; t < 64; t += 1) {
      const [x, y] = [w[t - 15], w[t - 2]];
      const s0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
      const s1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
      w[t] = (w[t - 16] + s0 + w[t - 7] + s1) | 0;
    }
    let [a, b, c, d, e, f, g, h] = this.state;
    for (let t = 0; t < 64; t += 1) {
      const s1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
      const one = (h + s1 + ((e & f) ^ (~e & g)) + K[t] + w[t]) | 0;
      const s0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
      const two = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      h = g; g = f; f = e; e = (d + one) | 0; d = c; c = b; b = a; a = (one + two) | 0;
    }
    const s = this.state;
    s[0] += a; s[1] += b; s[2] += c; s[3] += d; s[4] += e; s[5] += f; s[6] += g; s[7] += h;
  }
}
