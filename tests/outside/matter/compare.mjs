// Compares what a controller read with the bridge JSON: every name asked for with every name read, and the values.

import { Specification } from "@matter/main/model";
import { BRIDGED_INFO, GLOBAL, clusterById, deviceTypeById, hex, isGlobal, same } from "./model.mjs";
import { isGatewaysOwn } from "./servers.mjs";

const DESCRIPTOR = 0x1d;
const [DEVICE_TYPES, SERVERS, , PARTS] = [0, 1, 2, 3];

/** Problems of one endpoint: a list of sentences, empty if what was read is what the JSON says. */
export function compareEndpoint(definition, endpoints, values) {
    const read = values[definition.number];
    if (!read) return ["not among the endpoints read"];
    const problems = [];
    const descriptor = read[DESCRIPTOR];
    lists(problems, "device types", definition.deviceTypes.map(deviceTypeText), descriptor[DEVICE_TYPES].map(readType));
    const servers = new Set([DESCRIPTOR, ...definition.clusters.map(c => c.id)]);
    lists(
        problems,
        "servers",
        [...servers].map(n => hex(n)),
        descriptor[SERVERS].map(n => hex(n)),
    );
    lists(problems, "parts", below(definition.number, endpoints), descriptor[PARTS]);
    for (const type of definition.deviceTypes) {
        const { name } = deviceTypeById(type.id);
        if (name !== type.name) problems.push(`device type ${hex(type.id)} is ${name}, the JSON says ${type.name}`);
    }
    for (const cluster of definition.clusters) compareCluster(problems, cluster, read[cluster.id] ?? {});
    return problems;
}

/** Problems of a file as a whole, which is judged in batches. */
export function compareFile({ format, version, matter, endpoints }) {
    const problems = [];
    if (format !== "housewright-bridge" || version !== 1)
        problems.push(`format ${format} version ${version} is unknown to this judge`);
    if (
        matter?.specification !== Specification.REVISION ||
        matter.dataModelRevision !== Specification.DATA_MODEL_REVISION
    )
        problems.push(`written for Matter ${matter?.specification}, data model ${matter?.dataModelRevision}`);
    for (const { number, clusters } of endpoints) {
        const named = Object.keys(clusters.find(c => c.id === BRIDGED_INFO)?.attributes ?? {});
        for (const name of named.filter(n => n === "NodeLabel" || n === "UniqueId"))
            problems.push(`endpoint ${number} names ${name} in its cluster too`);
    }
    for (const name of ["number", "uniqueId", "key"]) {
        const seen = new Set();
        const twice = endpoints.map(e => e[name]).filter(value => seen.size === seen.add(value).size);
        if (twice.length) problems.push(`${name} given twice: ${twice.join(", ")}`);
    }
    return problems;
}

/** Problems of the bridge as a controller sees it. */
export function compareBridge(definition, values) {
    const problems = [];
    const numbers = definition.endpoints.map(e => e.number);
    lists(problems, "endpoints", [0, 1, ...numbers], Object.keys(values).map(Number));
    lists(problems, "parts of the aggregator", numbers, values[1]?.[DESCRIPTOR][PARTS] ?? []);
    const label = values[0]?.[0x28]?.[0x05];
    if (label !== definition.bridge.name) problems.push(`NodeLabel of the bridge is ${label}`);
    return problems;
}

const below = (number, endpoints) =>
    endpoints.filter(e => e.parent === number).flatMap(e => [e.number, ...below(e.number, endpoints)]);
const deviceTypeText = ({ id, revision }) => `${hex(id)} r${revision}`;
const readType = ({ DeviceType, Revision }) => `${hex(DeviceType)} r${Revision}`;

function compareCluster(problems, cluster, read) {
    const model = clusterById(cluster.id);
    const note = text => problems.push(`${model.name}: ${text}`);
    if (cluster.name !== model.name) note(`the JSON calls it ${cluster.name}`);
    if (cluster.revision !== read[GLOBAL.ClusterRevision])
        note(`revision ${read[GLOBAL.ClusterRevision]} read, ${cluster.revision} asked for`);
    const own = isGatewaysOwn(cluster.id);
    const inner = [];
    lists(inner, "features", cluster.features, read[GLOBAL.FeatureMap] ?? []);
    lists(
        inner,
        "attributes",
        Object.keys(cluster.attributes),
        names(model.attributes, read[GLOBAL.AttributeList], true),
        own,
    );
    lists(
        inner,
        "commands",
        cluster.commands,
        names(
            [...model.commands].filter(c => c.isRequest),
            read[GLOBAL.AcceptedCommandList],
        ),
        own,
    );
    inner.forEach(note);
    for (const [name, value] of Object.entries(cluster.attributes)) {
        const id = [...model.attributes].find(a => a.name === name)?.id;
        if (read[id] !== undefined && !same(read[id], value))
            note(`${name} is ${JSON.stringify(read[id])}, the JSON says ${JSON.stringify(value)}`);
    }
}

function names(elements, ids = [], skipGlobal = false) {
    const all = [...elements];
    return ids.filter(id => !skipGlobal || !isGlobal(id)).map(id => all.find(e => e.id === id)?.name ?? hex(id));
}

// `more`: what was read may hold more than what was asked for.
function lists(problems, what, asked, read, more = false) {
    const missing = asked.filter(x => !read.includes(x));
    const strange = more ? [] : read.filter(x => !asked.includes(x));
    if (missing.length) problems.push(`${what} asked for and not read: ${missing.join(", ")}`);
    if (strange.length) problems.push(`${what} read and not asked for: ${strange.join(", ")}`);
    if (new Set(asked).size !== asked.length) problems.push(`${what} named twice: ${asked.join(", ")}`);
}
