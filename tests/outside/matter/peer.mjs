// The controller's view of a commissioned bridge: reads, writes, commands and events, in JSON by the data model's ids
// and names. What was read stands in `values`: endpoint number -> cluster id -> attribute id -> JSON value.

import { ControllerBehavior, Seconds, ServerNode } from "@matter/main";
import { Invoke, Read, Write } from "@matter/main/protocol";
import { ClusterType } from "@matter/main/types";
import {
    GLOBAL,
    attributeById,
    clusterById,
    element,
    featuresOf,
    fromStack,
    isGlobal,
    methodOf,
    toStack,
} from "./model.mjs";

export async function startController() {
    const node = await ServerNode.create(ServerNode.RootEndpoint.with(ControllerBehavior), {
        id: "controller",
        network: { port: 5570 },
        commissioning: { enabled: false },
        controller: { adminFabricLabel: "judge" },
    });
    await node.start();
    return node;
}

export class Peer {
    values = {};
    #lastEvents = new Map();

    static async commission(controller, { passcode, discriminator }) {
        const peer = new Peer();
        peer.node = await controller.peers.commission({
            passcode,
            discriminator,
            timeout: Seconds(60),
            autoSubscribe: false,
        });
        return peer;
    }

    /** Reads the paths (everything without one) into `values`. */
    async read(attributes = [{}]) {
        const problems = [];
        const request = { ...Read({ attributes, fabricFilter: true }), includeKnownVersions: true };
        const touched = new Map();
        for await (const chunk of this.node.interaction.read(request)) {
            for await (const report of chunk) {
                const { endpointId, clusterId, attributeId } = report.path;
                if (report.kind === "attr-value") {
                    const place = ((this.values[endpointId] ??= {})[clusterId] ??= {});
                    place[attributeId] = report.value;
                    touched.set(place, [...(touched.get(place) ?? [clusterId]), attributeId]);
                } else if (report.kind === "attr-status") {
                    problems.push(
                        `endpoint ${endpointId}: reading ${clusterId}/${attributeId} gives status ${report.status}`,
                    );
                }
            }
        }
        for (const [place, [clusterId, ...ids]] of touched) toJson(place, clusterById(clusterId), ids);
        return problems;
    }

    /** Value of an attribute by names, from what was read last; undefined if it is not there. */
    value(endpoint, cluster, name) {
        const attribute = [...cluster.attributes].find(a => a.name === name);
        return attribute && this.values[endpoint]?.[cluster.id]?.[attribute.id];
    }

    /** Invokes a command; gives the status, 0 for success or a response. */
    async invoke(endpoint, cluster, command, fields) {
        const request = {
            endpoint,
            cluster: ClusterType(cluster),
            command: methodOf(command),
            fields: toStack(command, fields),
        };
        if (command.members.length === 0) delete request.fields;
        for await (const chunk of this.node.interaction.invoke(Invoke(request)))
            for (const result of chunk) return result.kind === "cmd-status" ? result.status : 0;
        return 0;
    }

    async write(endpoint, cluster, attribute, value) {
        const request = Write(
            Write.Attribute({
                endpoint,
                cluster: ClusterType(cluster),
                attributes: methodOf(attribute),
                value: toStack(attribute, value),
            }),
        );
        const results = await this.node.interaction.write(request);
        return results.find(r => r.status !== 0)?.status ?? 0;
    }

    /** Events of one kind that were raised since the last call, as fields by name. */
    async events(endpoint, cluster, event) {
        const key = `${endpoint} ${cluster.id} ${event.id}`;
        let last = this.#lastEvents.get(key) ?? -1n;
        const request = Read({
            events: [{ endpointId: endpoint, clusterId: cluster.id, eventId: event.id }],
            eventFilters: [{ eventMin: last + 1n }],
        });
        const raised = [];
        for await (const chunk of this.node.interaction.read(request))
            for await (const report of chunk) {
                if (report.kind !== "event-value") continue;
                if (report.number > last) last = report.number;
                raised.push(fromStack(event, report.value) ?? {});
            }
        this.#lastEvents.set(key, last);
        return raised;
    }

    async forget() {
        await this.node.delete();
    }
}

// In place, from the stack's form to JSON; lists of ids stay as they are.
function toJson(place, cluster, ids) {
    const map = place[GLOBAL.FeatureMap];
    const features = Array.isArray(map) ? map : map === undefined ? [] : featuresOf(cluster, map);
    for (const id of ids) {
        if (id === GLOBAL.FeatureMap) place[id] = features;
        else if (!isGlobal(id)) {
            const attribute = attributeById(cluster, id, features);
            place[id] = attribute ? fromStack(attribute, place[id]) : place[id];
        }
    }
}

/** Path of one cluster of an endpoint, or of one of its attributes. */
export const path = (endpoint, cluster, name) => ({
    endpointId: endpoint,
    clusterId: cluster.id,
    ...(name === undefined ? {} : { attributeId: element(cluster, "attribute", name).id }),
});
