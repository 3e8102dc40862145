// A keyboard in the page: pointer, letter keys and arrows while it has focus, and a MIDI keyboard when that is asked for.
import { Sounds, nearest } from "./keyboard-sounds.js";

const NAMES = ["C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B"];
const LETTERS = ["KeyA", "KeyW", "KeyS", "KeyE", "KeyD", "KeyF", "KeyT", "KeyG", "KeyY", "KeyH", "KeyU", "KeyJ", "KeyK", "KeyO", "KeyL"];
const HARD = { 2: ["soft", "hard"], 3: ["soft", "medium", "hard"], 4: ["soft", "medium", "firm", "hard"] };
const AGAIN_MS = 500;
/** A row is the window less 48 px, at most 1184; a semitone of it less 3 px is the narrowest key: 25 are 44 px wide from 1223 on, 13 from 659 on. */
const WIDE = "(min-width: 1240px)";
const MIDDLE = "(min-width: 721px)";

const isNatural = (key) => NAMES[key % 12].length === 1;
const nameOf = (key) => `${NAMES[key % 12]}${Math.floor(key / 12) - 1}`;

function make(tag, props = {}, ...children) {
  const element = Object.assign(document.createElement(tag), props);
  element.append(...children);
  return element;
}

function choices(legend, name, words, chosen, choose) {
  const set = make("fieldset", { className: "segments" }, make("legend", { className: "hidden-words", textContent: legend }));
  words.forEach((word, i) => {
    const input = make("input", { type: "radio", name, checked: i === chosen });
    input.addEventListener("change", () => choose(i));
    set.append(make("label", {}, input, make("span", { textContent: word })));
  });
  return set;
}

class Keyboard {
  #sounds; #words; #say; #letters; #way = 0; #layers = []; #layer = 0; #low; #high; #first; #count; #down = new Map(); #held = new Map(); #keys = make("div", { className: "keys" }); #told = make("p", { className: "small" });

