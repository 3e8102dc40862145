// From what a person dropped or chose to a list of { path, file }, without what operating systems leave in folders for
// themselves (the same ones as LibraryShelf.Packaging/Archives/OsDroppings.cs).
const LEFT_FILES = new Set([".ds_store", ".localized", "thumbs.db", "ehthumbs.db", "desktop.ini", ".directory"]);
const LEFT_FOLDERS = new Set(["__macosx", ".spotlight-v100", ".trashes", ".fseventsd", ".temporaryitems", "$recycle.bin", "system volume information"]);

function isLeftOver(path) {
  const parts = path.toLowerCase().split("/");
  const name = parts.pop();
  return LEFT_FILES.has(name) || name.startsWith("._") || parts.some((p) => LEFT_FOLDERS.has(p));
}

export const isZip = (file) => /\.zip$/i.test(file.name);

/** A folder chosen by a file field: the chosen folder's own name is not part of the paths. */
export function collectChosen(files) {
  return Array.from(files, (file) => ({ path: (file.webkitRelativePath || file.name).split("/").slice(file.webkitRelativePath ? 1 : 0).join("/"), file }))
    .filter((f) => !isLeftOver(f.path));
}

/** A drop: one folder gives its contents; several things give each under its name. Must be called in the drop event. */
export async function collectDropped(transfer) {
  const entries = Array.from(transfer.items, (item) => item.webkitGetAsEntry?.()).filter(Boolean);
  const found = [];
  if (entries.length === 1 && entries[0].isDirectory) {
    for (const inner of await childrenOf(entries[0])) await walk(inner, "", found);
  } else {
    for (const entry of entries) await walk(entry, "", found);
  }
  return found.filter((f) => !isLeftOver(f.path));
}

async function walk(entry, prefix, found) {
  const path = prefix + entry.name;
  if (entry.isDirectory) {
    for (const inner of await childrenOf(entry)) await walk(inner, `${path}/`, found);
  } else {
    found.push({ path, file: await new Promise((resolve, reject) => { entry.file(resolve, reject); }) });
  }
}

/** readEntries gives at most a hundred at a time in some browsers; an empty answer is the end. */
async function childrenOf(folder) {
  const reader = folder.createReader();
  const all = [];
  for (;;) {
    const some = await new Promise((resolve, reject) => { reader.readEntries(resolve, reject); });
    if (some.length === 0) return all;
    all.push(...some);
  }
}
