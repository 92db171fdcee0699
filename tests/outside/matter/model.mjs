// The data model as the stack's own package has it: look-up by id and name, and values from JSON to the stack and back.
//
// In JSON an attribute, field or event value is a truth value, number or text; a bitmap or enumeration is its number,
// a structure an object by the data model's names, a list an array. The stack wants camelCase names and bitmaps as
// objects. Names are exact: an unknown one is an error.

import { Matter } from "@matter/main/model";

const clusters = new Map([...Matter.clusters].filter(c => c.id !== undefined).map(c => [c.id, c]));
const deviceTypes = new Map([...Matter.deviceTypes].filter(d => d.id !== undefined).map(d => [d.id, d]));

export const GLOBAL = {
    ClusterRevision: 0xfffd,
    FeatureMap: 0xfffc,
    AttributeList: 0xfffb,
    AcceptedCommandList: 0xfff9,
    GeneratedCommandList: 0xfff8,
};
export const isGlobal = id => id >= 0xfff0;
export const hex = (id, width = 4) => `0x${id.toString(16).toUpperCase().padStart(width, "0")}`;

export function clusterById(id) {
    return clusters.get(id) ?? unknown(`cluster ${hex(id)}`);
}

export const isDeviceType = id => deviceTypes.has(id);

export function deviceTypeById(id) {
    return deviceTypes.get(id) ?? unknown(`device type ${hex(id)}`);
}

export const BRIDGED_INFO = 0x39;

/** A definition with NodeLabel and UniqueID, which stand once, in the endpoint, among the attributes that show them. */
export function completed(definition) {
    const withIdentity = ({ nodeLabel, uniqueId }, attributes) => {
        const identity = { NodeLabel: nodeLabel, UniqueId: uniqueId };
        for (const name of Object.keys(identity)) if (identity[name] === undefined) delete identity[name];
        return { ...attributes, ...identity };
    };
    const endpoints = definition.endpoints.map(endpoint => ({
        ...endpoint,
        clusters: endpoint.clusters.map(cluster =>
            cluster.id === BRIDGED_INFO
                ? { ...cluster, attributes: withIdentity(endpoint, cluster.attributes) }
                : cluster,
        ),
    }));
    return { ...definition, endpoints };
}

/** An attribute, command (request) or event of a cluster by its exact name. */
export function element(cluster, kind, name) {
    const all = [...cluster[`${kind}s`]].filter(e => e.name === name && (kind !== "command" || e.isRequest));
    return all[0] ?? unknown(`${kind} ${cluster.name}.${name}`);
}

/** The same element where one name stands for several, by features: those of `supported` first. */
export function attributeById(cluster, id, supported) {
    const all = [...cluster.attributes].filter(a => a.id === id);
    const context = featureContext(cluster, supported);
    return all.find(a => applicability(a.effectiveConformance, context) > 0) ?? all[0];
}

function unknown(what) {
    throw new Error(`the data model knows no ${what}`);
}

export function featureContext(cluster, supported) {
    return { definedFeatures: new Set(cluster.features.map(f => f.name)), supportedFeatures: new Set(supported) };
}

/** 0 none, 1 optional, 2 depends on other elements, 3 mandatory; undefined where the conformance is told in prose. */
export function applicability(conformance, context) {
    try {
        return conformance.applicabilityFor(context);
    } catch {
        return undefined;
    }
}

const camel = name => name[0].toLowerCase() + name.slice(1);

/** Codes of the features that a FeatureMap names, as the stack gives it. */
export function featuresOf(cluster, map) {
    const on = f =>
        typeof map === "number" ? Math.floor(map / 2 ** f.constraint.value) % 2 === 1 : map[camel(f.title ?? f.name)];
    return cluster.features.filter(on).map(f => f.name);
}

export const methodOf = element => element.propertyName ?? camel(element.name);

// The data model counts seconds from 2000, the stack from 1970.
const SECONDS_TO_2000 = 946_684_800;
const isTime = model => model.effectiveType === "epoch-s";

/** A JSON value as the stack wants it. */
export function toStack(model, value) {
    if (value === null || value === undefined) return value;
    if (isTime(model)) return value + SECONDS_TO_2000;
    switch (model.effectiveMetatype) {
        case "bitmap":
            return typeof value === "number" ? bitsApart(model, value) : mismatch(model, "number", value);
        case "object":
            return mapFields(model, value, "name", "propertyName", toStack);
        case "array":
            return Array.isArray(value) ? value.map(v => toStack(model.listEntry, v)) : mismatch(model, "list", value);
        case "bytes":
            return Uint8Array.from(Buffer.from(value, "hex"));
        default:
            return value;
    }
}

/** What the stack gave as a JSON value. */
export function fromStack(model, value) {
    if (value === null || value === undefined) return value;
    if (isTime(model)) return Number(value) - SECONDS_TO_2000;
    switch (model.effectiveMetatype) {
        case "bitmap":
            return typeof value === "object" ? bitsTogether(model, value) : Number(value);
        case "object":
            return mapFields(model, value, "propertyName", "name", fromStack);
        case "array":
            return [...value].map(v => fromStack(model.listEntry, v));
        case "bytes":
            return Buffer.from(value).toString("hex");
        default:
            return typeof value === "bigint" ? Number(value) : value;
    }
}

// A bitmap's fields: one bit each, or a range of bits that is a number.
function bitFields(model) {
    return [...model.members].map(({ propertyName: name, constraint: { value, min, max } }) =>
        typeof value === "number" ? { name, low: value, size: 1, flag: true } : { name, low: min, size: max - min + 1 },
    );
}

function bitsApart(model, value) {
    const result = {};
    let rest = value;
    for (const { name, low, size, flag } of bitFields(model)) {
        const part = Math.floor(value / 2 ** low) % 2 ** size;
        rest -= part * 2 ** low;
        result[name] = flag ? part === 1 : part;
    }
    return rest === 0 ? result : unknown(`bits ${hex(rest)} of ${model.name}`);
}

function bitsTogether(model, value) {
    return bitFields(model).reduce((sum, { name, low }) => sum + Number(value[name] ?? 0) * 2 ** low, 0);
}

function mapFields(model, value, from, to, convert) {
    if (typeof value !== "object" || Array.isArray(value)) mismatch(model, "structure", value);
    const result = {};
    for (const [name, v] of Object.entries(value)) {
        if (v === undefined) continue;
        const member = [...model.members].find(m => m[from] === name);
        // The stack adds the fabric index to fabric-scoped structures.
        if (!member && from === "propertyName") continue;
        if (!member) unknown(`field ${model.name}.${name}`);
        result[member[to]] = convert(member, v);
    }
    return result;
}

function mismatch(model, expected, value) {
    throw new Error(`${model.name} wants a ${expected}, found ${JSON.stringify(value)}`);
}

/** Whether two JSON values are the same attribute value; single floats are compared as such. */
export function same(a, b) {
    if (typeof a === "number" && typeof b === "number") return a === b || Math.fround(a) === Math.fround(b);
    if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return a === b;
    const names = new Set([...Object.keys(a), ...Object.keys(b)]);
    return Array.isArray(a) === Array.isArray(b) && [...names].every(n => same(a[n], b[n]));
}
