// Datapoint types: value <-> payload, for the types that bridge JSONs use. Own code, from KNX 3/7/2 (from memory).
//
// A value is what a conversion sees at its bus end: truth values for one bit, numbers in the type's unit, raw numbers
// for enumerations and scenes, structures by field name. A payload is { short, bytes }: `short` for types of up to six
// bits, which travel inside the telegram's header. What does not fit is an error, never a wrap.

import { roundTiesToEven } from "./interpreter.mjs";

export class DatapointError extends Error {}

/** A telegram that says that there is no value. */
export class NoValue extends DatapointError {}

const fail = message => {
    throw new DatapointError(message);
};

// A kind has: short, length (bytes), decode(DataView) and encode(value, DataView), samples (values, extremes among them).

const number = value =>
    typeof value === "number" && !Number.isNaN(value) ? value : fail(`number expected, found ${JSON.stringify(value)}`);

function whole(value, low, high) {
    const raw = roundTiesToEven(number(value));
    return raw < low || raw > high ? fail(`${value} is outside of ${low} to ${high} steps`) : raw;
}

function truth(value) {
    return typeof value === "boolean" ? value : fail(`truth value expected, found ${JSON.stringify(value)}`);
}

const SIZES = { Uint8: 1, Int8: 1, Uint16: 2, Int16: 2, Uint32: 4, Int32: 4 };

// Whole numbers of `size`, from raw `low` to raw `high`; `per` raw steps are `units` of the type's unit.
function steps(size, low, high, units = 1, per = 1) {
    const points = [low, low + 1, Math.floor(low / 2 + high / 2), Math.floor(low / 4 + (3 * high) / 4), high - 1, high];
    if (low < 0) points.push(0);
    return {
        length: SIZES[size],
        decode: view => {
            const raw = view[`get${size}`](0);
            return raw < low || raw > high ? fail(`raw ${raw} is not a value of this type`) : (raw * units) / per;
        },
        encode: (value, view) => view[`set${size}`](0, whole((number(value) * per) / units, low, high)),
        samples: [...new Set(points)].map(raw => (raw * units) / per),
    };
}

const enumeration = (...members) => ({
    ...steps("Uint8", 0, 255),
    decode: view => (members.includes(view.getUint8(0)) ? view.getUint8(0) : fail(`no member ${view.getUint8(0)}`)),
    encode: (value, view) => view.setUint8(0, members.includes(value) ? value : fail(`no member ${value}`)),
    samples: members,
});
const range = (first, last) => Array.from({ length: last - first + 1 }, (_, i) => first + i);

const bit = {
    short: true,
    length: 1,
    decode: view => (view.getUint8(0) > 1 ? fail("more than one bit") : view.getUint8(0) === 1),
    encode: (value, view) => view.setUint8(0, truth(value) ? 1 : 0),
    samples: [false, true],
};

const forced = {
    short: true,
    length: 1,
    decode: view => ({ control: (view.getUint8(0) & 2) !== 0, value: (view.getUint8(0) & 1) !== 0 }),
    encode: (v, view) => view.setUint8(0, (truth(v.control) ? 2 : 0) | (truth(v.value) ? 1 : 0)),
    samples: [0, 1, 2, 3].map(raw => ({ control: raw > 1, value: raw % 2 === 1 })),
};

const controlStep = {
    short: true,
    length: 1,
    decode: view => ({ control: (view.getUint8(0) & 8) !== 0, step: view.getUint8(0) & 7 }),
    encode: (v, view) => view.setUint8(0, (truth(v.control) ? 8 : 0) | whole(v.step, 0, 7)),
    samples: [
        [false, 0],
        [false, 7],
        [true, 0],
        [true, 1],
        [true, 7],
    ].map(([control, step]) => ({ control, step })),
};

// Two bytes, MEEE EMMM MMMM MMMM: 0.01 * mantissa * 2 ^ exponent; 0x7FFF says "no value".
function float16(low = -671088.64, high = 670433.28) {
    return {
        length: 2,
        decode: view => {
            const raw = view.getUint16(0);
            if (raw === 0x7fff) throw new NoValue("no value (7fff)");
            const mantissa = (raw & 0x7ff) - (raw & 0x8000 ? 0x800 : 0);
            const value = (mantissa * 2 ** ((raw >> 11) & 15)) / 100;
            return value < low || value > high ? fail(`${value} is outside of ${low} to ${high}`) : value;
        },
        encode: (value, view) => {
            if (!(number(value) >= low && value <= high)) fail(`${value} is outside of ${low} to ${high}`);
            let exponent = 0;
            let mantissa = roundTiesToEven(value * 100);
            while (mantissa < -2048 || mantissa > 2047) mantissa = roundTiesToEven((value * 100) / 2 ** ++exponent);
            view.setUint16(0, (mantissa < 0 ? 0x8000 : 0) | (exponent << 11) | (mantissa & 0x7ff));
        },
        samples: [low, Math.max(low, -12.34), 0, 0.01, 0.5, 21.5, 99.84, 1234.56, high],
    };
}

