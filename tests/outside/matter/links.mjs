// Tries every link of an endpoint from outside: telegrams in and the attribute read, commands invoked and attributes
// written by a controller and the telegrams seen. What must come out is what the link's conversion says.

import { unknownTimings } from "./clock.mjs";
import { askedBy, confirmedBy, isKept, refusedBy, samplesOf } from "./commands.mjs";
import { convert } from "./interpreter.mjs";
import { isKnown, Memory } from "./joint.mjs";
import { DatapointError, decode, encode, hex, NoValue, samples } from "./knx.mjs";
import { clusterById, element, same } from "./model.mjs";
import { followsTheWall, inOtherWays, MODES, modeTold, WHITE } from "./modes.mjs";
import { path } from "./peer.mjs";
import { proseProblems } from "./prose.mjs";
import { addressOf, attributeOf, turns, unitsOf, writable } from "./units.mjs";

const SUCCESS = 0;
const INVALID_IN_STATE = 0xcb;
const show = value => JSON.stringify(value);
const eventOf = link => `${link.cluster}.${link.event}`;
const telegramText = ({ bus, group, short, bytes }) => `${bus} ${group} ${short ? "short " : ""}${hex({ bytes })}`;

// Whether a value came back near enough: numbers that count something within half a percent and a step of what they run
// through, or half of the way to what the next telegrams show; all else exactly; of a structure the fields that were asked
// for. A hue of 254 is a hue of 0.
function near(model, now, wanted, outputs, next) {
    if (model.effectiveMetatype === "object" && now && wanted)
        return Object.entries(wanted).every(([name, value]) => {
            const member = [...model.members].find(m => m.name === name);
            const inner = list => list.map(o => o?.[name]);
            return near(member, now[name], value, inner(outputs), inner(next));
        });
    if (!["integer", "float"].includes(model.effectiveMetatype) || typeof now !== "number" || typeof wanted !== "number")
        return same(now, wanted);
    const span = outputs.filter(o => typeof o === "number");
    // A colour in bytes is coarse, and its coordinates are parts of 65536.
    const whole = /^Current[XY]$/.test(model.name) ? 65536 : Math.max(0, ...span) - Math.min(...span, Infinity);
    const apart = Math.abs(now - wanted);
    const turned = model.name === "CurrentHue" ? Math.min(apart, 254 - apart) : apart;
    // Of a fan, 0 alone means off (cluster§4.4.6.3): what is asked for above it is the first stage at least.
    const isFirst = !next.some(n => typeof n === "number" && n > 0 && n < now);
    if (model.name === "PercentSetting" && wanted > 0 && wanted < now && isFirst) return true;
    const coarse = Math.max(0, ...next.filter(n => typeof n === "number").map(n => Math.abs(n - now) / 2));
    return turned <= 1 + Math.max((span.length > 0 ? whole : 0) * 0.006, coarse);
}

export class LinkTrial {
    problems = [];
    tries = 0;

    repeated = 0;

    /** `known` has the keys of the units that were tried before without a fault. */
    constructor(definition, peer, wire, known) {
        Object.assign(this, { definition, peer, wire, known });
        this.clusters = new Map(definition.clusters.map(c => [c.name, clusterById(c.id)]));
        this.memory = new Memory();
        this.joined = new Map(); // by attribute: what several points make of it together
        this.outputs = new Map(); // by attribute: the values it took when fed from the bus
        this.coloured = false; // whether a command has asked for a colour
        this.travel = Math.max(0, ...definition.links.map(l => l.timing?.fullTravel ?? l.timing?.afterTravel ?? 0));
    }

    note(link, text) {
        const end = link.attribute ?? link.command ?? link.event;
        this.problems.push(`${link.point}: ${link.group} (${link.dpt}) and ${link.cluster}.${end}: ${text}`);
    }

    // `Cluster.Attribute` as it was read last.
    now = name => {
        const [cluster, attribute] = name.split(".");
        return this.clusters.has(cluster)
            ? this.peer.value(this.definition.number, this.clusters.get(cluster), attribute)
            : undefined;
    };

    features(cluster) {
        return this.definition.clusters.find(c => c.name === cluster).features;
    }

