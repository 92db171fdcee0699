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
    [ready.DescriptorServer, ready.IdentifyServer, ready.GroupsServer, ready.ScenesManagementServer, ready.FixedLabelServer, ready.UserLabelServer].map(
        server => [server.cluster.id, server],
    ),
);

/** Clusters whose state beyond the JSON is the gateway's own affair. */
export const isGatewaysOwn = id => READY.has(id);

/**
 * A server for one cluster of the JSON and its first state. `links` are the endpoint's links; `commanded(agent, cluster,
 * command, fields)` and `written(cluster, attribute, value)` are called with elements of the data model.
 */
export function serverFor(cluster, links, { commanded, written }) {
    const model = clusterById(cluster.id);
    for (const code of cluster.features)
        if (!model.features.some(f => f.name === code)) throw new Error(`${model.name} has no feature ${code}`);
    const state = {};
    for (const [name, value] of Object.entries(cluster.attributes)) {
        const attribute = element(model, "attribute", name);
        state[methodOf(attribute)] = toStack(attribute, value);
    }
    const commands = cluster.commands.map(name => element(model, "command", name));
    const ours = links.filter(link => link.cluster === model.name);
    const events = ours.filter(link => link.event).map(link => element(model, "event", link.event));
    const attributes = ours
        .filter(link => link.direction === "to-bus" && link.attribute)
        .map(link => element(model, "attribute", link.attribute));

    if (READY.has(cluster.id)) return { type: READY.get(cluster.id).with(...cluster.features), state };
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
        [...answer.members].filter(m => m.mandatory || m.conformance.isMandatory).map(m => [methodOf(m), m.nullable ? null : (nothing[m.effectiveMetatype] ?? 0)]),
    );
}
