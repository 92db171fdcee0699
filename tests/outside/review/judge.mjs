// Judges every *.html and *.md of a folder; pictures of the pages are put beside them.

import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { browse } from "./browse.mjs";
import { judgeMarkdown } from "./markdown.mjs";
import { judgeSource } from "./source.mjs";

const folder = process.argv[2];
let passed = 0;
let failed = 0;
const say = (what, faults) => {
  console.log(`${faults.length === 0 ? "ok" : "FAILED"}: ${what}`);
  faults.forEach((fault) => console.log(`    ${fault}`));
  faults.length === 0 ? (passed += 1) : (failed += 1);
};

for (const name of readdirSync(folder).sort()) {
  const path = join(folder, name);
  if (name.endsWith(".md")) say(`${name} is CommonMark`, judgeMarkdown(readFileSync(path, "utf8")));
  if (name.endsWith(".html")) {
    say(`${name} is valid HTML`, await judgeSource(readFileSync(path, "utf8")));
    await browse(path, say);
  }
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 && passed > 0 ? 0 : 1);
