// What is said about a folder, as elements. Words are set as text, never as markup: names of files are anybody's.
const UNITS = ["bytes", "kB", "MB", "GB", "TB"];
const MOST_NAMED = 50;

function size(bytes) {
  let unit = 0;
  let value = bytes;
  while (value >= 1000 && unit < UNITS.length - 1) { value /= 1000; unit += 1; }
  return `${unit === 0 ? value : value.toFixed(value < 10 ? 1 : 0)} ${UNITS[unit]}`;
}

const files = (n) => `${n} ${n === 1 ? "file" : "files"}`;

function node(name, words, attributes = {}) {
  const made = document.createElement(name);
  if (words) made.textContent = words;
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

function list(summary, paths) {
  const details = node("details");
  const items = node("ul");
  for (const path of paths.slice(0, MOST_NAMED)) items.append(node("li", path));
  if (paths.length > MOST_NAMED) items.append(node("li", `and ${paths.length - MOST_NAMED} more`));
  details.append(node("summary", summary), items);
  return details;
}

export function folderAnswer(found, title, box) {
  if (found === null) return [node("h2", `None of these files is from ${title}`), node("p", "Choose the folder that was unzipped from this box, or the folder above it.")];
  const { version, altered, missing, renamed, leftOver, own } = found;
  const certain = found.isExact;
  const nodes = [node("h2", certain ? `This is ${title} ${version.number}` : `This is nearest to ${title} ${version.number}`)];
  if (certain) nodes.push(node("p", `All ${files(version.files.length)} are as they were packed.`));
  for (const [words, some] of [["not as packed", altered], ["missing", missing]]) {
    if (some.length > 0) nodes.push(list(`${files(some.length)} ${words}`, some.map((f) => f.path)));
  }
  if (renamed.length > 0) nodes.push(list(`${files(renamed.length)} under another name`, renamed.map((f) => `${f.path}: here ${f.as}`)));
  if (leftOver.length > 0) nodes.push(list(`${files(leftOver.length)} left over from another version; they may be deleted`, leftOver.map((f) => f.path)));
  if (own.length > 0) nodes.push(list(`${files(own.length)} of your own; that is no fault`, own.map((f) => f.path)));
  if (version.withdrawnAt) nodes.push(node("p", `The maker has withdrawn ${version.number}. ${version.withdrawnBecause ?? ""}`));
  nodes.push(...next(found, box));
  return nodes;
}

export function updateAnswer(held, title, box) {
  const nodes = [node("h2", `This is the update of ${title} from ${held.from} to ${held.to}`)];
  if (!held.isKnown) return [...nodes, node("p", `The shelf tells nothing of ${held.to} to you, so its files can’t be held against that version.`)];
  if (held.isExact) nodes.push(node("p", `All ${files(held.files)} in it are as they should be. Unzip it over the folder of ${held.from}, or use shelf update.`));
  for (const [words, some] of [[`not as ${held.to} has them`, held.altered], ["missing", held.missing]]) {
    if (some.length > 0) nodes.push(list(`${files(some.length)} ${words}`, some));
  }
  if (held.isExact) return nodes;
  const link = node("p");
  link.append(node("a", "Fetch it again from the box", { href: `${box}#download` }));
  return [...nodes, link];
}

function next({ version, latest, cost, altered, missing }, box) {
  const broken = [...altered, ...missing].reduce((sum, f) => sum + f.size, 0);
  if (version.number === latest.number && latest.withdrawnAt) return [];
  const words = version.number !== latest.number ? `The latest is ${latest.number}. What differs between the two is about ${size(cost)}.`
    : broken > 0 ? `This is the latest version. What is altered or missing here is about ${size(broken)}.` : "This is the latest version.";
  const link = node("p");
  link.append(node("a", "To the box", { href: `${box}#download` }));
  return broken > 0 || version.number !== latest.number ? [node("p", words), link] : [node("p", words)];
}

export function looseAnswer(found, title) {
  const shared = found.length > 0 ? found[0].in.filter((number) => found.every((f) => f.in.includes(number))) : [];
  const heading = shared.length > 0 ? `In ${title} ${shared.join(", ")}` : found.some((f) => f.in.length > 0) ? "Not all from one version" : `None of these files is from ${title}`;
  const items = node("ul");
  for (const f of found.slice(0, MOST_NAMED)) {
    items.append(node("li", f.in.length === 0 ? `${f.path}: in no version, or altered` : `${f.path}: ${f.as}, in ${f.in.join(", ")}`));
  }
  if (found.length > MOST_NAMED) items.append(node("li", `and ${found.length - MOST_NAMED} more`));
  return [node("h2", heading), items, node("p", "Single files can be in several versions. To know which one you have, choose the whole folder.")];
}
