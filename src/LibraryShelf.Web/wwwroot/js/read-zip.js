// The files in a .zip as slices of it, read from its central directory (APPNOTE 6.3.10 §4.3). Only stored entries, as the shelf writes
// them: a slice is then the file itself. Zip64 too.
import { Fault } from "./words.js";

const END = 0x06054b50, END64 = 0x06064b50, LOCATOR64 = 0x07064b50, ENTRY = 0x02014b50, LOCAL = 0x04034b50;
const MOST_DIRECTORY = 64 * 1024 * 1024;

const view = async (file, from, to) => new DataView(await file.slice(from, to).arrayBuffer());
const big = (data, at) => Number(data.getBigUint64(at, true));

/** [{ path, file }] with file a Blob. A Fault for what is no zip, damaged or packed tighter. */
export async function readZip(file) {
  const { start, length, count } = await directoryOf(file);
  if (length > MOST_DIRECTORY || start + length > file.size) throw new Fault("zip-cut");
  const data = await view(file, start, start + length);
  const found = [];
  for (let at = 0, i = 0; i < count; i += 1) {
    if (at + 46 > data.byteLength || data.getUint32(at, true) !== ENTRY) throw new Fault("zip-list");
    const entry = entryAt(data, at);
    at = entry.next;
    if (entry.path.endsWith("/")) continue;
    if (entry.method !== 0 || entry.packed !== entry.size) throw new Fault("zip-packed");
    found.push({ path: entry.path, file: await sliceOf(file, entry) });
  }
  return found;
}

async function directoryOf(file) {
  const from = Math.max(0, file.size - 65557);
  const tail = await view(file, from, file.size);
  let at = tail.byteLength - 22;
  while (at >= 0 && tail.getUint32(at, true) !== END) at -= 1;
  if (at < 0) throw new Fault("zip-none");
  const plain = { count: tail.getUint16(at + 10, true), length: tail.getUint32(at + 12, true), start: tail.getUint32(at + 16, true) };
  if (at < 20 || tail.getUint32(at - 20, true) !== LOCATOR64) return plain;
  const place = big(tail, at - 12);
  const end = await view(file, place, place + 56);
  if (end.byteLength < 56 || end.getUint32(0, true) !== END64) throw new Fault("zip-end");
  return { count: big(end, 32), length: big(end, 40), start: big(end, 48) };
}

function entryAt(data, at) {
  const [nameLength, extraLength, commentLength] = [28, 30, 32].map((o) => data.getUint16(at + o, true));
  const next = at + 46 + nameLength + extraLength + commentLength;
  if (next > data.byteLength) throw new Fault("zip-list");
  const name = new Uint8Array(data.buffer, data.byteOffset + at + 46, nameLength);
  const entry = {
    next, path: new TextDecoder().decode(name), method: data.getUint16(at + 10, true),
    packed: data.getUint32(at + 20, true), size: data.getUint32(at + 24, true), start: data.getUint32(at + 42, true),
  };
  readZip64(data, at + 46 + nameLength, extraLength, entry);
  return entry;
}

/** The extra field 1 holds, in this order, those numbers that did not fit (§4.5.3). */
function readZip64(data, from, length, entry) {
  for (let at = from; at + 4 <= from + length; at += 4 + data.getUint16(at + 2, true)) {
    if (data.getUint16(at, true) !== 1) continue;
    let value = at + 4;
    for (const name of ["size", "packed", "start"]) {
      if (entry[name] !== 0xffffffff || value + 8 > from + length) continue;
      entry[name] = big(data, value);
      value += 8;
    }
  }
}

async function sliceOf(file, entry) {
  const local = await view(file, entry.start, entry.start + 30);
  if (local.byteLength < 30 || local.getUint32(0, true) !== LOCAL) throw new Fault("zip-at", entry.path);
  const start = entry.start + 30 + local.getUint16(26, true) + local.getUint16(28, true);
  return file.slice(start, start + entry.size);
}