    // Reads what a trial may have changed, of the clusters that it is about.
    async look() {
        const paths = [...this.live].flatMap(name => {
            const [cluster, attribute] = name.split(".");
            const model = this.clusters.get(cluster);
            return model && this.looksAt.has(cluster) && this.now(name) !== undefined
                ? [path(this.definition.number, model, attribute)]
                : [];
        });
        if (paths.length > 0) this.problems.push(...(await this.peer.read(paths)));
    }

    // Every trial leaves `peer.values` as they stand after it.
    async run() {
        for (const link of this.definition.links)
            for (const name of unknownTimings(link)) this.note(link, `time parameter ${name} is unknown to this judge`);
        for (const link of this.definition.links.filter(l => !isKnown(l))) {
            this.note(link, `joint ${link.joint} is unknown to this judge`);
            delete link.joint;
        }
        const units = unitsOf(this.definition);
        this.live = new Set(units.flatMap(u => u.reads));
        let waiting = units.filter(u => u.kind === "feed" && this.known.has(u.key));
        for (const unit of units) {
            if (this.known.has(unit.key)) {
                for (const [name, values] of this.known.get(unit.key)) this.outputs.set(name, values);
                this.repeated++;
                continue;
            }
            // What was tried elsewhere has still to be said, so that the state is known here too.
            for (const { links } of waiting.splice(0)) await this.send(links[0], samples(links[0].dpt).at(-1));
            this.looksAt = this.clustersOf(unit);
            await this.look();
            const before = this.problems.length;
            await this[unit.kind](unit.links);
            const heard = unit.links.filter(l => l.attribute).map(attributeOf);
            if (this.problems.length === before)
                this.known.set(
                    unit.key,
                    heard.map(name => [name, this.outputs.get(name) ?? []]),
                );
        }
        return this;
    }

    clustersOf({ reads }) {
        return new Set(reads.map(name => name.split(".")[0]));
    }

    /**
     * Telegrams in, on one address with all its links: sample values of the datapoint type, both ends among them, and
     * once more the other way round for links that pass a value in some states only.
     */
    async feed(links) {
        const all = samples(links[0].dpt);
        const passed = new Set();
        for (const link of links.filter(l => l.event)) await this.events(link); // those of before are not this link's
        for (const round of [all, all.toReversed()]) {
            for (const payload of round) await this.feedOne(links, payload, passed);
            if (passed.size === links.length) break;
        }
        // A table of a few values may lie between the samples: of one byte all are tried.
        const [{ short, bytes }] = all;
        for (let value = 0; value < 256 && bytes.length === 1 && passed.size < links.length; value++) {
            const payload = { short, bytes: [value] };
            if (links.some(l => !passed.has(l) && this.outcome(l, payload).result !== null))
                await this.feedOne(links, payload, passed);
        }
        // What passes may depend on what other addresses say: try again after each thing that the bus can say.
        for (const [link, payload] of this.news()) {
            if (passed.size === links.length) break;
            await this.send(link, payload);
            await this.look();
            for (const own of [...all, ...all.toReversed()]) await this.feedOne(links, own, passed);
        }
        for (const link of links.filter(l => !passed.has(l))) this.note(link, "no sample value of the type passes");
    }

    async feedOne(links, payload, passed) {
        this.tries++;
        const outcomes = links.map(link => ({ link, ...this.outcome(link, payload) }));
        const before = new Map(links.filter(l => l.attribute).map(l => [attributeOf(l), this.now(attributeOf(l))]));
        const modes = MODES.map(name => [name, this.now(name)]);
        const told = await this.send(links[0], payload);
        if (!outcomes.some(o => o.invalid)) told.forEach(text => this.note(links[0], `${hex(payload)}: ${text}`));
        outcomes.filter(o => o.result !== null).forEach(o => passed.add(o.link));
        await this.look();
        for (const [name, value] of before) this.seen(name, payload, outcomes, value);
        // No time passes between a command of colour and this, so that nothing follows after one.
        const mode = followsTheWall(this.definition) && !this.coloured ? modeTold(before, this.now) : undefined;
        for (const [name, value] of modes) this.attributeIs(links[0], hex(payload), name, mode ?? value);
        if (mode === WHITE)
            for (const [name, value] of Object.entries(inOtherWays(mode, this.now)))
                if (!before.has(name)) this.attributeIs(links[0], hex(payload), name, value);
        if (before.has("ClosureControl.MainState"))
            proseProblems("ClosureControl", this.features("ClosureControl"), name =>
                this.now(`ClosureControl.${name}`),
            ).forEach(text => this.note(links[0], `${hex(payload)}: ${text}`));
        for (const event of new Set(links.filter(l => l.event).map(eventOf)))
            await this.raised(
                payload,
                outcomes.filter(o => o.link.event && eventOf(o.link) === event),
            );
    }

