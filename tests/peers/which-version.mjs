// Runs the page's own modules on tests/which-version-cases.json, and its SHA-256 on what stands on the input, in slices; prints what they answer.
//   node which-version.mjs JS-FOLDER CASES       answers as JSON
//   node which-version.mjs JS-FOLDER --sha256    lines of "size-of-slice hex-of-bytes [times]" in, hashes out
import { cp, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { text } from "node:stream/consumers";
import { pathToFileURL } from "node:url";

const [, , js, what] = process.argv;
// Node takes .js for modules only beside a package that says so; the page needs none.
const folder = await mkdtemp(join(tmpdir(), "page-"));
for (const name of ["match-version.js", "sha256.js", "hash-files.js"]) await cp(join(js, name), join(folder, name));
await writeFile(join(folder, "package.json"), '{"type":"module"}');
const load = (name) => import(pathToFileURL(join(folder, name)));
const { expand, heldUpdate, match, readNote } = await load("match-version.js");
const { sha256 } = await load("hash-files.js");
await rm(folder, { recursive: true });

if (what === "--sha256") {
  for (const line of (await text(process.stdin)).split("\n").filter(Boolean)) {
    const [slice, hex, times] = line.split(" ");
    const blob = new Blob(Array(Number(times ?? 1)).fill(Buffer.from(hex.replace("-", ""), "hex")));
    let read = 0;
    const hash = await sha256(blob, (bytes) => { read += bytes; return true; }, -1, Number(slice));
    console.log(read === blob.size ? hash : `${read} of ${blob.size} told`);
  }
} else {
  const cases = JSON.parse(await readFile(what, "utf8"));
  const versions = expand(cases.table);
  const list = (found) => Object.entries(found).map(([path, hash]) => ({ path, size: 1, sha256: hash }));
  const paths = (files) => files.map((f) => f.path);
  const folders = cases.folders.map(({ found }) => {
    const is = match(versions, list(found));
    return is && {
      version: is.version.number, altered: paths(is.altered), missing: paths(is.missing), renamed: is.renamed.map((f) => [f.path, f.as]),
      leftOver: paths(is.leftOver), own: paths(is.own), latest: is.latest.number, cost: is.cost,
    };
  });
  const updates = cases.updates.map(({ note, found }) => {
    const { isKnown, isExact, altered, missing } = heldUpdate(versions, note, list(found));
    return { isKnown, isExact, altered, missing };
  });
  console.log(JSON.stringify({ folders, updates, notes: cases.notes.map(({ line }) => readNote(line)) }));
}
