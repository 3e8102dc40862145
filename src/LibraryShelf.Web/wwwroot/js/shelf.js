// The shelf, better with script: choosing, typing and sorting hide and move what the page has already, and a box stays pulled until another is.
// The page always carries every box; the address says what is wished for, with script and without, and the server reads it the same way.
import { wordsOf } from "./words.js";

const form = document.getElementById("shelf-choice");
const table = document.getElementById("shelf-list");
const shelf = document.getElementById("shelf");

const say = form && wordsOf(form);

const slugOf = (link) => link.getAttribute("href");
const boxes = shelf ? [...shelf.querySelectorAll(".board")].flatMap((board) =>
  [...board.querySelectorAll(".boxes > li:not(.coming)")].map((item) => ({ board, item, link: item.querySelector("a") }))) : [];

function pull(box) {
  for (const other of boxes) other.item.classList.toggle("pulled", other === box);
}

const firstShown = () => boxes.find((box) => !box.item.hidden);

// Facts that go out of sight lose the focus.
const isInFacts = () => shelf.querySelector(".fact :focus-visible") !== null;

function keepPulled() {
  shelf.classList.add("led");
  pull(firstShown());
  for (const box of boxes) {
    let byTouch = false;
    box.link.addEventListener("pointerenter", (event) => { if (event.pointerType !== "touch" && !isInFacts()) pull(box); });
    box.link.addEventListener("pointerdown", (event) => { byTouch = event.pointerType === "touch"; });
    box.link.addEventListener("focus", () => { if (box.link.matches(":focus-visible")) pull(box); });
    // A finger can't hover: its first tap pulls the box, the next opens it.
    box.link.addEventListener("click", (event) => {
      if (!byTouch || box.item.classList.contains("pulled")) return;
      event.preventDefault();
      pull(box);
    });
  }
}

// What each row can be found and sorted by; the boards have the boxes newest first.
const newest = new Map(boxes.map((box, i) => [slugOf(box.link), { ...box, rank: i }]));
const text = (row, cell) => row.querySelector(cell).textContent.trim();
const rows = table ? [...table.tBodies[0].rows].map((row) => {
  const box = newest.get(slugOf(row.querySelector("th a")));
  return {
    row, box, title: text(row, "th a").toUpperCase(), sound: text(row, ".sound").toUpperCase(), isFree: !box.item.classList.contains("tied"),
    keys: parseInt(row.cells[4].textContent, 10) || 0, recordings: parseInt(row.cells[5].textContent, 10), size: Number(row.querySelector("data").value),
    players: [...row.querySelectorAll(".players span")].map((player) => playerOf(player.textContent.trim())),
  };
}) : [];

function playerOf(words) {
  const [, name, version] = /^(.*?)(?: ([0-9]+(?:\.[0-9]+)*))?$/.exec(words);
  return { name: name.toUpperCase(), version };
}

// Part by part, a missing part counting as 0; a lowest version that is none asks for nothing.
function isEnough(has, lowest) {
  const [mine, wanted] = [has, lowest ?? ""].map((version) => version.split(".").map(Number));
  for (let i = 0; i < Math.max(mine.length, wanted.length); i++) {
    const order = (mine[i] ?? 0) - (wanted[i] ?? 0);
    if (order !== 0) return order > 0;
  }
  return true;
}

function wishOf() {
  const wish = new URLSearchParams();
  for (const name of ["show", "find", "sound", "keys", "size", "opens", "order"]) {
    const value = new FormData(form).get(name)?.trim();
    if (value) wish.set(name, value);
  }
  return wish;
}

const addressOf = (wish) => (`${wish}` ? `/?${wish}` : "/");

// Not at each letter: browsers refuse an address that changes a hundred times in half a minute.
let keeping = 0;
let unkept = null;
function keepAddress(address, isTyped) {
  clearTimeout(keeping);
  unkept = address;
  if (isTyped) keeping = setTimeout(keepNow, 300);
  else keepNow();
}

function keepNow() {
  if (unkept !== null) history.replaceState(null, "", unkept);
  unkept = null;
}