    // What a link makes of a payload: null if nothing is passed on, `invalid` if the payload is none of the type's values,
    // `empty` if it says that there is none.
    outcome(link, payload) {
        try {
            return { result: convert(link.conversion, decode(link.dpt, payload), this.now), invalid: false };
        } catch (error) {
            const invalid = error instanceof DatapointError;
            if (!invalid) this.note(link, `${hex(payload)}: ${error.message}`);
            return { result: null, invalid, empty: error instanceof NoValue };
        }
    }

    // A telegram on the link's group address; gives what the bridge had to complain of.
    async send(link, { short, bytes }) {
        const { bus, group } = link;
        for (const one of this.definition.links) {
            if (one.direction !== "from-bus" || !one.joint || addressOf(one) !== addressOf(link)) continue;
            const { result } = this.outcome(one, { short, bytes });
            if (result !== null) this.joined.set(attributeOf(one), this.memory.heard(this.definition, one, result));
        }
        const { problems } = await this.wire.ask({ telegram: { bus, group, short, bytes } });
        const after = await this.settle();
        for (const telegram of after.telegrams)
            this.note(link, `a telegram from the bus caused ${telegramText(telegram)}`);
        return [...problems, ...after.problems];
    }

    // What was heard since, all travels over.
    async settle() {
        const { problems } = this.travel ? await this.wire.ask({ pass: this.travel + 1 }) : { problems: [] };
        const after = await this.wire.settle();
        return { telegrams: after.telegrams, problems: [...problems, ...after.problems] };
    }

    // One of an address's links sets the attribute, whichever passes something on.
    seen(name, payload, outcomes, before) {
        const ours = outcomes.filter(o => attributeOf(o.link) === name);
        const passing = ours.filter(o => o.result !== null);
        const [{ link }] = passing.length > 0 ? passing : ours;
        const { quality } = element(this.clusters.get(link.cluster), "attribute", link.attribute);
        const uncounted = quality.nullable ? null : before;
        const joined = passing.length > 0 && link.joint ? (this.joined.get(name) ?? uncounted) : undefined;
        const silent = quality.nullable && ours.some(o => o.empty) ? null : before;
        const told = passing.length > 0 ? passing.at(-1).result : silent;
        const wanted = joined === undefined ? told : joined;
        if (!link.joint && passing.some(o => !same(o.result, wanted)))
            this.note(link, `${hex(payload)} is ${passing.map(o => show(o.result)).join(" and ")} at once`);
        if (!same(this.now(name), wanted))
            this.note(link, `${hex(payload)} shows ${show(this.now(name))}, wanted ${show(wanted)}`);
        if (this.outputs.has(name)) this.outputs.get(name).push(wanted);
        else this.outputs.set(name, [wanted]);
    }

    events(link) {
        const cluster = this.clusters.get(link.cluster);
        return this.peer.events(this.definition.number, cluster, element(cluster, "event", link.event));
    }

    async raised(payload, outcomes) {
        const [{ link }] = outcomes;
        const events = await this.events(link);
        const wanted = outcomes.map(o => o.result).filter(result => result !== null);
        if (!same(events, wanted)) this.note(link, `${hex(payload)} raises ${show(events)}, wanted ${show(wanted)}`);
    }

