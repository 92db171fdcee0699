// Tests of the judge itself: samples with one thing made wrong, which it must find fault with.
//
// A file in refused/ says of which sample (`of`), `why` it is wrong, a part of the sentence that must be `told`, and the
// `change`s: { set, value }, { remove } or { copy, to }, with places such as `endpoints/0/clusters/OnOff/attributes`.

import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";

export const readJson = file => JSON.parse(readFileSync(file, "utf8"));

// A place in a definition, written `endpoints/0/clusters/OnOff/attributes`: lists by index or by the members' names.
function place(root, path) {
    const keys = path.split("/");
    const last = keys.pop();
    const index = (list, key) =>
        Array.isArray(list) && !/^\d+$/.test(key) ? list.findIndex(m => m.name === key) : key;
    const holder = keys.reduce((node, key) => node[index(node, key)], root);
    return { holder, key: index(holder, last) };
}

/** The sample that the file starts from, with its changes made. */
export function spoil(file, { of, change }) {
    const definition = readJson(join(dirname(file), "..", "samples", `${of}.bridge.json`));
    for (const { set, value, remove, copy, to } of change) {
        const { holder, key } = place(definition, set ?? remove ?? to);
        if (copy) {
            const from = place(definition, copy);
            holder[key] = structuredClone(from.holder[from.key]);
        } else if (set && Array.isArray(holder) && key >= holder.length) holder.push(value);
        else if (set) holder[key] = value;
        else if (Array.isArray(holder)) holder.splice(key, 1);
        else delete holder[key];
    }
    return definition;
}

/** Prints whether the fault was found, and gives it. */
export function reportSpoiled(name, { why, told }, { problems }) {
    const all = Object.values(problems).flat();
    const found = all.some(text => text.includes(told));
    console.log(`${found ? "ok  " : "FAIL"} refused ${name}: ${why}`);
    if (!found) console.log(`       wanted "${told}", told ${all.length ? all.join("\n            ") : "nothing"}`);
    return found;
}