function isWished(row, wish) {
  const words = (wish.get("find") ?? "").toUpperCase().split(" ").filter(Boolean);
  const [from, to] = (wish.get("keys") ?? "0-").split("-");
  const opens = wish.get("opens") && playerOf(wish.get("opens"));
  return (!wish.get("show") || (wish.get("show") === "free") === row.isFree)
    && (!wish.get("sound") || row.sound === wish.get("sound").toUpperCase())
    && row.keys >= Number(from) && (!to || row.keys <= Number(to))
    && (!wish.get("size") || row.size <= Number(wish.get("size")) * 1e6)
    && (!opens || row.players.some((p) => p.name === opens.name && (!opens.version || isEnough(opens.version, p.version))))
    && words.every((word) => row.title.includes(word) || row.sound.includes(word));
}

const columns = {
  published: (row) => -row.box.rank, library: (row) => row.title, sound: (row) => row.sound, keys: (row) => row.keys,
  recordings: (row) => row.recordings, size: (row) => row.size, for: (row) => (row.isFree ? 0 : 1),
};

function sorted(order) {
  const by = columns[order.replace("-", "")] ?? columns.published;
  const down = !order || order.startsWith("-") ? -1 : 1;
  return [...rows].sort((a, b) => {
    const [left, right] = [by(a), by(b)];
    return (left < right ? -down : left > right ? down : 0) || a.box.rank - b.box.rank;
  });
}

function show(event) {
  const wish = wishOf();
  const order = wish.get("order") ?? "";
  table.tBodies[0].append(...sorted(order).map((row) => row.row));
  let shown = 0;
  for (const row of rows) {
    const isShown = isWished(row, wish);
    shown += isShown ? 1 : 0;
    row.row.hidden = row.box.item.hidden = !isShown;
  }
  for (const board of shelf.querySelectorAll(".board")) board.hidden = boxes.every((box) => box.board !== board || box.item.hidden);
  pull(boxes.find((box) => box.item.classList.contains("pulled") && !box.item.hidden) ?? firstShown());
  table.hidden = shown === 0;
  document.getElementById("nothing").hidden = shown > 0;
  document.getElementById("nothing-words").textContent = say(["nothing", wish.get("find") && "found", wish.get("show")].filter(Boolean).join("-"), wish.get("find"));
  document.getElementById("list-count").textContent = shown === rows.length ? say("all", shown) : say("some", shown, rows.length);
  markOrder(order, wish);
  const address = addressOf(wish);
  keepAddress(address, event?.target.name === "find");
  tellOfNothing(shown === 0 && wish.get("find") ? address : null);
}

function markOrder(order, wish) {
  for (const link of table.querySelectorAll("a.sort")) {
    const [name, words] = [link.dataset.order, link.dataset.words.split("|")];
    const isThis = (order || "-published").replace("-", "") === name;
    const isDown = isThis && (order || "-published").startsWith("-");
    const head = link.closest("th");
    if (isThis) head.setAttribute("aria-sort", isDown ? "descending" : "ascending");
    else head.removeAttribute("aria-sort");
    if (isThis) document.getElementById("order-words").textContent = words[isDown ? 1 : 0];
    const next = isThis ? (isDown ? name : `-${name}`) : ["library", "sound", "for"].includes(name) ? name : `-${name}`;
    const address = new URLSearchParams(wish);
    if (next === "-published") address.delete("order");
    else address.set("order", next);
    link.href = addressOf(address);
  }
}

// The maker's numbers hear of a search that found nothing, from the server, which is asked for the same page without its body; once what was typed has stood for a while.
let telling = 0;
const told = new Set();
function tellOfNothing(address) {
  clearTimeout(telling);
  if (address === null || told.has(address)) return;
  telling = setTimeout(() => { told.add(address); fetch(address, { method: "HEAD" }).catch(() => {}); }, 1500);
}

if (shelf) keepPulled();
if (form) {
  for (const button of form.querySelectorAll("[data-without-script]")) button.hidden = true;
  form.addEventListener("input", show);
  addEventListener("pagehide", keepNow);
  form.addEventListener("submit", (event) => { event.preventDefault(); show(); });
  table.addEventListener("click", (event) => {
    const link = event.target.closest("a.sort");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    document.getElementById("order").value = new URL(link.href).searchParams.get("order") ?? "";
    show();
  });
}
