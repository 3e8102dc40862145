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
  const load = play.querySelector('[data-part="load"]');
  const said = play.querySelector('[data-part="said"]');
  const say = wordsOf(play);
  play.hidden = false;
  load.addEventListener("click", async () => {
    load.disabled = true;
    said.textContent = say("begun");
    try {
      const { show } = await import("./keyboard.js");
      await show(play, QUARTER, say, (words) => { said.textContent = words; });
      load.parentElement.hidden = true;
    } catch (fault) {
      said.textContent = say("failed", say.fault(fault));
      load.disabled = false;
      load.focus();
    }
  });
}
