// Time for what is estimated. It passes only when the controller says so, so that a minute's travel takes no minute.

export class Clock {
    now = 0;
    #due = new Set();

    /** Runs something when `delay` milliseconds have passed; the result is a function that calls it off. */
    after(delay, run) {
        const entry = { at: this.now + delay, run };
        this.#due.add(entry);
        return () => this.#due.delete(entry);
    }

    async pass(milliseconds) {
        const end = this.now + milliseconds;
        for (;;) {
            const [next] = [...this.#due].filter(e => e.at <= end).sort((a, b) => a.at - b.at);
            if (!next) break;
            this.#due.delete(next);
            this.now = next.at;
            await next.run();
        }
        this.now = end;
    }
}

/** Milliseconds in which an attribute runs through its whole range, where its position is estimated; else 0. */
export function fullTravelOf(definition, name) {
    const link = definition.links.find(l => `${l.cluster}.${l.attribute}` === name && l.timing?.fullTravel);
    return link?.timing.fullTravel ?? 0;
}

const TIMINGS = ["fullTravel", "afterTravel"];

/** Time parameters of a link that this consumer knows nothing of. */
export const unknownTimings = link => Object.keys(link.timing ?? {}).filter(name => !TIMINGS.includes(name));

/** The part of the whole range between two values; all of it from an unknown one. */
export function share(attribute, from, to) {
    const { min, max } = attribute.effectiveConstraint;
    const whole = typeof max === "number" ? max - (typeof min === "number" ? min : 0) : 10000;
    return from === null ? 1 : Math.abs(to - from) / whole;
}
