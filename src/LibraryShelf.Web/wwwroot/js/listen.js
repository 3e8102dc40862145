// Listening on a box's page: everything starts at a quarter of full volume, one thing sounds at a time, and the keyboard comes when it is asked for.
import { wordsOf } from "./words.js";

const section = document.getElementById("listening");
const QUARTER = 0.25;

const players = [...section.querySelectorAll("audio")];
for (const player of players) {
  player.volume = QUARTER;
  player.addEventListener("play", () => { for (const other of players) if (other !== player) other.pause(); });
}
for (const words of section.querySelectorAll("[data-with-script]")) words.hidden = false;

const play = section.querySelector("[data-play]");
if (play && window.AudioContext) {
  const [load, stop, bar, far, said] = ["load", "stop", "bar", "far", "said"].map((part) => play.querySelector(`[data-part="${part}"]`));
  const say = wordsOf(play);
  let loading = null;
  let toldAt = 0;

  /** Seen at each piece that comes; told aloud at each quarter. */
  const came = (at, all) => {
    [bar.value, bar.max] = [at, all];
    far.textContent = say("loading", say.megabytes(at), say.megabytes(all));
    if (at < all && at - toldAt < all / 4) return;
    toldAt = at;
    said.textContent = far.textContent;
  };
  const isLoading = (on) => {
    // Disabled outright, it would lose the focus; and a second press must not meet the button that stops.
    load.setAttribute("aria-disabled", on);
    stop.hidden = bar.hidden = far.hidden = !on;
    said.classList.toggle("hidden-words", on);
  };

  play.hidden = false;
  stop.addEventListener("click", () => loading?.abort());
  load.addEventListener("click", async () => {
    if (loading) return;
    loading = new AbortController();
    const { signal } = loading;
    toldAt = 0;
    bar.removeAttribute("value");
    far.textContent = said.textContent = say("begun");
    isLoading(true);
    try {
      const { show } = await import("./keyboard.js");
      await show(play, QUARTER, say, (words) => { said.textContent = words; }, came, signal);
      load.parentElement.hidden = true;
      isLoading(false);
    } catch (fault) {
      isLoading(false);
      said.textContent = !signal.aborted ? say("failed", say.fault(fault)) : bar.hasAttribute("value") ? say("stopped-at", say.megabytes(bar.value), say.megabytes(bar.max)) : say("stopped");
      // Who moved on meanwhile is not taken back.
      if (document.activeElement === document.body || play.contains(document.activeElement)) load.focus();
    }
    loading = null;
  });
}
