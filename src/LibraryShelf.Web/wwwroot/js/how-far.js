// Follows long work from a page that says <div data-far="…"> (the partial _HowFar): asks for the same page again and puts its bars and sentences in the old ones' place. When the
// page speaks of other work, or of none, it is opened anew; never under somebody who types, or sends a folder. Without script the page looks again by itself, or has a link.
const PAUSE_MS = 2000;
const SPEAK_MS = 15000;
const places = (page) => new Map(Array.from(page.querySelectorAll("[data-far]"), (place) => [place.dataset.far, place]));
let spokenAt = performance.now();
let isTyping = false;

addEventListener("input", () => { isTyping = true; });

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

/** False: there is nothing more to follow. */
async function look() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  if (!answer.ok) return true;
  const next = places(new DOMParser().parseFromString(await answer.text(), "text/html"));
  const here = places(document);
  for (const [work, place] of here) if (next.has(work)) show(place, next.get(work));
  const isSame = here.size === next.size && [...here.keys()].every((work) => next.has(work));
  if (isSame || isTyping || document.querySelector("[data-busy]")) return isSame || next.size > 0;
  location.reload();
  return false;
}

async function follow() {
  let goesOn = true;
  try {
    if (!document.hidden) goesOn = await look();
  } catch {
    // The line is down for a moment; the next look may succeed.
  }
  if (goesOn) setTimeout(follow, PAUSE_MS);
}

if (places(document).size > 0) setTimeout(follow, PAUSE_MS);
