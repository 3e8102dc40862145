// Follows long work from a page that says <div data-far="…"> (the partial _HowFar): asks for the same page again and puts its bar and sentence in the old ones' place. When the
// page speaks of another work, or of none, it is opened anew; never under somebody who types, or sends a folder. Without script the page looks again by itself, or has a link.
const PAUSE_MS = 2000;
const SPEAK_MS = 15000;
const far = () => document.querySelector("[data-far]");
const spoken = document.querySelector("[data-far-spoken]");
let spokenAt = performance.now();
let isTyping = false;

addEventListener("input", () => { isTyping = true; });

/** Told aloud now and then, not at every change. */
function speak(words) {
  if (!spoken || performance.now() - spokenAt < SPEAK_MS || spoken.textContent === words) return;
  spokenAt = performance.now();
  spoken.textContent = words;
}

function show(next) {
  const [bar, nextBar] = [far(), next].map((place) => place.querySelector("progress"));
  const [words, nextWords] = [far(), next].map((place) => place.querySelector("[data-far-words]"));
  if (bar && nextBar) {
    bar.max = nextBar.max;
    bar.value = nextBar.value;
  } else if (nextBar) {
    far().prepend(nextBar);
  }
  if (words.textContent !== nextWords.textContent) words.textContent = nextWords.textContent;
  speak(words.textContent.trim());
}

/** False: there is nothing more to follow. */
async function look() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  if (!answer.ok) return true;
  const next = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-far]");
  if (next?.dataset.far === far().dataset.far) {
    show(next);
    return true;
  }
  if (document.querySelector("[data-busy]")) return true;
  if (!isTyping) {
    location.reload();
    return false;
  }
  if (next) far().replaceWith(next);
  return Boolean(next);
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

if (far()) setTimeout(follow, PAUSE_MS);
