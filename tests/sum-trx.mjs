// Adds up the counters of every .trx file and prints the closing line. Fails when a project ran no test.
//   node sum-trx.mjs FOLDER FAILED    FAILED is 1 when a test run itself went wrong
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

const [folder, runFailed] = process.argv.slice(2);
const total = { passed: 0, failed: 0, skipped: 0 };
let bad = runFailed === "1";
for (const name of readdirSync(folder).filter((file) => file.endsWith(".trx"))) {
  const counters = /<Counters ([^>]*)\/>/.exec(readFileSync(join(folder, name), "utf8"))?.[1] ?? "";
  const count = (key) => Number(new RegExp(`\\b${key}="(\\d+)"`).exec(counters)?.[1] ?? 0);
  if (count("executed") === 0) {
    console.log(`${name}: ran no test`);
    bad = true;
  }
  total.passed += count("passed");
  total.failed += count("total") - count("passed") - (count("total") - count("executed"));
  total.skipped += count("total") - count("executed");
}
if (total.passed === 0 || total.failed > 0) bad = true;
console.log(`${total.passed} passed, ${total.failed} failed, ${total.skipped} skipped`);
process.exit(bad ? 1 : 0);