const float32 = {
    length: 4,
    decode: view => (Number.isFinite(view.getFloat32(0)) ? view.getFloat32(0) : fail("not a finite number")),
    encode: (value, view) =>
        typeof value === "number" && Number.isFinite(Math.fround(value))
            ? view.setFloat32(0, value)
            : fail(`finite number expected, found ${JSON.stringify(value)}`),
    samples: [-3.4e38, -50.25, 0, 0.001, 21.5, 230.1, 9.6e4, 3.4e38],
};

const int64 = {
    length: 8,
    decode: view => Number(view.getBigInt64(0)),
    encode: (value, view) => view.setBigInt64(0, BigInt(whole(value, -(2 ** 63), 2 ** 63 - 1024))),
    samples: [-(2 ** 53), 0, 1, 123456789, 2 ** 53],
};

const text = {
    length: 14,
    decode: view => String.fromCharCode(...new Uint8Array(view.buffer)).replace(/\0+$/, ""),
    encode: (value, view) => {
        if (typeof value !== "string" || value.length > 14)
            fail(`text of 14 characters at most, found ${JSON.stringify(value)}`);
        [...value].forEach((c, i) =>
            view.setUint8(i, c.charCodeAt(0) > 255 ? fail(`no room for ${c}`) : c.charCodeAt(0)),
        );
    },
    samples: ["", "Heron", "fourteen chars"],
};

const scene = { ...steps("Uint8", 0, 63), samples: [0, 1, 62, 63] };
const sceneControl = {
    length: 1,
    decode: view => ({ learn: view.getUint8(0) > 127, scene: view.getUint8(0) & 63 }),
    encode: (v, view) => view.setUint8(0, (truth(v.learn) ? 128 : 0) | whole(v.scene, 0, 63)),
    samples: [
        [false, 0],
        [false, 63],
        [true, 1],
    ].map(([learn, scene]) => ({ learn, scene })),
};

// A structure, from the highest bit of the first byte down. A field: [name, bits, units, per], where `per` raw steps are
// `units`; [name, 0] is one bit, a truth value; ["", bits] is reserved; [[names], 1] is a bit that says that these
// fields hold something. A field that holds nothing is null.
function structure(list, samples) {
    const width = ([, bits]) => bits || 1;
    const guards = list.filter(([name]) => Array.isArray(name));
    const guarded = name => guards.some(([names]) => names.includes(name));
    const raw = (view, position, bits) => {
        let value = 0;
        for (let at = position; at < position + bits; at++)
            value = value * 2 + ((view.getUint8(at >> 3) >> (7 - (at & 7))) & 1);
        return value;
    };
    const put = (view, position, bits, value) => {
        for (let at = position + bits - 1; at >= position; at--, value = Math.floor(value / 2))
            view.setUint8(at >> 3, view.getUint8(at >> 3) | ((value % 2) << (7 - (at & 7))));
    };
    return {
        length: list.reduce((sum, entry) => sum + width(entry), 0) / 8,
        decode: view => {
            const value = {};
            let position = 0;
            for (const entry of list) {
                const [name, bits, units = 1, per = 1] = entry;
                const now = raw(view, position, width(entry));
                position += width(entry);
                if (Array.isArray(name)) for (const guardedName of now ? [] : name) value[guardedName] = null;
                else if (name) value[name] = bits === 0 ? now === 1 : (now * units) / per;
                else if (now) fail("reserved bits are set");
            }
            return value;
        },
        encode: (value, view) => {
            const strange = Object.keys(value).find(name => !list.some(entry => entry[0] === name));
            if (strange !== undefined) fail(`no field ${strange}`);
            let position = 0;
            for (const entry of list) {
                const [name, bits, units = 1, per = 1] = entry;
                const holds = n => value[n] !== undefined && value[n] !== null;
                let now = 0;
                if (Array.isArray(name)) now = name.every(holds) ? 1 : 0;
                else if (name && holds(name))
                    now =
                        bits === 0
                            ? Number(truth(value[name]))
                            : whole((number(value[name]) * per) / units, 0, 2 ** bits - 1);
                else if (name && !guarded(name)) fail(`field ${name} is missing`);
                put(view, position, width(entry), now);
                position += width(entry);
            }
        },
        samples,
    };
}

