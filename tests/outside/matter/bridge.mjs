// A bridge that stands for a house, from its bridge JSON alone. Usage: node bridge.mjs SOCKET
//
// Builds exactly the endpoints, device types, features, attributes and commands that the JSON names, and carries its
// links. The bus is simulated: telegrams to it go over the wire (see wire.mjs), telegrams from it come in there. The
// controller says which definition to open and on which port.

import { Endpoint, MutableEndpoint, ServerNode, VendorId } from "@matter/main";
import { AggregatorEndpoint } from "@matter/main/endpoints";
import { Status, StatusResponseError } from "@matter/main/types";
import { Clock, fullTravelOf, share } from "./clock.mjs";
import { askedBy, refusedBy } from "./commands.mjs";
import { convert } from "./interpreter.mjs";
import { decode, encode, NoValue } from "./knx.mjs";
import { BRIDGED_INFO, clusterById, completed, element, fromStack, methodOf, toStack } from "./model.mjs";
import { Memory } from "./joint.mjs";
import { COLOURS, COMMAND_COUNTS_FOR, followsTheWall, inOtherWays, MODES, modeTold, WHITE } from "./modes.mjs";
import { readyServerFor, serverFor } from "./servers.mjs";
import { listen } from "./wire.mjs";

// Clusters, as the JSON has them, that the stack's ready-made servers took: they need not be asked twice.
const accepted = new Set();

const ERROR = 3; // MainStateEnum
const MAINTENANCE_REQUIRED = 3; // ClosureErrorEnum

class Bridge {
    problems = [];
    #endpoints = new Map();
    #links = new Map();
    #clock = new Clock();
    #travels = new Map();
    #memory = new Memory();
    #coloured = new Map(); // by endpoint: when a command last asked for a colour
    #waiting = new Map(); // by endpoint and cluster: what calls off the telegrams that wait for the end of a travel

    constructor(definition, send) {
        this.definition = completed(definition);
        this.send = send;
    }

    /** Brings the node up; gives the endpoints that the stack refused, each with its reasons. */
    async open(options) {
        const refused = await this.build(options);
        await this.node.start();
        return { refused };
    }

    /** Makes the node and its endpoints; gives those refused. With `ready`, of the stack's ready-made servers. */
    async build({ port, passcode, discriminator, ready = false }) {
        const { house, bridge, endpoints } = this.definition;
        this.node = await ServerNode.create({
            id: `bridge-${port}${ready ? "-ready" : ""}`,
            network: { port },
            commissioning: { passcode, discriminator },
            productDescription: { name: "Judged bridge", deviceType: AggregatorEndpoint.deviceType },
            basicInformation: {
                vendorId: VendorId(0xfff1),
                vendorName: "Judge",
                productId: 0x8001,
                productName: "Judged bridge",
                nodeLabel: bridge.name,
                uniqueId: house.id.slice(0, 32),
            },
        });
        this.#endpoints.set(1, new Endpoint(AggregatorEndpoint, { id: "aggregator", number: 1 }));
        await this.node.add(this.#endpoints.get(1));
        const refused = [];
        const parents = new Set(endpoints.map(e => e.parent));
        for (const endpoint of endpoints) {
            const clusters = endpoint.clusters.filter(c => c.id !== BRIDGED_INFO).map(c => JSON.stringify(c));
            // Others wait for answers of their bridges meanwhile.
            await new Promise(resolve => setImmediate(resolve));
            if (ready && clusters.every(c => accepted.has(c)) && !parents.has(endpoint.number)) continue;
            try {
                await this.#add(endpoint, ready);
                if (ready) clusters.forEach(c => accepted.add(c));
            } catch (error) {
                refused.push({ endpoint: endpoint.number, reasons: reasons(error) });
            }
        }
        return refused;
    }

    async #add(definition, ready) {
        const parent = this.#endpoints.get(definition.parent);
        if (!parent) throw new Error(`parent ${definition.parent} is not there`);
        const hooks = {
            commanded: (agent, cluster, command, fields) =>
                this.#commanded(definition, agent, cluster, command, fields),
            written: (cluster, attribute, value) => this.#written(definition, cluster, attribute, value),
        };
        const servers = definition.clusters.map(c =>
            ready ? readyServerFor(c) : serverFor(c, definition.links, hooks),
        );
        const deviceTypes = definition.deviceTypes.map(({ id, revision }) => ({ deviceType: id, revision }));
        const [first] = deviceTypes;
        if (!first) throw new Error("no device type");
        const type = MutableEndpoint({ name: "Bridged", deviceType: first.deviceType, deviceRevision: first.revision });
        const state = Object.fromEntries(servers.map(({ type: server, state }) => [server.id, state]));
        state.descriptor = { ...state.descriptor, deviceTypeList: deviceTypes };
        const endpoint = new Endpoint(type.with(...servers.map(s => s.type)), {
            id: `e${definition.number}`,
            number: definition.number,
            ...state,
        });
        try {
            await parent.add(endpoint);
        } catch (error) {
            await endpoint.close().catch(() => {}); // the reasons are in `error`
            throw error;
        }
        this.#endpoints.set(definition.number, endpoint);
        for (const link of definition.links) {
            const named = definition.clusters.find(c => c.name === link.cluster);
            if (!named) throw new Error(`link to cluster ${link.cluster}, which is not there`);
            const cluster = clusterById(named.id);
            for (const kind of ["attribute", "command", "event"]) if (link[kind]) element(cluster, kind, link[kind]);
            const key = `${link.bus} ${link.group}`;
            if (link.direction === "from-bus")
                this.#links.set(key, [...(this.#links.get(key) ?? []), { link, cluster, definition }]);
        }
    }

