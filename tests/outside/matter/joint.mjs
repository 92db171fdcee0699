// Attributes that several points tell of: what each of them gave last is put together, as a link's `joint` says.

import { equal } from "./interpreter.mjs";

/** Whether this consumer knows how the attribute comes from several points. */
export const isKnown = ({ joint }) => !joint || joint === "bits" || Array.isArray(joint["first-of"]);

export class Memory {
    #told = new Map(); // by endpoint, attribute and `joint`: what each point gave last

    #points(definition, link) {
        const key = JSON.stringify([definition.number, link.cluster, link.attribute, link.joint]);
        if (!this.#told.has(key)) this.#told.set(key, new Map());
        return this.#told.get(key);
    }

    /** A link gave a value: what the attribute is now, or null if none of it counts: it is null then if it may be, else it stays. */
    heard(definition, link, result) {
        if (!isKnown(link)) throw new Error(`joint ${JSON.stringify(link.joint)} is unknown`);
        const points = this.#points(definition, link);
        if (result !== null) points.set(link.point, result);
        const all = [...points.values()];
        if (link.joint === "bits") return all.reduce((bits, one) => bits | one, 0);
        const ranked = link.joint["first-of"];
        return ranked.find(value => all.some(one => equal(one, value))) ?? null;
    }
}