    // The telegrams that links of one command or attribute promise for a value; links that promise one go to `sent`.
    promised(links, value, sent = new Set()) {
        const telegrams = [];
        for (const link of links) {
            try {
                const result = convert(link.conversion, value, this.now);
                if (result === null) continue;
                telegrams.push({ bus: link.bus, group: link.group, ...encode(link.dpt, result) });
                sent.add(link);
            } catch (error) {
                this.note(link, `${show(value)}: ${error.message}`);
            }
        }
        return telegrams;
    }

    /** A controller invokes the command with several sets of fields; each of its links must send something for one. */
    async command(links) {
        const [{ cluster: clusterName, command: name }] = links;
        const cluster = this.clusters.get(clusterName);
        const command = element(cluster, "command", name);
        const sent = new Set();
        const invokeAll = async () => {
            if (isKept(clusterName, name, this.now)) return; // nothing is sent before the lamp is on
            for (const fields of samplesOf(clusterName, command, this.now, this.features(clusterName)))
                await this.invoke(links, cluster, command, fields, sent);
        };
        await invokeAll();
        // What is sent may depend on the state: try again after each thing that the bus can say, in both orders, as two of
        // them may be needed at once.
        for (const [link, payload] of [...this.news(), ...this.news().toReversed(), ...turns(this.definition, links)]) {
            if (sent.size === links.length) break;
            await this.send(link, payload);
            await this.look();
            await invokeAll();
        }
        for (const link of links.filter(l => !sent.has(l))) this.note(link, "no set of fields gives a telegram");
    }

    // The two ends of every address that the endpoint hears.
    news() {
        const heard = this.definition.links.filter(l => l.direction === "from-bus");
        return heard.flatMap(link => [samples(link.dpt)[0], samples(link.dpt).at(-1)].map(payload => [link, payload]));
    }

    async invoke(links, cluster, command, fields, sent) {
        this.tries++;
        const whole = { ...Object.fromEntries([...command.members].map(m => [m.name, null])), ...fields };
        const able = askedBy(this.definition, cluster.name, command.name, whole, this.now);
        const [late, prompt] = [true, false].map(is => links.filter(l => Boolean(l.timing?.afterTravel) === is));
        const [own, wantedLate] = [prompt, late].map(those => this.promised(those, whole, sent));
        const silent = own.length + wantedLate.length === 0;
        const refused = silent && refusedBy(this.definition, cluster.name, command.name, whole, this.now);
        const asked = refused ? {} : able;
        this.coloured ||= MODES.some(name => name in asked);
        const wanted = [...own, ...this.followers(asked)];
        const confirmed = confirmedBy(cluster.name, command.name, whole, this.now);
        const before = Object.fromEntries(Object.keys(confirmed).map(n => [n, this.now(n)]));
        const status = await this.peer
            .invoke(this.definition.number, cluster, command, fields)
            .catch(error => error.message);
        const heard = await this.compareTelegrams(links[0], fields, wanted, await this.wire.settle());
        await this.compareTelegrams(links[0], fields, wantedLate, await this.settle());
        if (status !== (refused ? INVALID_IN_STATE : SUCCESS))
            this.note(links[0], `invoked with ${show(fields)}: status ${status}`);
        await this.look();
        for (const [attribute, value] of Object.entries({ ...before, ...asked }))
            this.attributeIs(links[0], fields, attribute, value);
        await this.echo(links, heard, fields, confirmed);
        for (const name of MODES) this.attributeIs(links[0], fields, name, asked[name]);
    }

    attributeIs(link, fields, name, value) {
        const now = this.now(name);
        if (now !== undefined && value !== undefined && !same(now, value))
            this.note(link, `after ${show(fields)} ${name} is ${show(now)}, wanted ${show(value)}`);
    }

    // Links of attributes that a command changes: their telegrams follow too.
    followers(asked) {
        return Object.entries(asked).flatMap(([name, value]) => {
            const [cluster, attribute] = name.split(".");
            const links = this.definition.links.filter(
                l => l.direction === "to-bus" && l.cluster === cluster && l.attribute === attribute,
            );
            const now = this.now(name);
            return now === undefined || same(now, value) ? [] : this.promised(links, value);
        });
    }

