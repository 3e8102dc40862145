// Says which version of a library a person's folder is. The list of files comes once, when the page loads; nothing is ever sent.
import { collectChosen, collectDropped, isZip } from "./send-files.js";
import { canHash, sha256 } from "./hash-files.js";
import { expand, heldUpdate, locate, match, mayBeNote, readNote } from "./match-version.js";
import { readZip } from "./read-zip.js";
import { Answer } from "./which-version-answer.js";
import { Fault, wordsOf } from "./words.js";

const SPEAK_MS = 5000;
const root = document.getElementById("which-version");
const say = wordsOf(root);
const part = (name) => root.querySelector(`[data-part="${name}"]`);
const table = fetch(root.dataset.table).then((answer) => {
  if (!answer.ok) throw new Error(`answered ${answer.status}`);
  return answer.json();
}).then((json) => ({ versions: expand(json), title: json.title }));
table.catch(() => {});

let turn = 0;

function show(name, is) { part(name).hidden = !is; }

function trouble(words) {
  show("progress", false);
  part("trouble-words").textContent = words;
  show("trouble", true);
}

/** Of an update archive: between which versions it lies; null for anything else. */
async function noteIn(files) {
  for (const { path, file } of files) {
    const note = mayBeNote(path.slice(path.indexOf("/") + 1)) && readNote(await file.slice(0, 1024).text());
    if (note) return note;
  }
  return null;
}

/** files: [{ path, file }]; isLoose: single files, not a folder. A later choice ends an earlier one's reading. */
async function run(collect, isLoose) {
  turn += 1;
  const mine = turn;
  for (const name of ["trouble", "answer"]) show(name, false);
  show("progress", true);
  part("bar").value = 0;
  part("words").textContent = say("looking");
  try {
    const { versions, title } = await table.catch(() => { throw new Fault("no-list"); });
    let files = await collect();
    let loose = isLoose;
    let note = null;
    if (files.length === 1 && isZip(files[0].file)) { files = await readZip(files[0].file); loose = false; note = await noteIn(files); }
    if (files.length === 0) throw new Fault("no-files");
    const found = await read(files, () => mine !== turn);
    if (mine !== turn) return;
    show("progress", false);
    const answer = new Answer(say, title, root.dataset.box);
    const nodes = note ? answer.ofUpdate(heldUpdate(versions, note, found)) : loose ? answer.ofFiles(locate(versions, found)) : answer.ofFolder(match(versions, found));
    part("answer").replaceChildren(...nodes);
    show("answer", true);
    part("answer").focus();
  } catch (fault) {
    if (mine !== turn) return;
    trouble(fault instanceof Fault ? say.fault(fault) : say("failed"));
  }
}

async function read(files, isOver) {
  const total = files.reduce((sum, f) => sum + f.file.size, 0);
  const found = [];
  let done = 0;
  let spokenAt = performance.now();
  part("bar").max = Math.max(1, total);
  for (const { path, file } of files) {
    if (isOver()) return [];
    const words = say("reading", found.length + 1, files.length);
    part("words").textContent = words;
    if (performance.now() - spokenAt > SPEAK_MS) { part("spoken").textContent = words; spokenAt = performance.now(); }
    try {
      const hash = await sha256(file, (bytes) => {
        if (isOver()) return false;
        done += bytes;
        part("bar").value = done;
        return true;
      });
      if (hash === null) return [];
      found.push({ path, size: file.size, sha256: hash });
    } catch {
      throw new Fault("unreadable", path);
    }
  }
  return found;
}

function begin() {
  for (const it of root.querySelectorAll("[data-without-script]")) it.hidden = true;
  if (!canHash()) { trouble(say("no-https")); return; }
  for (const it of root.querySelectorAll("[data-with-script]")) it.hidden = false;
  // Phones choose files, not folders.
  show("choose-folder", "webkitdirectory" in HTMLInputElement.prototype && !matchMedia("(pointer: coarse) and (hover: none)").matches);
  // In no standard, so not in the page.
  part("folder").webkitdirectory = true;
  part("choose-folder").addEventListener("click", () => part("folder").click());
  part("choose-files").addEventListener("click", () => part("files").click());
  for (const name of ["folder", "files"]) {
    part(name).addEventListener("change", ({ target }) => {
      const chosen = collectChosen(target.files);
      target.value = "";
      if (chosen.length > 0) run(() => chosen, name === "files");
    });
  }
  part("stop").addEventListener("click", () => { turn += 1; show("progress", false); part("spoken").textContent = say("stopped"); part("choose-files").focus(); });
  const drop = part("drop");
  const over = (event, is) => { event.preventDefault(); drop.classList.toggle("over", is); };
  drop.addEventListener("dragenter", (event) => over(event, true));
  drop.addEventListener("dragover", (event) => over(event, true));
  drop.addEventListener("dragleave", (event) => { if (!drop.contains(event.relatedTarget)) over(event, false); });
  drop.addEventListener("drop", (event) => {
    over(event, false);
    const isLoose = Array.from(event.dataTransfer.items).every((item) => !item.webkitGetAsEntry?.()?.isDirectory);
    const collected = collectDropped(event.dataTransfer);
    run(() => collected, isLoose);
  });
}

begin();
