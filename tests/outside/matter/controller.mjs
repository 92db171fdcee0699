// The judge: commissions a bridge built from each bridge JSON, reads it back, compares, checks and tries its links.
// Usage: node controller.mjs SOCKET SEEN-FILE BRIDGE-JSON…
//
// A large bridge is taken in batches of whole appliances. Prints a line for each endpoint and what is wrong with it;
// the last line counts endpoints. SEEN-FILE lists what was commissioned, `commissioned.json` beside it how many appliances of
// each class, for the table in the docs.
// A file with `of` is a sample made wrong, see spoil.mjs.

import { writeFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { compareBridge, compareEndpoint, compareFile } from "./compare.mjs";
import { conformanceProblems } from "./conformance.mjs";
import { LinkTrial } from "./links.mjs";
import { completed } from "./model.mjs";
import { Peer, startController } from "./peer.mjs";
import { readJson, reportSpoiled, spoil } from "./spoil.mjs";
import { groupBy } from "./units.mjs";
import { connect } from "./wire.mjs";

const BATCH = 80;
const LANES = 2;
const LOST = /no longer responding|timed out|timeout/i;
const STACK = "@matter/main 0.17.9";
const PASSCODE = 20202021;
const [DESCRIPTOR, PARTS] = [0x1d, 3];

// Whole appliances (an endpoint with all below it), `BATCH` endpoints at most unless one appliance has more.
function batches(definition) {
    const tops = new Map();
    for (const endpoint of definition.endpoints) {
        const top = tops.get(endpoint.parent) ?? endpoint.number;
        tops.set(endpoint.number, top);
    }
    const groups = groupBy(definition.endpoints, e => tops.get(e.number));
    const result = [[]];
    for (const family of groups.values()) {
        if (result.at(-1).length > 0 && result.at(-1).length + family.length > BATCH) result.push([]);
        result.at(-1).push(...family);
    }
    return result.map(endpoints => ({ ...definition, endpoints }));
}

// The stack keeps an endpoint that it refused in the lists of parts: it is not to be found fault with twice.
function forgetRefused(values, gone) {
    for (const [number, endpoint] of Object.entries(values)) {
        if (gone.has(Number(number))) delete values[number];
        else endpoint[DESCRIPTOR][PARTS] = endpoint[DESCRIPTOR][PARTS].filter(n => !gone.has(n));
    }
}

/** Judges one batch; gives problems by endpoint number, 0 for the bridge itself. */
async function judge(written, port, wire, controller, known) {
    const definition = completed(written);
    const problems = { 0: [] };
    const tries = {};
    const note = (number, list) => (problems[number] ??= []).push(...list);
    const attempt = (number, look) => {
        try {
            note(number, look());
        } catch (error) {
            note(number, [error.message]);
        }
    };
    const commissioning = { port, passcode: PASSCODE, discriminator: port % 4096 };
    const { refused, refusedReady } = await wire.ask({ open: { definition: written, ...commissioning } });
    for (const { endpoint, reasons } of refused)
        note(
            endpoint,
            reasons.map(r => `refused by the stack: ${r}`),
        );
    for (const { endpoint, reasons } of refusedReady.filter(
        ({ endpoint }) => !refused.some(r => r.endpoint === endpoint),
    ))
        note(
            endpoint,
            reasons.map(r => `refused by the stack's ready-made servers: ${r}`),
        );
    const gone = new Set(refused.map(r => r.endpoint));
    const standing = { ...definition, endpoints: definition.endpoints.filter(e => !gone.has(e.number)) };

    const peer = await Peer.commission(controller, commissioning);
    note(0, await peer.read());
    forgetRefused(peer.values, gone);
    note(0, compareBridge(standing, peer.values));
    for (const endpoint of standing.endpoints)
        attempt(endpoint.number, () => compareEndpoint(endpoint, standing.endpoints, peer.values));
    for (const [number, list] of Object.entries(conformanceProblems(peer.values)))
        note(number === "1" ? 0 : number, list);
    for (const endpoint of standing.endpoints) {
        const trial = await new LinkTrial(endpoint, peer, wire, known).run();
        note(endpoint.number, trial.problems);
        tries[endpoint.number] = `${trial.tries} tries${trial.repeated ? `, ${trial.repeated} units tried before` : ""}`;
    }
    await peer.forget();
    await wire.ask({ close: true });
    return { problems, tries };
}

// A batch that was not judged to the end: none of its endpoints was.
function unjudged({ endpoints }, error) {
    const problems = { 0: [`not judged to the end: ${error.stack}`] };
    for (const { number } of endpoints) problems[number] = ["not judged"];
    return { problems, tries: {} };
}

function report(name, definition, { problems, tries }, seen) {
    const rows = [
        { number: 0, key: definition.bridge.name, deviceTypes: [], clusters: [], links: [] },
        ...definition.endpoints,
    ];
    for (const { number, key, deviceTypes, clusters, links } of rows) {
        const list = [...new Set(problems[number] ?? [])];
        const types = deviceTypes.map(t => t.name).join(" + ");
        const detail = number === 0 ? "bridge" : `${types}, ${links.length} links, ${tries[number] ?? "not tried"}`;
        console.log(`${list.length ? "FAIL" : "ok  "} ${name} ${number} ${key}: ${detail}`);
        for (const text of list) console.log(`       ${text}`);
        const clusterNames = clusters.map(c => c.name);
        seen.push({ bridge: name, endpoint: number, key, deviceTypes, clusters: clusterNames, problems: list });
    }
}

// Everything to judge, in order: a batch, or a sample made wrong. `say` gets the judgement.
function* work(files, seen, refused) {
    const tried = new Map();
    for (const file of files) {
        const name = basename(file).replace(/\.bridge\.json$|\.json$/, "");
        const content = readJson(file);
        const spoiled = content.of !== undefined;
        const whole = spoiled ? spoil(file, content) : content;
        const problems = compareFile(whole);
        for (const definition of batches(whole)) {
            const say = result => {
                result.problems[0].unshift(...problems.splice(0));
                if (spoiled) refused.push(reportSpoiled(name, content, result));
                else report(name, definition, result, seen);
            };
            // A sample made wrong is tried to the end whatever was tried before.
            yield { definition, say, known: spoiled ? new Map() : tried };
        }
    }
}

// `LANES` at a time, since the two processes wait for each other; reported in order.
async function judgeAll(socket, files, seen, refused) {
    const wire = await connect(socket);
    const controller = await startController();
    const queue = work(files, seen, refused);
    const done = [];
    let started = 0;
    let reported = 0;
    const lane = async () => {
        for (const { definition, say, known } of queue) {
            const mine = started++;
            const port = 6000 + (mine % 4000);
            const attempt = port => judge(definition, port, wire.channel(port), controller, known);
            // A machine with too much to do loses a session now and then: that says nothing of the bridge.
            const again = error => (LOST.test(error.message) ? attempt(port + 4000) : Promise.reject(error));
            const result = await attempt(port).catch(again).catch(error => unjudged(definition, error));
            done[mine] = () => say(result);
            for (; done[reported]; reported++) done[reported]();
        }
    };
    await Promise.all(Array.from({ length: LANES }, lane));
    await controller.close();
    wire.end();
}

// How many appliances of each class of the house with every choice were judged without a fault, for the table in the docs.
function commissioned(seen) {
    const classes = {};
    const faulty = new Set(seen.filter(e => e.problems.length > 0).map(e => e.key.split("/")[0]));
    for (const { bridge, endpoint, key } of seen) {
        if (bridge !== "every-choice" || endpoint === 0 || key.includes("/") || faulty.has(key)) continue;
        const name = key.replace(/-\d+$/, "");
        classes[name] = (classes[name] ?? 0) + 1;
    }
    return { stack: STACK, classes };
}

const [socket, seenFile, ...files] = process.argv.slice(2);
const seen = [];
const refused = [];
await judgeAll(socket, files, seen, refused);
writeFileSync(seenFile, `${JSON.stringify({ stack: STACK, endpoints: seen }, null, 1)}\n`);
writeFileSync(join(dirname(seenFile), "commissioned.json"), `${JSON.stringify(commissioned(seen), null, 1)}\n`);
const failed = seen.filter(e => e.problems.length > 0).length + refused.filter(found => !found).length;
console.log(`${seen.length + refused.length - failed} passed, ${failed} failed`);
process.exit(failed ? 1 : 0);
