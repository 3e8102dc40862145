// What a script says is given by its page, in the shelf's language: data-words is a JSON object, by key a sentence with the holes {0}, {1}, or a noun with its form for each
// plural category. Scripts have the keys alone (Pages/Words/Scripts has the words).
const plurals = pluralsOf(document.documentElement.lang || "en");

/** Of English where the browser does not know the tag: a shelf's file may name a language that no browser has. */
function pluralsOf(tag) {
  try { return new Intl.PluralRules([tag, "en"]); } catch { return new Intl.PluralRules("en"); }
}

/** A fault that the page has words for: its message is their key. */
export class Fault extends Error {
  constructor(key, ...holes) {
    super(key);
    this.holes = holes;
  }
}

/** A number with so many decimals, with the shelf's own sign before them. */
const written = (words, value, decimals) => value.toFixed(decimals).replace(".", words.decimal);

/** say(key, …what fills the holes); say.count(3, "file"): "3 files"; say.size(bytes): "38 MB", only where the page gives the units. */
export function wordsOf(root) {
  const words = JSON.parse(root.dataset.words);
  const say = (key, ...holes) => words[key].replace(/\{(\d)\}/g, (_, hole) => holes[hole]);
  say.count = (n, noun) => `${n} ${words[noun][plurals.select(n)] ?? words[noun].other}`;
  say.size = (bytes) => {
    let unit = -1;
    let value = bytes;
    while (value >= 1000 && unit < words.units.length - 1) { value /= 1000; unit += 1; }
    return unit < 0 ? say.count(bytes, "byte") : `${written(words, value, value < 10 ? 1 : 0)} ${words.units[unit]}`;
  };
  say.megabytes = (bytes) => `${written(words, bytes / 1e6, 1)} ${words.units[1]}`;
  say.fault = (fault) => (fault instanceof Fault ? say(fault.message, ...fault.holes) : fault.message);
  return say;
}
