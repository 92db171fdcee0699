// Checks what was read from a bridge against the data model: what the stack lets pass when an endpoint is built.
//
// Device types: revision, clusters, features, attributes, commands and events that they demand or forbid, component
// types. Clusters: choice of features, conformance and constraint of each attribute and command. Bridge: Bridged Node,
// UniqueID, tags of like siblings. Conformance and constraints are evaluated by the model's own package. What the
// standard says in prose only is in prose.mjs.

import { Matter } from "@matter/main/model";
import {
    BRIDGED_INFO,
    GLOBAL,
    applicability,
    attributeById,
    clusterById,
    deviceTypeById,
    featureContext,
    hex,
    isDeviceType,
    isGlobal,
    methodOf,
} from "./model.mjs";
import { proseProblems } from "./prose.mjs";

const [NONE, MANDATORY] = [0, 3];
const DESCRIPTOR = 0x1d;
const BRIDGED_NODE = 0x13;
const TAG_LIST = 4;
const normal = name => name.replace(/[^A-Za-z0-9]/g, "").toUpperCase();

/** Problems by endpoint number, of every endpoint below the root. */
export function conformanceProblems(values) {
    const problems = {};
    for (const number of Object.keys(values)
        .map(Number)
        .filter(n => n > 0)) {
        const list = (problems[number] = []);
        const note = text => list.push(text);
        const endpoint = values[number];
        for (const type of endpoint[DESCRIPTOR][0]) {
            if (isDeviceType(type.DeviceType)) checkDeviceType(note, type, endpoint, values);
            else note(`the data model knows no device type ${hex(type.DeviceType)}`);
        }
        for (const id of endpoint[DESCRIPTOR][1]) {
            if (endpoint[id]) checkCluster(note, clusterById(id), endpoint[id]);
            else note(`cluster ${hex(id)} is listed and was not read`);
        }
        for (const part of endpoint[DESCRIPTOR][3])
            if (!values[part]) note(`PartsList names endpoint ${part}, which is not there`);
        checkTags(note, number, endpoint, values);
    }
    checkBridged(problems, values);
    return problems;
}

// A device type's demands, its own and those of every endpoint (Base).
function checkDeviceType(note, { DeviceType, Revision }, endpoint, values) {
    const type = deviceTypeById(DeviceType);
    if (type.revision !== Revision) note(`${type.name} is at revision ${type.revision}, not ${Revision}`);
    const rows = [...Matter.deviceTypes("Base").children, ...type.children].filter(r => r.tag === "requirement");
    const must = conformance =>
        conformance.isMandatory || Number(/^Rev >= v(\d+)/.exec(conformance)?.[1] ?? Infinity) <= Revision;
    const choices = new Choices();
    for (const row of rows.filter(r => r.element === "serverCluster")) {
        const present = endpoint[DESCRIPTOR][1].includes(row.id);
        choices.add(row.conformance, row.name, present);
        if (must(row.conformance) && !present) note(`${type.name} needs cluster ${row.name}`);
        if (row.conformance.isDisallowed && present) note(`${type.name} forbids cluster ${row.name}`);
        if (present && endpoint[row.id])
            for (const inner of row.children.filter(r => r.tag === "requirement"))
                checkRequirement(note, type, must, clusterById(row.id), inner, endpoint[row.id]);
    }
    choices.report(text => note(`${type.name}: ${text}`));
    for (const row of rows.filter(r => r.element === "deviceType" && r.id !== undefined && must(r.conformance))) {
        const parts = [endpoint, ...endpoint[DESCRIPTOR][3].map(n => values[n])];
        if (!parts.some(p => p?.[DESCRIPTOR][0].some(t => t.DeviceType === row.id)))
            note(`${type.name} needs device type ${row.name} on itself or a part`);
    }
}

// One feature, attribute, command or event that a device type demands, forbids or narrows.
function checkRequirement(note, type, must, cluster, row, read) {
    const features = read[GLOBAL.FeatureMap];
    const here = `${type.name} CHANGES ${cluster.name} ${row.element} ${row.name}`;
    const say = verb => note(here.replace("CHANGES", verb));
    let present;
    if (row.element === "feature") {
        const feature = cluster.features.find(f =>
            [f.name, f.title ?? f.name].some(n => normal(n) === normal(row.name)),
        );
        present = features.includes(feature?.name);
    } else if (row.element === "attribute") {
        const attribute = [...cluster.attributes].find(a => a.name === row.name);
        present = read[GLOBAL.AttributeList].includes(attribute?.id);
        const value = read[attribute?.id];
        if (present && value !== null && !row.constraint.isEmpty && !fits(row.constraint, value, cluster, read))
            note(`${type.name} wants ${cluster.name}.${row.name} in ${row.constraint}, it is ${JSON.stringify(value)}`);
    } else if (row.element === "command") {
        present = read[GLOBAL.AcceptedCommandList].includes([...cluster.commands].find(c => c.name === row.name)?.id);
    } else if (row.element === "event") {
        // Events are listed nowhere: ask whether the features allow this one.
        const event = [...cluster.events].find(e => e.name === row.name);
        present = applicability(event.effectiveConformance, featureContext(cluster, features)) !== NONE;
    } else return;
    if (must(row.conformance) && !present) say("needs");
    if (row.conformance.isDisallowed && present) say("forbids");
}

// Choice groups such as O.a+: how many of each group are there.
class Choices {
    #groups = new Map();