    async compareTelegrams(link, value, wanted, { telegrams, problems }) {
        problems.forEach(text => this.note(link, `${show(value)}: ${text}`));
        const [heard, promised] = [telegrams, wanted].map(list => list.map(telegramText).sort());
        if (!same(heard, promised)) this.note(link, `${show(value)} sends ${show(heard)}, promised ${show(promised)}`);
        return telegrams;
    }

    // What the telegrams show that differ by one in their last byte.
    next(link, { bytes, ...rest }) {
        return [-1, 1].flatMap(step => {
            const last = bytes.at(-1) + step;
            if (last < 0 || last > 255) return [];
            try {
                return [convert(link.conversion, decode(link.dpt, { ...rest, bytes: [...bytes.slice(0, -1), last] }), this.now)];
            } catch {
                return []; // no value of the type
            }
        });
    }

    // The bus confirms: the same telegrams come back on the addresses that their points are shown by (the feedback, or the
    // own command address where there is none), and together they show what the controller asked for.
    async echo(links, telegrams, fields, confirmed) {
        const shown = new Map();
        for (const telegram of telegrams) {
            const source = links.find(l => l.group === telegram.group && l.bus === telegram.bus);
            if (source?.shown === "estimated") continue; // what starts a movement does not say where it ends
            const back = this.definition.links.filter(
                l =>
                    l.direction === "from-bus" &&
                    l.point === source?.point &&
                    l.dpt === source.dpt &&
                    confirmed[attributeOf(l)] !== undefined,
            );
            for (const address of new Set(back.map(addressOf))) {
                this.tries++;
                const here = back.filter(l => addressOf(l) === address);
                const passing = here.filter(l => this.outcome(l, telegram).result !== null);
                if (passing.length === 0) continue;
                (await this.send(here[0], telegram)).forEach(text => this.note(here[0], text));
                for (const link of passing) shown.set(attributeOf(link), { link, telegram });
            }
        }
        if (shown.size === 0) return;
        await this.look();
        for (const [name, { link, telegram }] of shown) {
            // Where other points have a part in it, what was asked for need not be all that is shown.
            const wanted = this.isShared(link) ? (this.joined.get(name) ?? this.now(name)) : confirmed[name];
            const now = this.now(name);
            const model = element(this.clusters.get(link.cluster), "attribute", link.attribute);
            if (!near(model, now, wanted, this.outputs.get(name) ?? [], this.next(link, telegram)))
                this.note(
                    link,
                    `${show(fields)} confirmed by ${hex(telegram)} shows ${show(now)}, wanted ${show(wanted)}`,
                );
        }
    }

    // Whether several points make the attribute together.
    isShared({ cluster, attribute, joint }) {
        const together = l => l.cluster === cluster && l.attribute === attribute && l.joint;
        return Boolean(joint) && new Set(this.definition.links.filter(together).map(l => l.point)).size > 1;
    }

    /** A controller writes the attribute: values that the model allows, none twice. */
    async write(links) {
        const [{ cluster: clusterName, attribute: name }] = links;
        const cluster = this.clusters.get(clusterName);
        const attribute = element(cluster, "attribute", name);
        const sent = [];
        for (const value of writable(cluster, attribute, this.features(clusterName), this.now)) {
            if (same(this.now(`${clusterName}.${name}`), value)) continue;
            const wanted = this.promised(links, value);
            if (wanted.length === 0) continue; // to be refused, which the stack has no means for
            this.tries++;
            const status = await this.peer
                .write(this.definition.number, cluster, attribute, value)
                .catch(error => error.message);
            if (status !== SUCCESS) this.note(links[0], `writing ${show(value)}: status ${status}`);
            const heard = await this.compareTelegrams(links[0], value, wanted, await this.settle());
            sent.push(...heard.map(telegram => ({ telegram, value })));
            await this.look();
            this.attributeIs(links[0], value, `${clusterName}.${name}`, value);
        }
        if (sent.length === 0) this.note(links[0], "no value written gives a telegram");
        // Values that the bus cannot tell apart do not come back.
        const alone = ({ telegram }) =>
            sent.filter(s => telegramText(s.telegram) === telegramText(telegram)).length === 1;
        for (const { telegram, value } of sent.filter(alone))
            await this.echo(links, [telegram], value, { [`${clusterName}.${name}`]: value });
    }
}