  constructor(sounds, words, say, letters) {
    [this.#sounds, this.#words, this.#say, this.#letters] = [sounds, words, say, letters];
    const keys = sounds.regions.filter((r) => !r.lift);
    [this.#low, this.#high] = [Math.min(...keys.map((r) => r.low)), Math.max(...keys.map((r) => r.high))];
    this.#keys.setAttribute("role", "group");
    this.#listen();
  }

  show(stage, volume) {
    const controls = make("div", { className: "row play-controls" });
    const hard = make("div");
    const chooseWay = (way) => {
      this.#way = way;
      this.#layers = this.#sounds.layers(way);
      this.#layer = Math.floor((this.#layers.length - 1) / 2);
      const words = HARD[this.#layers.length]?.map((key) => this.#words(key)) ?? this.#layers.map((_, i) => `${i + 1}`);
      hard.replaceChildren(...(this.#layers.length > 1 ? [choices(this.#words("how-hard"), "hard", words, this.#layer, (i) => { this.#layer = i; this.#prepare(); })] : []));
      this.#draw();
    };
    const ways = this.#sounds.ways;
    if (ways.length > 1) controls.append(choices(this.#words("way"), "way", ways.map(({ name }) => name || this.#words("plain")), 0, (i) => chooseWay(ways[i].way)));
    controls.append(hard, this.#volume(volume), make("button", { type: "button", className: "small", textContent: this.#words("stop"), onclick: () => { this.#letAllGo(); this.#sounds.quiet(); } }));
    if (navigator.requestMIDIAccess) controls.append(make("button", { type: "button", className: "small", textContent: this.#words("midi"), onclick: (e) => this.#askMidi(e.currentTarget) }));
    // Disabled outright, the one in focus would lose it at the end of the keys.
    this.#move = (by) => { if ((by < 0 ? this.lower : this.higher).getAttribute("aria-disabled") === "true") return; this.#first += by; this.#draw(); };
    this.lower = make("button", { type: "button", className: "small", textContent: this.#words("lower"), onclick: () => this.#move(-12) });
    this.higher = make("button", { type: "button", className: "small", textContent: this.#words("higher"), onclick: () => this.#move(12) });
    const leftOut = ways.length < this.#sounds.allWays ? [make("p", { className: "small", textContent: this.#words("some-ways", ways.length, this.#sounds.allWays) })] : [];
    stage.replaceChildren(controls, ...leftOut, this.#told, this.#keys, make("div", { className: "row" }, this.lower, this.higher));
    this.#measure();
    chooseWay(ways[0].way);
    for (const width of [WIDE, MIDDLE]) matchMedia(width).addEventListener("change", () => { this.#measure(); this.#draw(); });
  }

  #move = () => {};

  #volume(start) {
    const percent = make("output", { textContent: `${100 * start} %` });
    const slider = make("input", { type: "range", min: 0, max: 100, value: 100 * start });
    slider.addEventListener("input", () => {
      percent.textContent = `${slider.value} %`;
      this.#sounds.level = slider.value / 100;
    });
    this.#sounds.level = start;
    return make("label", { className: "play-volume" }, make("span", { textContent: this.#words("volume") }), slider, percent);
  }

  /** How many keys there is room for, all wide enough to be hit: a row of 25 or 13, or on a phone two rows of six. */
  #measure() {
    this.rows = matchMedia(WIDE).matches ? [25] : matchMedia(MIDDLE).matches ? [13] : [6, 6];
    this.#count = this.rows.reduce((a, b) => a + b);
    const all = this.#high - this.#low + 1;
    this.#first = all <= this.#count ? this.#low : this.#best(this.#low + (all - this.#count) / 2);
  }

  /** From which C on most keys play; of several the one nearest to the middle. */
  #best(middle) {
    const last = this.#high - this.#count + 1;
    const playing = (first) => Array.from({ length: this.#count }, (_, i) => first + i).filter((key) => this.#sounds.on(this.#way, key).length).length;
    const starts = Array.from({ length: last - this.#low + 1 }, (_, i) => this.#low + i).filter((key) => key % 12 === 0 || key === this.#low || key === last);
    return starts.map((first) => ({ first, plays: playing(first), off: Math.abs(first - middle), isC: first % 12 === 0 }))
      .sort((a, b) => b.plays - a.plays || b.isC - a.isC || a.off - b.off)[0].first;
  }

  #draw() {
    this.#letAllGo();
    this.#first = Math.max(this.#low, Math.min(this.#first, this.#high - this.#count + 1));
    const last = Math.min(this.#high, this.#first + this.#count - 1);
    this.#keys.setAttribute("aria-label", this.#words("keys", nameOf(this.#first), nameOf(last)));
    const takes = this.#sounds.hasTakes(this.#way) ? [this.#words("takes")] : [];
    this.#told.textContent = [this.#words("how", nameOf(this.#first), nameOf(last)), ...takes, this.#letters].join(" ");
    this.#keys.replaceChildren();
    // Fewer keys than there is room for share the rows evenly, so that all are of one width.
    const shown = last - this.#first + 1;
    const wide = Math.ceil(shown / Math.ceil(shown / this.rows[0]));
    for (let from = this.#first; from <= last; from += wide) this.#keys.append(...this.#row(from, Math.min(last, from + wide - 1), wide));
    const start = this.#buttons().find((b) => !b.disabled);
    if (start) start.tabIndex = 0;
    const [isLowest, isHighest] = [this.#first <= this.#low, last >= this.#high];
    this.lower.setAttribute("aria-disabled", isLowest);
    this.higher.setAttribute("aria-disabled", isHighest);
    this.lower.parentElement.hidden = isLowest && isHighest;
    this.#prepare();
  }

  /** Accidentals above, naturals below, each reaching half under its accidentals. A column is half a semitone. */
  #row(low, high, wide) {
    const [above, below] = [make("div", { className: "key-row above" }), make("div", { className: "key-row" })];
    for (let key = low; key <= high; key++) {
      if (!isNatural(key)) {
        above.append(this.#button(key, 2));
        if (key === low) below.append(make("span", { className: "span-1" }));
        if (key === high) below.append(make("span", { className: "span-1" }));
        continue;
      }
      above.append(make("span", { className: "span-2" }));
      const button = this.#button(key, 2 + (key > low && !isNatural(key - 1)) + (key < high && !isNatural(key + 1)));
      const edge = below.lastElementChild?.matches("span.span-1") && key - 1 !== low ? below.lastElementChild : null;
      if (edge) edge.before(button); else below.append(button);
    }
    for (let key = high + 1; key < low + wide; key++) for (const row of [above, below]) row.append(make("span", { className: "span-2" }));
    return [above, below];
  }

  #button(key, span) {
    const button = make("button", { type: "button", className: `key span-${span}`, tabIndex: -1, textContent: isNatural(key) ? nameOf(key) : NAMES[key % 12] });
    button.dataset.key = key;
    button.disabled = this.#sounds.on(this.#way, key).length === 0;
    if (!isNatural(key)) button.setAttribute("aria-label", nameOf(key));
    return button;
  }

  #buttons() { return [...this.#keys.querySelectorAll("button")].sort((a, b) => a.dataset.key - b.dataset.key); }

  #prepare() {
    const velocity = this.#layers[this.#layer];
    const shown = this.#buttons().map((b) => this.#sounds.on(this.#way, Number(b.dataset.key)));
    // What is decoded already is not decoded again.
    this.#sounds.prepare([...shown.flatMap((on) => nearest(on, velocity)), ...shown.flat()]);
  }

  #press(key, velocity = this.#layers[this.#layer]) {
    if (this.#down.has(key)) return;
    this.#down.set(key, this.#sounds.strike(this.#way, key, velocity));
    this.#keyOf(key)?.classList.add("now");
  }

  #release(key) {
    this.#down.get(key)?.();
    this.#down.delete(key);
    this.#keyOf(key)?.classList.remove("now");
  }

  #letAllGo() {
    this.#held.clear();
    for (const key of [...this.#down.keys()]) this.#release(key);
  }

  /** The key to which the tabulator comes back. */
  #goTo(button, options) {
    for (const other of this.#buttons()) other.tabIndex = -1;
    button.tabIndex = 0;
    button.focus(options);
  }

  #keyOf(key) { return this.#keys.querySelector(`[data-key="${key}"]`); }

  #listen() {
    const at = (event) => event.target.closest?.("button.key:not(:disabled)");
    const number = (button) => Number(button.dataset.key);
    this.#keys.addEventListener("pointerdown", (e) => {
      const button = at(e);
      if (!button || e.button !== 0) return;
      // So that a finger may slide from key to key.
      if (button.hasPointerCapture(e.pointerId)) button.releasePointerCapture(e.pointerId);
      this.#goTo(button, { preventScroll: true });
      this.#press(number(button));
    });
    this.#keys.addEventListener("pointerover", (e) => { if (at(e) && e.buttons === 1) this.#press(number(at(e))); });
    for (const end of ["pointerup", "pointerout", "pointercancel"]) this.#keys.addEventListener(end, (e) => { if (at(e)) this.#release(number(at(e))); });
    // A press that comes from neither pointer nor key, as a screen reader's.
    this.#keys.addEventListener("click", (e) => {
      if (!at(e) || e.detail !== 0) return;
      const key = number(at(e));
      this.#press(key);
      setTimeout(() => this.#release(key), AGAIN_MS);
    });
    this.#keys.addEventListener("keydown", (e) => this.#keyDown(e));
    this.#keys.addEventListener("keyup", (e) => {
      // In some browsers the space bar presses a button only now.
      if (e.code === "Space") e.preventDefault();
      // What it struck, whatever is in focus or held with it by now.
      if (!this.#held.has(e.code)) return;
      this.#release(this.#held.get(e.code));
      this.#held.delete(e.code);
    });
    this.#keys.addEventListener("focusout", (e) => { if (!this.#keys.contains(e.relatedTarget)) this.#letAllGo(); });
    addEventListener("blur", () => this.#letAllGo());
  }

  /** Which key a letter, or Enter or the space bar on the one in focus, plays; null: none. */
  #keyFor(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return null;
    if (event.code === "Enter" || event.code === "Space") return this.#keys.contains(document.activeElement) ? Number(document.activeElement.dataset.key) : null;
    const letter = LETTERS.indexOf(event.code);
    if (letter < 0) return null;
    // A is the lowest C that is shown, or the lowest key where there is none.
    const c = this.#buttons().find((b) => b.dataset.key % 12 === 0) ?? this.#buttons()[0];
    const key = Number(c.dataset.key) + letter;
    return this.#sounds.on(this.#way, key).length ? key : null;
  }

  #keyDown(event) {
    const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 };
    const buttons = this.#buttons().filter((b) => !b.disabled);
    const here = buttons.indexOf(document.activeElement);
    const to = event.code === "Home" ? 0 : event.code === "End" ? buttons.length - 1 : here + (steps[event.code] ?? 0);
    if (to !== here && buttons[to]) {
      event.preventDefault();
      this.#goTo(buttons[to]);
      return;
    }
    const key = this.#keyFor(event);
    if (key === null) return;
    event.preventDefault();
    if (event.repeat) return;
    this.#held.set(event.code, key);
    this.#press(key);
  }

  async #askMidi(button) {
    this.#sounds.wake();
    try {
      const access = await navigator.requestMIDIAccess();
      const join = () => {
        for (const input of access.inputs.values()) input.onmidimessage = (message) => this.#midi(message.data);
        this.#say(access.inputs.size ? this.#words("midi-plays", [...access.inputs.values()].map((i) => i.name).join(", ")) : this.#words("midi-none"));
      };
      // The one that went away lets go of nothing any more.
      access.onstatechange = () => { this.#letAllGo(); join(); };
      join();
      button.disabled = true;
    } catch {
      this.#say(this.#words("midi-refused"));
    }
  }

  /** MIDI 1.0: note off 8, note on 9, whose velocity 0 is an off. */
  #midi([status, key, velocity]) {
    const kind = status >> 4;
    if (kind === 9 && velocity > 0) this.#press(key, velocity);
    else if (kind === 8 || kind === 9) this.#release(key);
  }
}

/** What stands on the user's own letter keys, which are known by their place; null where the browser does not tell. */
async function lettersOf() {
  const layout = await navigator.keyboard?.getLayoutMap?.().catch(() => null);
  const letters = LETTERS.map((code) => layout?.get(code)?.toLocaleUpperCase());
  return letters.every(Boolean) ? letters.join(" ") : null;
}

/** Loads what is needed and shows the keyboard. words: wordsOf(play); say: where it is told what there is to tell; came(bytes, of how many); signal: ends the loading, and what had come is let go of. */
export async function show(play, volume, words, say, came, signal) {
  const letters = await lettersOf();
  const sounds = new Sounds();
  await sounds.load(play.dataset.play, came, signal);
  const stage = play.querySelector('[data-part="stage"]');
  new Keyboard(sounds, words, say, letters ? words("letters", letters) : words("letter-rows")).show(stage, volume);
  stage.hidden = false;
  say(words("ready"));
  // Only where whoever pressed still is: who moved on meanwhile is not taken back.
  if (document.activeElement === document.body || play.contains(document.activeElement))
    stage.querySelector(".key:not(:disabled)[tabindex='0']")?.focus();
}
