// SHA-256 of what a person chose. The browser's own hashing wants a file whole in memory, so bigger ones are read in slices.
import { Sha256 } from "./sha256.js";

const MOST_AT_ONCE = 128 * 1024 * 1024;
const SLICE = 4 * 1024 * 1024;

/** Only on https or localhost. */
export const canHash = () => Boolean(globalThis.crypto?.subtle);

/** 64 lower-case hex digits. Rejects when it can't be read. read(bytes) is told after each piece; when it answers false, reading ends with null. */
export async function sha256(blob, read = () => true, most = MOST_AT_ONCE, slice = SLICE) {
  if (blob.size <= most) {
    const digest = await crypto.subtle.digest("SHA-256", await blob.arrayBuffer());
    return read(blob.size) === false ? null : Array.from(new Uint8Array(digest), (b) => b.toString(16).padStart(2, "0")).join("");
  }
  const hash = new Sha256();
  for (let at = 0; at < blob.size; at += slice) {
    const piece = new Uint8Array(await blob.slice(at, at + slice).arrayBuffer());
    hash.update(piece);
    if (read(piece.length) === false) return null;
  }
  return hash.hex();
}
