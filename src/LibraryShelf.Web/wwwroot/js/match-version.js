// Which version do these files come nearest to? Pure; the same rule as LibraryShelf.Cli/Verify/VersionMatch.cs.
const key = (path) => path.normalize("NFC");

/** The versions of "libraryshelf/versions/1", each with its files as a Map from path to { path, size, sha256 }. */
export function expand(table) {
  return table.versions.filter((v) => v.runs).map((v) => {
    const files = new Map();
    for (let i = 0; i < v.runs.length; i += 2) {
      for (const file of table.files.slice(v.runs[i], v.runs[i] + v.runs[i + 1])) files.set(key(file.path), file);
    }
    return { ...v, files };
  });
}

/** found: [{ path, size, sha256 }], sha256 null for what could not be hashed. Null when nothing of it is of this library. */
export function match(versions, found) {
  const rooted = underTop(versions, found);
  const bytes = new Set(versions.flatMap((v) => Array.from(v.files.values(), (f) => f.sha256)));
  if (!found.some((f) => f.sha256 && bytes.has(f.sha256)) && !rooted.some((f) => versions.some((v) => v.files.has(key(f.path))))) return null;
  const byPath = new Map(rooted.map((f) => [key(f.path), f]));
  // Versions come newest first, so of equals the newest wins.
  const best = versions.map((v) => compare(v, byPath)).reduce((a, b) => (b.faults < a.faults ? b : a));
  const latest = versions.find((v) => !v.withdrawnAt) ?? versions[0];
  const known = new Set(versions.flatMap((v) => Array.from(v.files.keys())));
  return {
    ...best, latest, isExact: best.faults === 0,
    leftOver: best.extra.filter((f) => known.has(key(f.path))),
    own: best.extra.filter((f) => !known.has(key(f.path))),
    cost: Array.from(latest.files.values()).reduce((sum, f) => sum + (best.version.files.get(key(f.path))?.sha256 === f.sha256 ? 0 : f.size), 0),
  };
}

function compare(version, byPath) {
  const [altered, missing, unread] = [[], [], []];
  for (const [path, file] of version.files) {
    const mine = byPath.get(path);
    if (!mine) missing.push(file);
    else if (mine.sha256 === null && mine.size === file.size) unread.push(file);
    else if (mine.sha256 !== file.sha256) altered.push(file);
  }
  const extra = Array.from(byPath.entries()).filter(([path]) => !version.files.has(path)).map(([, f]) => f);
  return { version, altered, missing, unread, extra, faults: altered.length + missing.length };
}

/**
 * The folder may lie in another, or under another name: of all beginnings of paths, the one under which most files have names the versions
 * know. A file with the very bytes counts twice. Files outside it are nobody's business.
 */
function underTop(versions, found) {
  const hashes = new Map();
  for (const v of versions) {
    for (const [path, file] of v.files) {
      if (!hashes.has(path)) hashes.set(path, new Set());
      hashes.get(path).add(file.sha256);
    }
  }
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
  const [top] = Array.from(votes).sort((a, b) => b[1] - a[1] || a[0].length - b[0].length)[0] ?? [""];
  return found.filter((f) => key(f.path).startsWith(top)).map((f) => ({ ...f, path: key(f.path).slice(top.length) }));
}

/** For single files, torn from their folder: for each, the versions that hold these very bytes, and under which path. */
export const locate = (versions, found) => found.map((f) => {
  const holders = versions.filter((v) => Array.from(v.files.values()).some((k) => k.sha256 === f.sha256));
  return { ...f, in: holders.map((v) => v.number), as: holders[0] && Array.from(holders[0].files.values()).find((k) => k.sha256 === f.sha256).path };
});
