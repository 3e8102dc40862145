// Follows long work from a page that says <div data-far="…"> (the partial _HowFar): asks for the same page again and puts its bars and sentences in the old ones' place. When the
// page speaks of other work, or of none, it is opened anew; never while a folder is sent from it, nor under somebody who typed: then it says that the work has ended, and has a link
// (data-far-over). Where looking keeps somebody's place (data-far-pause, seconds between two looks) it is looked at unseen too, and opened anew when refused. Without script the page looks again by itself, or has a link.
const PAUSE_MS = 2000;
const SPEAK_MS = 15000;
const LEAVING_MS = 10000;
const places = (page) => new Map(Array.from(page.querySelectorAll("[data-far]"), (place) => [place.dataset.far, place]));
const keepsPlace = document.querySelector("[data-far-pause]");
const pause = keepsPlace ? Number(keepsPlace.dataset.farPause) * 1000 : PAUSE_MS;
let spokenAt = performance.now();
let isTyping = false;
let leftAt = -Infinity;

addEventListener("input", () => { isTyping = true; });
// Whoever follows a link just now is not brought back; a download began in the same way, and the page stays.
addEventListener("beforeunload", () => { leftAt = performance.now(); });

/** Told aloud now and then, not at every change. */
function speak(place) {
  const spoken = place.parentElement.querySelector("[data-far-spoken]");
  const words = place.querySelector("[data-far-words]").textContent.trim();
  if (!spoken || performance.now() - spokenAt < SPEAK_MS || spoken.textContent === words) return;
  spokenAt = performance.now();
  spoken.textContent = words;
}

function show(place, next) {
  const [bar, nextBar] = [place, next].map((part) => part.querySelector("progress"));
  const [words, nextWords] = [place, next].map((part) => part.querySelector("[data-far-words]"));
  if (bar && nextBar) {
    bar.max = nextBar.max;
    bar.value = nextBar.value;
  } else if (nextBar) {
    place.prepend(nextBar);
  }
  if (words.textContent !== nextWords.textContent) words.textContent = nextWords.textContent;
  speak(place);
}

/** In the place of a bar that would stand still for ever. */
function showOver(place, isOver) {
  const over = place.nextElementSibling;
  if (place.hidden === isOver) return;
  place.hidden = isOver;
  over.hidden = !isOver;
  if (isOver) over.nextElementSibling.textContent = over.textContent;
}

/** False: there is nothing more to follow. */
async function look() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  if (keepsPlace && answer.status >= 400 && answer.status < 500 && answer.status !== 429) {
    location.reload();
    return false;
  }
  if (!answer.ok) return true;
  const next = places(new DOMParser().parseFromString(await answer.text(), "text/html"));
  const here = places(document);
  for (const [work, place] of here) {
    if (!next.has(work)) continue;
    show(place, next.get(work));
    showOver(place, false);
  }
  const isSame = here.size === next.size && [...here.keys()].every((work) => next.has(work));
  if (isSame || document.querySelector("[data-busy]") || performance.now() - leftAt < LEAVING_MS) return true;
  if (isTyping) {
    for (const [work, place] of here) if (!next.has(work)) showOver(place, true);
    return next.size > 0;
  }
  location.reload();
  return false;
}

async function follow() {
  let goesOn = true;
  try {
    if (keepsPlace || !document.hidden) goesOn = await look();
  } catch {
    // The line is down for a moment; the next look may succeed.
  }
  if (goesOn) setTimeout(follow, pause);
}

if (places(document).size > 0) setTimeout(follow, pause);
