// The page's text before html-validate, with its recommended and accessibility rules.

import { HtmlValidate } from "html-validate";

export async function judgeSource(html) {
  const validator = new HtmlValidate({
    extends: ["html-validate:recommended", "html-validate:a11y"],
    rules: {
      // The standard's rule, not the stricter one of style.
      "long-title": "off",
    },
  });
  const report = await validator.validateString(html);
  return report.results.flatMap((result) =>
    result.messages.map((one) => `${one.line}:${one.column} ${one.ruleId}: ${one.message}`));
}