const rgb = [
    ["red", 8],
    ["green", 8],
    ["blue", 8],
];
const colours = [
    [0, 0, 0],
    [255, 255, 255],
    [255, 0, 0],
    [10, 200, 60],
].map(([red, green, blue]) => ({ red, green, blue }));
const colourRgb = structure(rgb, colours);
const colourRgbw = structure(
    [...rgb, ["white", 8], ["", 12], [["red"], 1], [["green"], 1], [["blue"], 1], [["white"], 1]],
    [...colours.map(c => ({ ...c, white: 40 })), { ...colours[2], white: null }],
);
const colourXyy = structure(
    [
        ["x", 16, 1, 65535],
        ["y", 16, 1, 65535],
        ["brightness", 8],
        ["", 6],
        [["x", "y"], 1],
        [["brightness"], 1],
    ],
    [
        [0.3127, 0.329, 255],
        [0.64, 0.33, 100],
        [0, 0, 0],
        [1, 1, 255],
        [0.2, 0.1, null],
        [null, null, 80],
    ].map(([x, y, brightness]) => ({ x, y, brightness })),
);
const brightnessTemperature = structure(
    [
        ["time", 16, 1, 10],
        ["temperature", 16],
        ["brightness", 8],
        ["", 5],
        [["time"], 1],
        [["temperature"], 1],
        [["brightness"], 1],
    ],
    [
        [0, 2700, 255],
        [1.5, 6500, 0],
        [null, 65535, null],
        [null, null, 128],
        [0, 1, 1],
    ].map(([time, temperature, brightness]) => ({ time, temperature, brightness })),
);
const blindPosition = structure(
    [
        ["height", 8, 100, 255],
        ["slats", 8, 100, 255],
        ["", 6],
        [["slats"], 1],
        [["height"], 1],
    ],
    [
        [0, 0],
        [100, 100],
        [40, null],
        [null, 60],
    ].map(([height, slats]) => ({ height, slats })),
);

// Types of their own; a main type alone stands for all its other subtypes.
const KINDS = new Map(
    Object.entries({
        "1": bit,
        "2": forced,
        "3": controlStep,
        "5": steps("Uint8", 0, 255),
        "5.001": steps("Uint8", 0, 255, 100, 255),
        "5.003": steps("Uint8", 0, 255, 360, 255),
        "5.006": steps("Uint8", 0, 254),
        "6": steps("Int8", -128, 127),
        "7": steps("Uint16", 0, 65535),
        "7.003": steps("Uint16", 0, 65535, 10),
        "7.004": steps("Uint16", 0, 65535, 100),
        "8": steps("Int16", -32768, 32767),
        "8.003": steps("Int16", -32768, 32767, 10),
        "8.004": steps("Int16", -32768, 32767, 100),
        "8.010": steps("Int16", -32768, 32767, 1, 100),
        "9": float16(),
        "9.001": float16(-273),
        "9.004": float16(0),
        "9.005": float16(0),
        "9.006": float16(0),
        "9.007": float16(0),
        "9.008": float16(0),
        "9.027": float16(-459.6),
        "9.028": float16(0),
        "9.029": float16(0),
        "9.030": float16(0),
        "12": steps("Uint32", 0, 2 ** 32 - 1),
        "13": steps("Int32", -(2 ** 31), 2 ** 31 - 1),
        "14": float32,
        "16": text,
        "17": scene,
        "18": sceneControl,
        "20": enumeration(...range(0, 255)),
        "20.102": enumeration(0, 1, 2, 3, 4),
        "20.105": enumeration(...range(0, 17), 20),
        "20.107": enumeration(0, 1, 2),
        "29": int64,
        "232": colourRgb,
        "240": blindPosition,
        "242": colourXyy,
        "249": brightnessTemperature,
        "251": colourRgbw,
    }),
);

export function kind(dpt) {
    return KINDS.get(dpt) ?? KINDS.get(dpt.split(".")[0]) ?? fail(`datapoint type ${dpt} is unknown to this judge`);
}

export function encode(dpt, value) {
    const { short = false, length, encode } = kind(dpt);
    const view = new DataView(new ArrayBuffer(length));
    encode(value, view);
    return { short, bytes: [...new Uint8Array(view.buffer)] };
}

export function decode(dpt, payload) {
    const { short = false, length, decode } = kind(dpt);
    if (payload.short !== short || payload.bytes.length !== length)
        fail(`${payload.bytes.length} bytes${payload.short ? ", short" : ""} are no payload of ${dpt}`);
    return decode(new DataView(Uint8Array.from(payload.bytes).buffer));
}

/** Payloads to try a type with: both ends of its range and some between; a payload that says "no value" where there is one. */
export function samples(dpt) {
    const list = kind(dpt).samples.map(value => encode(dpt, value));
    if (dpt.startsWith("9.")) list.push({ short: false, bytes: [0x7f, 0xff] });
    return list;
}

export const hex = ({ bytes }) => bytes.map(b => b.toString(16).padStart(2, "0")).join("");
