// The wire between the two processes: a local socket with one JSON value a line. It stands for the buses of all bridges
// that are open: telegrams go over it both ways, each with the number of its bridge. The controller's requests (`open`,
// `telegram`, `settle`, `close`) are answered in order, so that once `settle` is answered every telegram that was sent
// before it has arrived.

import { connect as connectSocket, createServer } from "node:net";
import { createInterface } from "node:readline";

const speak = (socket, message) => socket.write(`${JSON.stringify(message)}\n`);

/**
 * Listens for one controller. `answer(request)` gives the reply's fields; the result is a function that sends a
 * telegram of a bridge. The process ends with the connection.
 */
export function listen(path, answer) {
    let peer;
    let queue = Promise.resolve();
    createServer(socket => {
        peer = socket;
        createInterface({ input: socket }).on("line", line => {
            const request = JSON.parse(line);
            queue = queue
                .then(() => answer(request))
                .then(
                    reply => speak(socket, { id: request.id, ...reply }),
                    error => speak(socket, { id: request.id, failed: String(error.stack ?? error) }),
                );
        });
        socket.on("close", () => process.exit(0));
    }).listen(path);
    return (bridge, telegram) => peer && speak(peer, { bridge, telegram });
}

/** The controller's end. `channel(bridge)` has `ask(request)` for a reply and `settle()` for what was heard since. */
export async function connect(path) {
    const socket = await new Promise((resolve, reject) => {
        const s = connectSocket(path, () => resolve(s));
        s.on("error", reject);
    });
    const waiting = new Map();
    const heard = new Map();
    let next = 0;
    createInterface({ input: socket }).on("line", line => {
        const message = JSON.parse(line);
        if (message.telegram) return void heard.get(message.bridge)?.push(message.telegram);
        const { resolve, reject } = waiting.get(message.id);
        waiting.delete(message.id);
        if (message.failed) reject(new Error(message.failed));
        else resolve(message);
    });
    const channel = bridge => {
        heard.set(bridge, []);
        const ask = request =>
            new Promise((resolve, reject) => {
                waiting.set(next, { resolve, reject });
                speak(socket, { ...request, bridge, id: next++ });
            });
        const settle = async () => {
            const { problems } = await ask({ settle: true });
            return { telegrams: heard.get(bridge).splice(0), problems };
        };
        return { ask, settle };
    };
    return { channel, end: () => socket.end() };
}
