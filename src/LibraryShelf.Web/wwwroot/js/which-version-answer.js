// What is said about a folder, as elements. Words are set as text, never as markup: names of files are anybody's.
const MOST_NAMED = 50;

function node(name, words, attributes = {}) {
  const made = document.createElement(name);
  if (words) made.textContent = words;
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

export class Answer {
  #say; #title; #box;

  /** say: the page's words; title: the library's; box: its address. */
  constructor(say, title, box) { [this.#say, this.#title, this.#box] = [say, title, box]; }

  #files(n) { return this.#say.count(n, "file"); }

  #items(lines) {
    const items = node("ul");
    for (const line of lines.slice(0, MOST_NAMED)) items.append(node("li", line));
    if (lines.length > MOST_NAMED) items.append(node("li", this.#say("more", lines.length - MOST_NAMED)));
    return items;
  }

  /** Nothing where there are none; the summary says how many. */
  #list(key, paths, ...holes) {
    if (paths.length === 0) return [];
    const details = node("details");
    details.append(node("summary", this.#say(key, this.#files(paths.length), ...holes)), this.#items(paths));
    return [details];
  }

  #link(key) {
    const line = node("p");
    line.append(node("a", this.#say(key), { href: `${this.#box}#download` }));
    return line;
  }

  ofFolder(found) {
    const say = this.#say;
    if (found === null) return [node("h2", say("none", this.#title)), node("p", say("choose"))];
    const { version, altered, missing, renamed, leftOver, own, isExact } = found;
    const paths = (files) => files.map((f) => f.path);
    return [
      node("h2", say(isExact ? "is" : "nearest", this.#title, version.number)),
      ...(isExact ? [node("p", version.files.length === 1 ? say("as-packed-one") : say("as-packed", this.#files(version.files.length)))] : []),
      ...this.#list("altered", paths(altered)), ...this.#list("missing", paths(missing)),
      ...this.#list("renamed", renamed.map((f) => say("renamed-file", f.path, f.as))),
      ...this.#list("left-over", paths(leftOver)), ...this.#list("own", paths(own)),
      ...(version.withdrawnAt ? [node("p", say("withdrawn", version.number, version.withdrawnBecause ?? ""))] : []),
      ...this.#next(found),
    ];
  }

  #next({ version, latest, cost, altered, missing }) {
    const say = this.#say;
    const broken = [...altered, ...missing].reduce((sum, f) => sum + f.size, 0);
    if (version.number === latest.number && latest.withdrawnAt) return [];
    const words = version.number !== latest.number ? say("latest-is", latest.number, say.size(cost))
      : broken > 0 ? say("is-latest-broken", say.size(broken)) : say("is-latest");
    return broken > 0 || version.number !== latest.number ? [node("p", words), this.#link("to-box")] : [node("p", words)];
  }

  ofUpdate(held) {
    const say = this.#say;
    const heading = node("h2", say("update", this.#title, held.from, held.to));
    if (!held.isKnown) return [heading, node("p", say("update-unknown", held.to))];
    if (held.isExact) return [heading, node("p", held.files === 1 ? say("update-exact-one", held.from) : say("update-exact", this.#files(held.files), held.from))];
    return [heading, ...this.#list("update-altered", held.altered, held.to), ...this.#list("missing", held.missing), this.#link("again")];
  }

  ofFiles(found) {
    const say = this.#say;
    const shared = found.length > 0 ? found[0].in.filter((number) => found.every((f) => f.in.includes(number))) : [];
    const heading = shared.length > 0 ? say("loose", this.#title, shared.join(", ")) : say(found.some((f) => f.in.length > 0) ? "loose-mixed" : "none", this.#title);
    const lines = found.map((f) => (f.in.length === 0 ? say("loose-unknown", f.path) : say("loose-in", f.path, f.as, f.in.join(", "))));
    return [node("h2", heading), this.#items(lines), node("p", say("loose-why"))];
  }
}
