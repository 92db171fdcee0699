// Cluster servers with exactly the features, attributes and commands that a bridge JSON names.
//
// The stack's ready-made servers have minds of their own (transitions, movement, defaults), so they serve only what a
// gateway keeps for itself: descriptor, identify, groups, scenes, labels. All others are bare servers whose state is
// what the JSON says and whose commands do nothing but call `commanded`.

import { ClusterBehavior } from "@matter/main";
import * as ready from "@matter/main/behaviors";
import { ClusterType } from "@matter/main/types";
import { clusterById, element, methodOf, toStack } from "./model.mjs";

const READY = new Map(
    Object.entries(ready)
        .filter(([name, server]) => name.endsWith("Server") && server.cluster?.id !== undefined)
        .map(([, server]) => [server.cluster.id, server]),
);
const OWN = new Set(["Descriptor", "Identify", "Groups", "ScenesManagement", "FixedLabel", "UserLabel", "Binding"]);

/** Clusters whose state beyond the JSON is the gateway's own affair. */
export const isGatewaysOwn = id => OWN.has(clusterById(id).name);

// First state of a cluster as the JSON has it; unknown names of features and attributes are errors.
function stateOf(model, cluster) {
    for (const code of cluster.features)
        if (!model.features.some(f => f.name === code)) throw new Error(`${model.name} has no feature ${code}`);
    return Object.fromEntries(
        Object.entries(cluster.attributes).map(([name, value]) => {
            const attribute = element(model, "attribute", name);
            return [methodOf(attribute), toStack(attribute, value)];
        }),
    );
}

/** The stack's ready-made server for a cluster of the JSON, and its first state. */
export function readyServerFor(cluster) {
    const model = clusterById(cluster.id);
    const server = READY.get(cluster.id);
    if (!server) throw new Error(`the stack has no server for ${model.name}`);
    return { type: server.with(...cluster.features), state: stateOf(model, cluster) };
}

/**
 * A server for one cluster of the JSON and its first state. `links` are the endpoint's links; `commanded(agent, cluster,
 * command, fields)` and `written(cluster, attribute, value)` are called with elements of the data model.
 */
export function serverFor(cluster, links, { commanded, written }) {
    const model = clusterById(cluster.id);
    const state = stateOf(model, cluster);
    const commands = cluster.commands.map(name => element(model, "command", name));
    const ours = links.filter(link => link.cluster === model.name);
    const events = ours.filter(link => link.event).map(link => element(model, "event", link.event));
    const attributes = ours
        .filter(link => link.direction === "to-bus" && link.attribute)
        .map(link => element(model, "attribute", link.attribute));

    if (OWN.has(model.name)) return readyServerFor(cluster);
    const bare = ClusterBehavior.for(ClusterType(model))
        .with(...cluster.features)
        .enable({ events: Object.fromEntries(events.map(e => [methodOf(e), true])) });
    class Server extends bare {
        initialize() {
            for (const attribute of new Set(attributes))
                this.reactTo(this.events[`${methodOf(attribute)}$Changed`], (value, _, context) => {
                    if (!context.offline) return written(model, attribute, value);
                });
        }
    }
    for (const command of commands)
        Server.prototype[methodOf(command)] = async function (fields) {
            await commanded(this.agent, model, command, fields ?? {});
            return response(model, command);
        };
    return { type: Server, state };
}

// A response that says "done", where the command has one: zero, empty or null in every field.
function response(model, command) {
    const answer = [...model.commands].find(c => !c.isRequest && c.name === command.effectiveResponse);
    if (!answer) return undefined;
    const nothing = { boolean: false, string: "", array: [], bitmap: {}, object: {} };
    return Object.fromEntries(
        [...answer.members]
            .filter(m => m.mandatory)
            .map(m => [methodOf(m), m.nullable ? null : (nothing[m.effectiveMetatype] ?? 0)]),
    );
}
