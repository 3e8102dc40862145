// The page's side of sending: what a person presses, and what is said back. Spoken words come at most every five seconds.
import { collectDropped, collectChosen, isZip } from "./send-files.js";

const SPEAK_MS = 5000;

export class SendView {
  /** words: wordsOf(root). */
  constructor(root, words) {
    this.words = words;
    this.part = (name) => root.querySelector(`[data-part="${name}"]`);
    this.spokenAt = 0;
    for (const part of root.querySelectorAll("[data-with-script]")) part.hidden = false;
    for (const part of root.querySelectorAll("[data-without-script]")) part.hidden = true;
    // In no standard, so not in the page.
    this.part("folder").webkitdirectory = true;
    this.part("choose-folder").addEventListener("click", () => this.part("folder").click());
    this.part("choose-zip").addEventListener("click", () => this.part("zip").click());
  }

  onFiles(take) {
    const field = this.part("folder");
    field.addEventListener("change", () => { if (field.files.length > 0) take(collectChosen(field.files)); });
    const drop = this.part("drop");
    const over = (event, is) => { event.preventDefault(); drop.classList.toggle("over", is); };
    drop.addEventListener("dragenter", (event) => over(event, true));
    drop.addEventListener("dragover", (event) => over(event, true));
    drop.addEventListener("dragleave", (event) => { if (!drop.contains(event.relatedTarget)) over(event, false); });
    drop.addEventListener("drop", async (event) => {
      over(event, false);
      const files = await collectDropped(event.dataTransfer);
      if (files.length === 1 && isZip(files[0].file)) this.takeZip(files[0].file);
      else take(files);
    });
  }

  onZip(take) {
    this.takeZip = take;
    const field = this.part("zip");
    field.addEventListener("change", () => { if (field.files.length > 0) take(field.files[0]); });
  }

  onStop(stop) { this.part("stop").addEventListener("click", stop); }

  onGoOn(goOn) { this.part("go-on").addEventListener("click", goOn); }

  begin() {
    this.part("drop").hidden = true;
    this.part("trouble").hidden = true;
    this.part("progress").hidden = false;
    this.part("stop").hidden = false;
    this.part("words").focus();
  }

  reading(total, done, path) {
    this.bar(total, done);
    this.say(this.words("reading", this.words.size(done), this.words.size(total)));
    this.now(path);
  }

  sending(total, here, files, filesHere) {
    Object.assign(this, { total, here, files, filesHere });
    this.saySent(true);
  }

  confirmed(bytes) {
    this.here += bytes;
    this.saySent();
  }

  fileDone() {
    this.filesHere += 1;
    this.saySent();
  }

  saySent(atOnce = false) {
    this.bar(this.total, this.here);
    this.say(this.words(this.files === 1 ? "sent-of-one" : "sent", this.words.size(this.here), this.words.size(this.total), this.filesHere, this.files), atOnce);
  }

  now(path) { this.part("now").textContent = path; }

  note(words) {
    this.part("note").textContent = words;
    this.part("note").hidden = false;
  }

  waiting(words) {
    this.part("bar").removeAttribute("value");
    this.part("stop").hidden = true;
    this.now("");
    this.say(words, true);
  }

  trouble(words, canGoOn, wasAsked) {
    this.part("trouble").className = wasAsked ? "stopped" : "notice must-fix";
    this.part("progress").hidden = !canGoOn;
    this.part("stop").hidden = true;
    this.part("drop").hidden = canGoOn;
    this.part("go-on").hidden = !canGoOn;
    this.part("again").hidden = !canGoOn;
    this.part("trouble-words").textContent = words;
    this.part("trouble").hidden = false;
    this.part("trouble").focus();
    for (const field of ["folder", "zip"]) this.part(field).value = "";
  }

  bar(total, done) {
    this.part("bar").max = Math.max(total, 1);
    this.part("bar").value = total === 0 ? 1 : done;
  }

  say(words, atOnce = false) {
    this.part("words").textContent = words;
    const at = performance.now();
    if (!atOnce && at - this.spokenAt < SPEAK_MS) return;
    this.spokenAt = at;
    this.part("spoken").textContent = words;
  }
}
