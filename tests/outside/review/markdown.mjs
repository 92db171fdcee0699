// The Markdown before the CommonMark reference implementation: it must come out as what was meant.

import { Parser, HtmlRenderer } from "commonmark";

export function judgeMarkdown(text) {
  const faults = [];
  const tree = new Parser().parse(text);
  const count = { heading: 0, item: 0, code_block: 0, strong: 0, html: [] };
  const walker = tree.walker();
  for (let step = walker.next(); step; step = walker.next()) {
    const { type, literal } = step.node;
    if (!step.entering) continue;
    if (type === "html_block" || type === "html_inline") count.html.push(literal);
    else if (type in count) count[type] += 1;
    if (type === "code_block" && step.node.info !== "diff") faults.push(`a code block that is no diff: ${literal.slice(0, 60)}`);
  }
  const fences = text.split("\n").filter((line) => /^ *```+diff$/.test(line)).length;
  if (count.code_block !== fences) faults.push(`${fences} diffs were written and ${count.code_block} came out`);
  const entries = text.split("\n").filter((line) => line.startsWith("- **")).length;
  if (count.strong < entries) faults.push(`${entries} changes were written and ${count.strong} bold texts came out`);
  if (count.heading < 2) faults.push("there are no headings");
  const html = count.html.join("\n");
  const allowed = /^(<\/?details>|<summary>[^<>]*<\/summary>|\s)*$/;
  if (!allowed.test(html)) faults.push(`HTML that is no fold: ${html.replace(/<\/?details>|<summary>[^<>]*<\/summary>|\s/g, "").slice(0, 200)}`);
  const opened = (html.match(/<details>/g) ?? []).length;
  const closed = (html.match(/<\/details>/g) ?? []).length;
  if (opened !== closed) faults.push(`${opened} folds are opened and ${closed} closed`);
  const page = new HtmlRenderer({ safe: true }).render(tree);
  if (/\*\*|&lt;details|^#+ /m.test(page.replace(/<pre>[\s\S]*?<\/pre>/g, ""))) faults.push("marks of Markdown are left as text");
  return faults;
}
