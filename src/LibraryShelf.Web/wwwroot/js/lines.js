// Draws the lines of a <figure data-line> with uPlot, in the place and the scale of the SVG that stands there without script, and says the figures under the pointer.
// Words, first and last day and the last point stay as they were. Who uses no pointer has the table beneath, which says all of it.
const DAY_S = 86_400;
const days = daysOf(document.documentElement.lang);

/** English ones where the browser does not know the tag. */
function daysOf(tag) {
  const parts = { timeZone: "UTC", day: "numeric", month: "long", year: "numeric" };
  try { return new Intl.DateTimeFormat(tag === "en" ? "en-GB" : [tag, "en-GB"], parts); } catch { return new Intl.DateTimeFormat("en-GB", parts); }
}
const ink = (name) => () => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const LINES = [{ stroke: ink("--ink"), width: 2.5 }, { stroke: ink("--t3"), width: 2 }];

function read(figure) {
  const { first, values, names, top, head, unit } = figure.dataset;
  const lines = values.split(";").map((line) => line.split(",").map((value) => (value === "" ? null : Number(value))));
  const start = Date.parse(first + "T00:00:00Z") / 1000;
  return { lines, names: names.split(";"), top: Number(top), head: Number(head), unit, times: lines[0].map((_, i) => start + i * DAY_S) };
}

function say(plot, { lines, names, unit, times }, place) {
  const at = plot.cursor.idx;
  place.textContent = at === null || at === undefined ? ""
    : `${days.format(times[at] * 1000)}: ${lines.map((line, i) => `${names[i]} ${line[at] === null ? "–" : Math.round(line[at] * 10) / 10 + unit}`).join(", ")}`;
}

function draw(figure) {
  const facts = read(figure);
  if (facts.times.length < 2) return;
  const part = (name) => figure.querySelector(`[data-part="${name}"]`);
  const field = part("field");
  // The first line is the strongest, so it is drawn last.
  const order = facts.lines.map((_, i) => i).reverse();
  const height = field.clientHeight;
  const options = {
    width: field.clientWidth, height, padding: [0, 0, 0, 0], legend: { show: false }, axes: [{ show: false }, { show: false }],
    scales: { x: { time: false }, y: { range: () => [0, facts.top * height / (height - facts.head)] } },
    cursor: { y: false, drag: { x: false, y: false }, points: { size: 9, stroke: ink("--ink"), fill: ink("--mist") } },
    series: [{}, ...order.map((i) => ({ ...LINES[Math.min(i, LINES.length - 1)], points: { show: false }, spanGaps: false }))],
    hooks: { setCursor: [(plot) => say(plot, facts, part("read"))] },
  };
  const plot = new uPlot(options, [facts.times, ...order.map((i) => facts.lines[i])], field);
  part("drawn").remove();
  new ResizeObserver(() => {
    if (field.clientWidth !== plot.width) plot.setSize({ width: field.clientWidth, height });
  }).observe(field);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => plot.redraw());
}

if (typeof uPlot === "function") document.querySelectorAll("[data-line]").forEach(draw);
