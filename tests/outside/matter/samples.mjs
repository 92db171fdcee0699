// Checks the interpreter against the samples that every interpreter of conversions must pass.
// Usage: node samples.mjs tests/outside/conversion-steps.json

import { readFileSync } from "node:fs";
import { ConversionError, convert } from "./interpreter.mjs";

const { tolerance, samples } = JSON.parse(readFileSync(process.argv[2], "utf8"));

function close(a, b) {
    if (typeof a === "number" && typeof b === "number") return Math.abs(a - b) <= tolerance * Math.max(1, Math.abs(b));
    if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return a === b;
    const names = new Set([...Object.keys(a), ...Object.keys(b)]);
    return Array.isArray(a) === Array.isArray(b) && [...names].every(name => close(a[name], b[name]));
}

// The result of a sample in the form in which the file gives what is wanted.
function outcome({ steps, input, attributes = {} }) {
    try {
        return { output: convert(steps, input, name => attributes[name]) };
    } catch (error) {
        if (!(error instanceof ConversionError)) throw error;
        return { error: { code: error.code, step: error.step } };
    }
}

const failed = samples.filter(sample => {
    const wanted = "error" in sample ? { error: sample.error } : { output: sample.output };
    const found = outcome(sample);
    if (close(found, wanted)) return false;
    console.log(`FAIL conversion: ${sample.name}: ${JSON.stringify(found)}, wanted ${JSON.stringify(wanted)}`);
    return true;
});
console.log(
    `${failed.length ? "FAIL" : "ok  "} conversions: ${samples.length - failed.length} of ${samples.length} samples`,
);
process.exit(failed.length ? 1 : 0);
