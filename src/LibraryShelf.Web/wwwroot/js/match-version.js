// Which version do these files come nearest to? Pure; the same rules as VersionMatch.cs and UpdateMatch.cs in LibraryShelf.Cli/Verify, and
// tests/which-version-cases.json holds both to them. Names are compared by what they look like: macOS writes é in two characters.
const key = (path) => path.normalize("NFD");
const byOrdinal = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
const byPath = (a, b) => byOrdinal(a.path, b.path);

/** The versions of "libraryshelf/versions/1", each with its files: [{ path, size, sha256 }]. */
export function expand(table) {
  return table.versions.filter((v) => v.runs).map((v) => {
    const files = [];
    for (let i = 0; i < v.runs.length; i += 2) {
      for (const file of table.files.slice(v.runs[i], v.runs[i] + v.runs[i + 1])) files.push({ ...file, key: key(file.path) });
    }
    return { ...v, files };
  });
}

/** found: [{ path, size, sha256 }]. Null when nothing of it is of this library. */
export function match(versions, found) {
  const hashes = new Map();
  for (const file of versions.flatMap((v) => v.files)) {
    if (!hashes.has(file.key)) hashes.set(file.key, new Set());
    hashes.get(file.key).add(file.sha256);
  }
  const top = topOf(hashes, found);
  const bytes = new Set(versions.flatMap((v) => v.files.map((f) => f.sha256)));
  if (top === null && !found.some((f) => bytes.has(f.sha256))) return null;
  const rooted = found.map((f) => ({ ...f, path: key(f.path) })).filter((f) => f.path.startsWith(top ?? "")).map((f) => ({ ...f, path: f.path.slice((top ?? "").length) }));
  // Versions come newest first, so of equals the newest wins.
  const best = versions.map((v) => hold(v, rooted)).reduce((a, b) => (b.faults < a.faults ? b : a));
  const latest = versions.find((v) => !v.withdrawnAt) ?? versions[0];
  const has = new Set(best.version.files.map((f) => `${f.sha256} ${f.key}`));
  return {
    ...best, latest, isExact: best.faults === 0,
    leftOver: best.extra.filter((f) => hashes.has(f.path)),
    // The note of an update that was unzipped over it is neither.
    own: best.extra.filter((f) => !hashes.has(f.path) && !mayBeNote(f.path)),
    cost: latest.files.reduce((sum, f) => sum + (has.has(`${f.sha256} ${f.key}`) ? 0 : f.size), 0),
  };
}

function hold(version, rooted) {
  const here = new Map();
  for (const f of rooted) here.set(f.path, [...(here.get(f.path) ?? []), f]);
  const [altered, renamed, taken] = [[], [], new Set()];
  let missing = [];
  for (const file of version.files) {
    const some = here.get(file.key);
    const right = some?.find((f) => f.sha256 === file.sha256);
    if (!some) missing.push(file);
    else if (right) taken.add(right);
    else { altered.push(file); taken.add(some[0]); }
  }
  let extra = rooted.filter((f) => !taken.has(f)).sort(byPath);
  for (const file of [...missing].sort(byPath)) {
    const there = extra.find((f) => f.sha256 === file.sha256);
    if (!there) continue;
    renamed.push({ ...file, as: there.path });
    extra = extra.filter((f) => f !== there);
    missing = missing.filter((f) => f !== file);
  }
  return { version, altered, missing, renamed, extra, faults: altered.length + missing.length + renamed.length };
}

/**
 * The folder may lie in another, or under another name: of all beginnings of paths, the one under which most files have names the versions
 * know. A file with the very bytes counts twice. Of equals the one nearest the top. Files outside it are nobody's business.
 */
function topOf(hashes, found) {
  const votes = new Map();
  for (const f of found) {
    const parts = key(f.path).split("/");
    for (let i = 0; i < parts.length; i += 1) {
      const known = hashes.get(parts.slice(i).join("/"));
      if (known) {
        const top = parts.slice(0, i).map((p) => `${p}/`).join("");
        votes.set(top, (votes.get(top) ?? 0) + (known.has(f.sha256) ? 2 : 1));
      }
    }
  }
  const deep = (top) => top.split("/").length;
  return Array.from(votes).sort((a, b) => b[1] - a[1] || deep(a[0]) - deep(b[0]) || byOrdinal(a[0], b[0]))[0]?.[0] ?? null;
}

/** What an update's REMOVED.txt says in its first line: { from, to }; null when it is not an update's. The same as UpdateBetween.Read. */
export function readNote(text) {
  const said = /^Left over from earlier versions: .* This is the update from (\S+) to (\S+)\.$/.exec(text.split("\n")[0]);
  return said && { from: said[1], to: said[2] };
}

export const mayBeNote = (path) => /^REMOVED\.([^/]*\.)?txt$/.test(path);

/** An update archive, by its note, held against the versions; paths as in the archive, under its one folder. */
export function heldUpdate(versions, note, found) {
  const to = versions.find((v) => v.number === note.to);
  const from = versions.find((v) => v.number === note.from);
  if (!to) return { ...note, isKnown: false, isExact: false, altered: [], missing: [] };
  const filesOf = (v) => new Map(v.files.map((f) => [f.path, f.sha256]));
  const wanted = filesOf(to);
  const carried = found.map((f) => ({ ...f, path: f.path.slice(f.path.indexOf("/") + 1) })).filter((f) => !mayBeNote(f.path) || wanted.has(f.path));
  const there = new Set(carried.map((f) => f.path));
  const before = from && filesOf(from);
  const altered = carried.filter((f) => wanted.get(f.path) !== f.sha256).map((f) => f.path).sort(byOrdinal);
  const missing = !before ? [] : Array.from(wanted).filter(([path, hash]) => !there.has(path) && before.get(path) !== hash).map(([path]) => path).sort(byOrdinal);
  return { ...note, isKnown: true, isExact: altered.length + missing.length === 0, altered, missing, files: carried.length };
}

/** For single files, torn from their folder: for each, the versions that hold these very bytes, and under which path. */
export const locate = (versions, found) => found.map((f) => {
  const holders = versions.filter((v) => v.files.some((k) => k.sha256 === f.sha256));
  return { ...f, in: holders.map((v) => v.number), as: holders[0]?.files.find((k) => k.sha256 === f.sha256).path };
});