    add(conformance, name, present) {
        const last = String(conformance).split(",").pop().trim();
        const [, letter, more] = /\.([a-z])(\+?)$/.exec(last) ?? [];
        if (!letter || last.startsWith("[")) return;
        const group = this.#groups.get(letter) ?? { names: [], count: 0, more: Boolean(more) };
        group.names.push(name);
        group.count += present ? 1 : 0;
        this.#groups.set(letter, group);
    }

    report(note) {
        for (const { names, count, more } of this.#groups.values())
            if (count < 1 || (count > 1 && !more))
                note(`${more ? "at least one" : "exactly one"} of ${names.join(", ")} is needed, there are ${count}`);
    }
}

function checkCluster(note, cluster, read) {
    const features = read[GLOBAL.FeatureMap];
    const context = featureContext(cluster, features);
    const choices = new Choices();
    for (const feature of cluster.features) {
        const present = features.includes(feature.name);
        const applies = applicability(feature.effectiveConformance, context);
        choices.add(feature.conformance, feature.name, present);
        if (applies === NONE && present)
            note(`${cluster.name} feature ${feature.name} is not allowed here: ${feature.conformance}`);
        if (applies === MANDATORY && !present)
            note(`${cluster.name} feature ${feature.name} is mandatory: ${feature.conformance}`);
    }
    choices.report(text => note(`${cluster.name} features: ${text}`));
    checkElements(
        note,
        cluster,
        context,
        "attribute",
        [...cluster.attributes].filter(a => !isGlobal(a.id)),
        read[GLOBAL.AttributeList],
    );
    checkElements(
        note,
        cluster,
        context,
        "command",
        [...cluster.commands].filter(c => c.isRequest),
        read[GLOBAL.AcceptedCommandList],
    );
    for (const [id, value] of Object.entries(read).filter(([id]) => !isGlobal(id))) {
        const attribute = attributeById(cluster, Number(id), features);
        if (!attribute) continue;
        if (value !== null && !fits(attribute.effectiveConstraint, value, cluster, read))
            note(
                `${cluster.name}.${attribute.name} is ${JSON.stringify(value)}, wanted ${attribute.effectiveConstraint}`,
            );
    }
    const byName = name => read[[...cluster.attributes].find(a => a.name === name)?.id];
    for (const text of proseProblems(cluster.name, features, byName)) note(`${cluster.name}: ${text}`);
}

// An element may stand in the model several times, once for each set of features.
function checkElements(note, cluster, context, kind, elements, listed) {
    for (const id of new Set(elements.map(e => e.id))) {
        const all = elements.filter(e => e.id === id);
        const applies = Math.max(...all.map(e => applicability(e.effectiveConformance, context) ?? 1));
        const [{ name, effectiveConformance: conformance }] = all;
        if (applies === MANDATORY && !listed.includes(id))
            note(`${cluster.name} ${kind} ${name} is mandatory (${conformance}) and absent`);
        if (applies === NONE && listed.includes(id))
            note(`${cluster.name} ${kind} ${name} is not allowed here (${conformance})`);
    }
}

// Whether a value meets a constraint; attributes that are absent count with the model's default.
function fits(constraint, value, cluster, read) {
    const resolve = name => {
        const attribute = [...cluster.attributes].find(a => methodOf(a) === name);
        return (
            attribute && (read[attribute.id] ?? (typeof attribute.default === "number" ? attribute.default : undefined))
        );
    };
    const size = typeof value === "string" ? Buffer.byteLength(value) : Array.isArray(value) ? value.length : value;
    return constraint.isEmpty || constraint.test(size, resolve);
}

// Like siblings below one composed device must be told apart by tags; bridged devices have their own NodeLabel.
function checkTags(note, number, endpoint, values) {
    const siblings = endpoint[DESCRIPTOR][3].map(n => values[n]).filter(Boolean);
    if (number === 1) return;
    for (const sibling of siblings) {
        const types = e => e[DESCRIPTOR][0].map(t => t.DeviceType).join();
        const tags = e => JSON.stringify(e[DESCRIPTOR][TAG_LIST] ?? []);
        const like = siblings.filter(other => types(other) === types(sibling));
        if (like.length > 1 && !sibling[DESCRIPTOR][GLOBAL.FeatureMap].includes("TAGLIST"))
            note("like parts without TagList");
        else if (like.some(other => other !== sibling && tags(other) === tags(sibling)))
            note("like parts with the same TagList");
    }
}

// Endpoints right below the aggregator are bridged nodes with a UniqueID of their own; their parts are not.
function checkBridged(problems, values) {
    const all = Object.entries(values).filter(([n]) => Number(n) > 1);
    const parts = new Set(all.flatMap(([, e]) => e[DESCRIPTOR][3]));
    const holders = new Map();
    for (const [number, endpoint] of all) {
        const note = text => problems[number].push(text);
        const bridged = endpoint[DESCRIPTOR][0].some(t => t.DeviceType === BRIDGED_NODE);
        const top = !parts.has(Number(number));
        if (bridged !== top) note(top ? "not a Bridged Node" : "a part of a composed device is a Bridged Node");
        if (endpoint[DESCRIPTOR][0].every(t => t.DeviceType === BRIDGED_NODE) && endpoint[DESCRIPTOR][3].length === 0)
            note("a Bridged Node with no device type besides");
        const unique = endpoint[BRIDGED_INFO]?.[0x12];
        if (!endpoint[BRIDGED_INFO]) continue;
        if (!top) note("BridgedDeviceBasicInformation on a part of a composed device");
        if (!unique) note("no UniqueID");
        if (holders.has(unique)) note(`UniqueID ${unique} is also that of endpoint ${holders.get(unique)}`);
        holders.set(unique, number);
    }
}
