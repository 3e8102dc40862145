// Cuts the pages' fonts down to the letters and widths that the pages use, and measures how wide names run: node fonts.mjs VENDOR-FOLDER PARTS-FOLDER.
// Browsers get .woff2 files; the program gets still fonts for its pictures, and a table of widths by which titles are fitted to spines.
import { createRequire } from "node:module";
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import * as hb from "harfbuzzjs";

const subset = createRequire(import.meta.url)("subset-font");
const [vendor, parts] = process.argv.slice(2);
const anybody = "node_modules/@fontsource-variable/anybody/files/anybody";
const atkinson = "node_modules/@fontsource-variable/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next";

const span = (from, to) => String.fromCodePoint(...Array.from({ length: to - from + 1 }, (_, i) => from + i));
const letters = span(0x20, 0x7e) + "\u00a0" + span(0xc0, 0xff) + "ıŒœ–—‘’‚“”„…";
const inNames = letters + "¡£«°·»¿€−½";
const inText = letters + "¡¢£¥§©«®°±²³µ·»¼½¾¿ªº€™†•‹›↑↓−′″";
const inItalics = letters + "£©«°·»€−½";
// Latin Extended-A but for the one letter that is no longer used (ŉ), and the commas of Romanian.
const further = [...span(0x100, 0x148) + span(0x14a, 0x17f) + "ȘșȚț"].filter((letter) => !letters.includes(letter)).join("");

// Names have one weight and every width; text has upright weights, and italics one.
const names = { wght: 640 };
const text = { wght: { min: 400, max: 700 } };

async function cut(file, characters, variationAxes, targetFormat = "woff2") {
  return subset(await readFile(file), characters, { targetFormat, variationAxes, noHinting: true });
}

const write = async (folder, name, bytes) => {
  await mkdir(folder, { recursive: true });
  await writeFile(join(folder, name), bytes);
};

await write(join(vendor, "anybody"), "anybody.woff2", await cut(`${anybody}-latin-wdth-normal.woff2`, inNames, names));
await write(join(vendor, "anybody"), "anybody-ext.woff2", await cut(`${anybody}-latin-ext-wdth-normal.woff2`, further, names));
await write(join(vendor, "atkinson"), "atkinson.woff2", await cut(`${atkinson}-latin-wght-normal.woff2`, inText, text));
await write(join(vendor, "atkinson"), "atkinson-ext.woff2", await cut(`${atkinson}-latin-ext-wght-normal.woff2`, further, text));
await write(join(vendor, "atkinson"), "atkinson-italic.woff2", await cut(`${atkinson}-latin-wght-italic.woff2`, inItalics, { wght: 400 }));

// For pictures that the program draws itself.
const still = { wght: 640, wdth: 78 };
await write(parts, "names-ext.ttf", await cut(`${anybody}-latin-ext-wdth-normal.woff2`, further, still, "sfnt"));
await write(parts, "text-ext.ttf", await cut(`${atkinson}-latin-ext-wght-normal.woff2`, further, { wght: 500 }, "sfnt"));
await write(parts, "names.ttf", await cut(`${anybody}-latin-wdth-normal.woff2`, inNames, still, "sfnt"));
await write(parts, "text.ttf", await cut(`${atkinson}-latin-wght-normal.woff2`, inText, { wght: 500 }, "sfnt"));

// A line a letter: its code point, then its advance in thousandths of an em at 50 %, 60 % … 150 % of the width axis.
const widths = Array.from({ length: 11 }, (_, i) => 50 + 10 * i);
const lines = [];
for (const [file, characters] of [["latin", inNames], ["latin-ext", further]]) {
  const face = new hb.Face(new hb.Blob(await cut(`${anybody}-${file}-wdth-normal.woff2`, characters, names, "sfnt")));
  for (const letter of characters) {
    const line = widths.map((wdth) => {
      const font = new hb.Font(face);
      font.setVariations([new hb.Variation("wdth", wdth)]);
      const buffer = new hb.Buffer();
      buffer.addText(letter);
      buffer.guessSegmentProperties();
      hb.shape(font, buffer);
      return Math.round((1000 * buffer.getGlyphPositions().reduce((sum, glyph) => sum + glyph.xAdvance, 0)) / face.upem);
    });
    lines.push([letter.codePointAt(0), ...line].join(" "));
  }
}
await write(parts, "name-widths.txt", lines.join("\n") + "\n");
