// What is tried of an endpoint one by one: an address with all its links, a command with all its links, a written
// attribute with all of its.
//
// A unit's `key` says all that its trial depends on: its links, the other links that set or look at the same attributes
// or belong to the same point, the features of their clusters, and the first values of those attributes; addresses by the
// order in which they come. Two endpoints with the same key would be tried in just the same way.

import { askedBy, candidates, confirmedBy, isKept, samplesOf } from "./commands.mjs";
import { samples } from "./knx.mjs";
import { applicability, clusterById, element, featureContext } from "./model.mjs";
import { COLOURS, MODES } from "./modes.mjs";

export const attributeOf = link => `${link.cluster}.${link.attribute}`;
// What the gateway sets with it.
const FOLLOWERS = {
    "ClosureControl.MainState": ["ClosureControl.CurrentErrorList"],
    ...Object.fromEntries(COLOURS.map(name => [name, MODES])),
};
export const addressOf = link => `${link.bus} ${link.group}`;

/** The units of an endpoint: `kind` is `feed`, `command` or `write`, `reads` are the attributes that a trial looks at. */
export function unitsOf(definition) {
    const { links } = definition;
    const split = (kind, of, name) => [...groupBy(links.filter(of), name).values()].map(links => ({ kind, links }));
    return [
        ...split("feed", l => l.direction === "from-bus", addressOf),
        ...split(
            "command",
            l => l.direction === "to-bus" && l.command,
            l => `${l.cluster}.${l.command}`,
        ),
        ...split("write", l => l.direction === "to-bus" && l.attribute, attributeOf),
    ].map(unit => surrounded(definition, unit));
}

export function groupBy(list, key) {
    const groups = new Map();
    for (const item of list) {
        if (groups.has(key(item))) groups.get(key(item)).push(item);
        else groups.set(key(item), [item]);
    }
    return groups;
}

function surrounded(definition, { kind, links }) {
    const reads = new Set(links.flatMap(lookedAt));
    const first = name => {
        reads.add(name);
        const [cluster, attribute] = name.split(".");
        return definition.clusters.find(c => c.name === cluster)?.attributes[attribute];
    };
    const [{ cluster: name, command, attribute }] = links;
    const features = definition.clusters.find(c => c.name === name)?.features ?? [];
    const points = new Set(links.map(l => l.point));
    const related = () => definition.links.filter(l => points.has(l.point) || lookedAt(l).some(n => reads.has(n)));
    try {
        const cluster = clusterById(definition.clusters.find(c => c.name === name).id);
        if (kind === "command") touchedBy(definition, name, element(cluster, "command", command), first, features);
        if (kind === "write") writable(cluster, element(cluster, "attribute", attribute), features, first);
    } catch {
        // A name that does not exist: the trial will say so.
    }
    related().flatMap(lookedAt).forEach(first);
    const others = related();
    const clusters = new Set([...reads].map(n => n.split(".")[0]));
    const addresses = new Map();
    const plain = ({ bus, group, ...link }) => {
        const address = addressOf({ bus, group });
        if (!addresses.has(address)) addresses.set(address, addresses.size);
        return { ...link, address: addresses.get(address) };
    };
    const key = JSON.stringify([
        kind,
        links.map(plain),
        others.map(plain),
        definition.clusters.filter(c => clusters.has(c.name)).map(({ id, features, commands }) => [id, features, commands]),
        [...reads].sort().map(n => [n, first(n)]),
    ]);
    return { kind, links, reads: [...reads], key };
}

// `Cluster.Attribute` of all that a link sets or its conversion looks at.
function lookedAt(link) {
    const names = link.attribute ? [attributeOf(link), ...(FOLLOWERS[attributeOf(link)] ?? [])] : [];
    const search = node => {
        if (typeof node !== "object" || node === null) return;
        for (const [key, value] of Object.entries(node)) {
            if (key === "attribute" && typeof value === "string") names.push(value);
            else search(value);
        }
    };
    search(link.conversion);
    return names;
}

const MOST_TURNED = 7;
const has = (mask, bit) => Math.floor(mask / 2 ** bit) % 2 === 1;

/**
 * Every combination of the two ends of the addresses that set what these links look at, as pairs of a link and a payload, one
 * address turned at a time: a link may want several of them at once.
 */
export function turns(definition, links) {
    const wanted = new Set(links.flatMap(lookedAt));
    const heard = definition.links.filter(l => l.direction === "from-bus" && wanted.has(attributeOf(l)));
    const all = [...groupBy(heard, addressOf).values()].map(([first]) => first).slice(0, MOST_TURNED);
    const ends = all.map(({ dpt }) => [samples(dpt)[0], samples(dpt).at(-1)]);
    const order = all.map((link, index) => [link, ends[index][0]]);
    const at = all.map(() => 0);
    for (let count = 1; count < 2 ** all.length; count++) {
        const index = all.findIndex((_, bit) => has(count, bit)); // the lowest bit that is set
        at[index] = 1 - at[index];
        order.push([all[index], ends[index][at[index]]]);
    }
    return order;
}

// Calls `first` for every attribute that a command looks at or changes.
function touchedBy(definition, cluster, command, first, features) {
    isKept(cluster, command.name, first);
    for (const fields of samplesOf(cluster, command, first, features)) {
        const whole = { ...Object.fromEntries([...command.members].map(m => [m.name, null])), ...fields };
        const names = [
            ...Object.keys(askedBy(definition, cluster, command.name, whole, first)),
            ...Object.keys(confirmedBy(cluster, command.name, whole, first)),
        ];
        names.forEach(first);
    }
}

/** Values that a controller may write to an attribute; `value(Cluster.Attribute)` is how the others stand. */
export function writable(cluster, attribute, features, value) {
    const now = name => value(`${cluster.name}.${name}`);
    if (attribute.effectiveMetatype === "enum") {
        const context = featureContext(cluster, features);
        return [...attribute.members]
            .filter(m => m.id !== undefined && applicability(m.conformance, context) > 0)
            .map(m => m.id);
    }
    const setpoint = /^Occupied(Heat|Cool)ingSetpoint$/.exec(attribute.name)?.[1];
    if (setpoint) {
        const [least, most] = setpoint === "Heat" ? [700, 3000] : [1600, 3200];
        const low = now(`Min${setpoint}SetpointLimit`) ?? now(`AbsMin${setpoint}SetpointLimit`) ?? least;
        const high = now(`Max${setpoint}SetpointLimit`) ?? now(`AbsMax${setpoint}SetpointLimit`) ?? most;
        return [low, high, 2150, now(attribute.name)];
    }
    return candidates(attribute, name => now(`${name[0].toUpperCase()}${name.slice(1)}`));
}
