// SHA-256 of what a person chose. The browser hashes only what it holds whole in memory, so there is a bound.
export const MOST_HASHED = 512 * 1024 * 1024;

/** Only on https or localhost. */
export const canHash = () => Boolean(globalThis.crypto?.subtle);

/** 64 lower-case hex digits, or null for what is too big. Rejects when it can't be read. */
export async function sha256(blob) {
  if (blob.size > MOST_HASHED) return null;
  const digest = await crypto.subtle.digest("SHA-256", await blob.arrayBuffer());
  return Array.from(new Uint8Array(digest), (b) => b.toString(16).padStart(2, "0")).join("");
}