    // `Cluster.Attribute` of an endpoint as it stands now, as JSON.
    #attribute(definition, name) {
        const [clusterName, attributeName] = name.split(".");
        const cluster = definition.clusters.find(c => c.name === clusterName);
        if (!cluster) return undefined;
        const model = clusterById(cluster.id);
        const attribute = element(model, "attribute", attributeName);
        const state = this.#endpoints.get(definition.number).stateOf(methodOf(model));
        return fromStack(attribute, state[methodOf(attribute)]);
    }

    // A telegram for each of the links that has something to pass on; some wait until a travel of `delay` is over, a
    // share of the full one.
    // Gives how many there are.
    #toBus(definition, links, value, delay = 1) {
        let count = 0;
        for (const link of links) {
            const result = convert(link.conversion, value, name => this.#attribute(definition, name));
            if (result === null) continue;
            const telegram = { bus: link.bus, group: link.group, ...encode(link.dpt, result) };
            count++;
            if (!link.timing?.afterTravel) this.send(telegram);
            else {
                const stop = this.#clock.after(link.timing.afterTravel * delay, () => this.send(telegram));
                const key = `${definition.number} ${link.cluster}`;
                this.#waiting.set(key, [...(this.#waiting.get(key) ?? []), stop]);
            }
        }
        return count;
    }

    // Takes out what waits for the end of a movement of the endpoint's cluster: functions that call it off.
    #takeWaiting(definition, cluster) {
        const key = `${definition.number} ${cluster}`;
        const waiting = this.#waiting.get(key) ?? [];
        this.#waiting.delete(key);
        return waiting;
    }

    #commanded(definition, agent, cluster, command, stackFields) {
        const links = definition.links.filter(l => l.cluster === cluster.name && l.command === command.name);
        const fields = fromStack(command, stackFields);
        for (const { name } of command.members) fields[name] ??= null;
        const now = name => this.#attribute(definition, name);
        const asked = askedBy(definition, cluster.name, command.name, fields, now);
        const travels = Object.entries(asked).filter(
            ([name]) => fullTravelOf(definition, name) && now(name) !== undefined,
        );
        const waiting = this.#takeWaiting(definition, cluster.name);
        const shares = travels.map(([name, value]) => share(this.#model(definition, name).attribute, now(name), value));
        try {
            const sent = this.#toBus(definition, links, fields, Math.max(0, ...shares));
            if (links.length > 0 && sent === 0 && refusedBy(definition, cluster.name, command.name, fields, now)) {
                this.#waiting.set(`${definition.number} ${cluster.name}`, waiting);
                throw new StatusResponseError("nothing can be sent", Status.InvalidInState);
            }
            // A new command calls off what waited for the end of the movement before.
            waiting.forEach(callOff => callOff());
        } catch (error) {
            if (error instanceof StatusResponseError) throw error;
            const text = `${cluster.name}.${command.name} ${JSON.stringify(fields)}: ${error.message}`;
            this.problems.push(`${definition.key}: ${text}`);
            throw error;
        }
        if (MODES.some(name => name in asked)) this.#coloured.set(definition.number, this.#clock.now);
        for (const [name, value] of Object.entries(asked))
            this.#show(definition, agent, name, value, fullTravelOf(definition, name));
    }

    #written(definition, cluster, attribute, value) {
        const links = definition.links.filter(
            l => l.direction === "to-bus" && l.cluster === cluster.name && l.attribute === attribute.name,
        );
        try {
            this.#toBus(definition, links, fromStack(attribute, value));
        } catch (error) {
            this.problems.push(`${definition.key}: write of ${cluster.name}.${attribute.name}: ${error.message}`);
        }
    }

    #model(definition, name) {
        const [clusterName, attributeName] = name.split(".");
        const cluster = clusterById(definition.clusters.find(c => c.name === clusterName).id);
        return { cluster, attribute: element(cluster, "attribute", attributeName) };
    }

    // Sets `Cluster.Attribute`, if the endpoint has it, within the agent's transaction; with `fullTravel` it gets there
    // in a straight line, as time passes.
    #show(definition, agent, name, value, fullTravel = 0) {
        const from = this.#attribute(definition, name);
        if (from === undefined) return;
        const { cluster, attribute } = this.#model(definition, name);
        const set = (agent, now) => (agent[methodOf(cluster)].state[methodOf(attribute)] = toStack(attribute, now));
        const key = `${definition.number} ${name}`;
        this.#travels.get(key)?.stop();
        this.#travels.delete(key);
        // A closure in error has one, and any other has none.
        const errors = value === ERROR ? [MAINTENANCE_REQUIRED] : [];
        if (name === "ClosureControl.MainState") this.#show(definition, agent, "ClosureControl.CurrentErrorList", errors);
        if (!fullTravel) return void set(agent, value);
        const duration = share(attribute, from, value) * fullTravel;
        const act = now => this.#endpoints.get(definition.number).act(agent => set(agent, now));
        const stop = this.#clock.after(duration, () => this.#travels.delete(key) && act(value));
        this.#travels.set(key, { from, to: value, start: this.#clock.now, duration, stop, act });
    }

    /** Time passes: estimates move on, telegrams that waited for a travel are sent. */
    async pass(milliseconds) {
        await this.#clock.pass(milliseconds);
        for (const { from, to, start, duration, act } of this.#travels.values())
            if (from !== null) await act(Math.round(from + ((to - from) * (this.#clock.now - start)) / duration));
    }

    /** A telegram from the bus: every link that listens to its group address passes it on, all from the state before. */
    async receive(telegram) {
        const effects = [];
        const colours = new Map(); // by endpoint: as they stood before
        for (const { definition } of this.#links.get(`${telegram.bus} ${telegram.group}`) ?? [])
            if (followsTheWall(definition))
                colours.set(definition, new Map(COLOURS.map(name => [name, this.#attribute(definition, name)])));
        for (const { link, cluster, definition } of this.#links.get(`${telegram.bus} ${telegram.group}`) ?? []) {
            this.#tell(definition, link, () => {
                const result = this.#heard(definition, link, telegram);
                if (result === undefined) return effects.push({ link, cluster, definition, result: null });
                if (result === null) return;
                const shown = link.joint ? this.#memory.heard(definition, link, result) : result;
                if (shown !== null || this.#mayBeNull(definition, link))
                    effects.push({ link, cluster, definition, result: shown });
            });
        }
        for (const { link, cluster, definition, result } of effects) {
            await this.#tell(definition, link, () =>
                this.#endpoints.get(definition.number).act(agent => {
                    const name = `${link.cluster}.${link.attribute}`;
                    // Whatever starts or stops a movement calls off what waits for the end of the one before.
                    if (fullTravelOf(definition, name))
                        this.#takeWaiting(definition, link.cluster).forEach(callOff => callOff());
                    if (link.attribute) this.#show(definition, agent, name, result, link.timing?.fullTravel);
                    if (link.event) emit(agent, cluster, element(cluster, "event", link.event), result);
                }),
            );
        }
        for (const [definition, before] of colours) {
            const told = effects.filter(e => e.definition === definition).map(e => `${e.link.cluster}.${e.link.attribute}`);
            await this.#follow(definition, before, told);
        }
    }

    // The colour modes follow what a telegram changed, and the other ways of a colour a white.
    async #follow(definition, before, told) {
        const asked = this.#coloured.get(definition.number) ?? -Infinity;
        const mode = modeTold(before, name => this.#attribute(definition, name));
        if (mode === undefined || this.#clock.now - asked <= COMMAND_COUNTS_FOR) return;
        const others = mode === WHITE ? Object.entries(inOtherWays(mode, name => this.#attribute(definition, name))) : [];
        const set = agent => {
            MODES.forEach(name => this.#show(definition, agent, name, mode));
            for (const [name, value] of others)
                if (!told.includes(name)) this.#show(definition, agent, name, value);
        };
        await this.#endpoints.get(definition.number).act(set);
    }

    // What a link makes of a telegram; undefined where it says that there is no value, and the attribute may be null.
    #heard(definition, link, telegram) {
        const now = name => this.#attribute(definition, name);
        try {
            return convert(link.conversion, decode(link.dpt, telegram), now);
        } catch (error) {
            if (error instanceof NoValue && this.#mayBeNull(definition, link)) return undefined;
            throw error;
        }
    }

    #mayBeNull(definition, { cluster, attribute }) {
        return Boolean(attribute) && this.#model(definition, `${cluster}.${attribute}`).attribute.quality.nullable;
    }

    // Runs a part of a link's work; what goes wrong is told to the controller.
    #tell(definition, link, run) {
        const told = error =>
            this.problems.push(
                `${definition.key}: ${link.group} ${link.dpt} to ${link.cluster}: ${reasons(error).join("; ")}`,
            );
        try {
            return Promise.resolve(run()).catch(told);
        } catch (error) {
            told(error);
        }
    }

    async close() {
        await this.node.close();
    }
}

function emit(agent, cluster, event, fields) {
    const emitter = agent[methodOf(cluster)].events[methodOf(event)];
    if (!emitter) throw new Error(`${cluster.name} has no event ${event.name} with these features`);
    // The stack wants nothing at all for an event without fields.
    emitter.emit(event.members.length > 0 ? toStack(event, fields) : undefined, agent.context);
}

// What the stack says, down to the causes; a decode error of a telegram is one reason.
function reasons(error, seen = new Set()) {
    if (!error || seen.has(error)) return [];
    seen.add(error);
    const below = [...(error.errors ?? []), error.cause].flatMap(e => reasons(e, seen));
    return below.length > 0 ? below : [error.message];
}

const bridges = new Map();
const send = listen(process.argv[2], async request => {
    const number = request.bridge;
    if (request.open) {
        const { definition } = request.open;
        const trial = new Bridge(definition, () => {});
        const refusedReady = await trial.build({ ...request.open, ready: true });
        await trial.close();
        bridges.set(number, new Bridge(definition, telegram => send(number, telegram)));
        return { ...(await bridges.get(number).open(request.open)), refusedReady };
    }
    const bridge = bridges.get(number);
    if (request.telegram) await bridge.receive(request.telegram);
    if (request.pass) await bridge.pass(request.pass);
    if (request.close) await bridge.close();
    return { problems: bridge.problems.splice(0) };
});
