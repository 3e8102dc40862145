// Follows an unpacking, a check, a comparison (202 until it is there) or a sealing from a page that says <p data-wait="/api/drafts/7" data-while="…">: keeps the bar and the sentence
// true, and opens the page anew when it is over. Without script the page refreshes itself.
const place = document.querySelector("[data-wait]");
const bar = document.querySelector("progress[data-bar]");
const count = document.querySelector("[data-count]");
const PAUSE_MS = 1500;

function isOver(draft) {
  switch (place.dataset.while) {
    case "unpacking": return !draft.isUnpacking;
    case "checking": return !draft.isChecking;
    case "comparing": return true;
    default: return draft.state !== place.dataset.while || Boolean(draft.trouble);
  }
}

function show(draft) {
  if (!bar || !draft.checkTotal) return;
  bar.max = draft.checkTotal;
  bar.value = draft.checkDone;
  if (count) count.textContent = `${draft.checkDone} of ${draft.checkTotal} recordings measured.`;
}

async function look() {
  try {
    const answer = await fetch(place.dataset.wait, { headers: { Accept: "application/json" } });
    if (answer.ok && answer.status !== 202) {
      const draft = await answer.json();
      if (isOver(draft)) {
        location.reload();
        return;
      }
      show(draft);
    }
  } catch {
    // The line is down for a moment; the next look may succeed.
  }
  setTimeout(look, PAUSE_MS);
}

if (place) setTimeout(look, PAUSE_MS);
