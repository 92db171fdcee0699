// Runs the conversion steps of a bridge JSON, from the JSON alone. Knows nothing of the program that wrote them.
//
// A value is null, a truth value, a number, a text or an object. Null passes every step but `if-null`; null at the
// end means that nothing is passed on. The errors are those the format names: wrong-kind, no-field, no-attribute,
// not-finite. `convert(steps, value, attribute)`: `attribute(name)` gives `Cluster.Attribute` as it stands now, or
// undefined. Checked by samples.mjs against the samples that every interpreter must pass.

/** `step` says where: 1 for the first step, 2.1 for the first within the second. */
export class ConversionError extends Error {
    constructor(code, message) {
        super(`${code}: ${message}`);
        this.code = code;
    }

    within(step) {
        this.step = this.step ? `${step}.${this.step}` : String(step);
        return this;
    }
}

const wrong = (expected, value) =>
    new ConversionError("wrong-kind", `${expected} expected, found ${JSON.stringify(value)}`);
const isStructure = value => typeof value === "object" && value !== null && !Array.isArray(value);

function number(value) {
    if (typeof value !== "number") throw wrong("number", value);
    return value;
}

function truth(value) {
    if (typeof value !== "boolean") throw wrong("truth value", value);
    return value;
}

function structure(value) {
    if (!isStructure(value)) throw wrong("structure", value);
    return value;
}

function field(value, name) {
    if (!Object.hasOwn(structure(value), name)) throw new ConversionError("no-field", name);
    return value[name];
}

// The named fields as numbers, or undefined if one of them is null.
function numbers(value, names) {
    const all = names.map(name => field(value, name));
    return all.includes(null) ? undefined : all.map(number);
}

function finite(value) {
    if (!Number.isFinite(value)) throw new ConversionError("not-finite", String(value));
    return value === 0 ? 0 : value; // never a negative zero
}

export function equal(a, b) {
    if (!isStructure(a) || !isStructure(b)) return a === b;
    const names = Object.keys(a);
    return names.length === Object.keys(b).length && names.every(n => Object.hasOwn(b, n) && equal(a[n], b[n]));
}

const line = (value, { from, to }) => finite(((value - from[0]) * (to[1] - to[0])) / (from[1] - from[0]) + to[0]);
const cut = (value, min, max) => Math.min(Math.max(value, min), max);

export function roundTiesToEven(value) {
    const below = Math.floor(value);
    const rest = value - below;
    return finite(rest < 0.5 ? below : rest > 0.5 ? below + 1 : below % 2 === 0 ? below : below + 1);
}

function attributeNow(attribute, name) {
    const value = attribute(name);
    if (value === undefined) throw new ConversionError("no-attribute", name);
    return value;
}

function gather({ fields }, value, attribute) {
    const result = {};
    for (const [name, origin] of Object.entries(fields)) {
        if ("field" in origin) {
            result[name] = field(value, origin.field);
        } else if ("attribute" in origin) {
            const now = attributeNow(attribute, origin.attribute);
            if (now === null) return null;
            result[name] = now;
        } else if ("constant" in origin) {
            result[name] = origin.constant;
        } else {
            throw wrong("field, attribute or constant", origin);
        }
    }
    return result;
}

// Colours. Components are cut off at 0 and 1 where the format says so.

function components(value, names) {
    return numbers(value, names)?.map(c => cut(c, 0, 1));
}

function rgbToHsv(input) {
    const rgb = components(input, ["red", "green", "blue"]);
    if (!rgb) return null;
    const [red, green, blue] = rgb;
    const value = Math.max(...rgb);
    const spread = value - Math.min(...rgb);
    if (value === 0) return { hue: null, saturation: null, value };
    if (spread === 0) return { hue: null, saturation: 0, value };
    const sixth =
        value === red
            ? (green - blue) / spread
            : value === green
              ? (blue - red) / spread + 2
              : (red - green) / spread + 4;
    const hue = sixth * 60;
    return { hue: hue < 0 ? hue + 360 : hue, saturation: spread / value, value };
}

function hsvToRgb(input) {
    if (field(input, "value") === null) return null;
    const value = cut(number(input.value), 0, 1);
    const saturation = cut(number(field(input, "saturation") ?? 0), 0, 1);
    const turn = number(field(input, "hue") ?? 0) % 360;
    const sixth = (turn < 0 ? turn + 360 : turn) / 60;
    const component = shift => {
        const k = (shift + sixth) % 6;
        return value - value * saturation * cut(Math.min(k, 4 - k), 0, 1);
    };
    return { red: component(5), green: component(3), blue: component(1) };
}

// Matrix from linear sRGB to XYZ, from the chromaticities of the three primaries and of the white point.
const TO_XYZ = (() => {
    const primaries = [
        [0.64, 0.33],
        [0.3, 0.6],
        [0.15, 0.06],
    ].map(([x, y]) => [x / y, 1, (1 - x - y) / y]);
    const white = [0.3127 / 0.329, 1, (1 - 0.3127 - 0.329) / 0.329];
    const columns = [0, 1, 2].map(row => primaries.map(p => p[row]));
    const amounts = multiply(inverse(columns), white);
    return columns.map(row => row.map((v, i) => v * amounts[i]));
})();
const FROM_XYZ = inverse(TO_XYZ);

function multiply(matrix, vector) {
    return matrix.map(row => row[0] * vector[0] + row[1] * vector[1] + row[2] * vector[2]);
}

function inverse([[a, b, c], [d, e, f], [g, h, i]]) {
    const det = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
    return [
        [(e * i - f * h) / det, (c * h - b * i) / det, (b * f - c * e) / det],
        [(f * g - d * i) / det, (a * i - c * g) / det, (c * d - a * f) / det],
        [(d * h - e * g) / det, (b * g - a * h) / det, (a * e - b * d) / det],
    ];
}

function rgbToXyy(input) {
    const rgb = components(input, ["red", "green", "blue"]);
    if (!rgb) return null;
    const linear = rgb.map(c => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
    const [X, Y, Z] = multiply(TO_XYZ, linear);
    const sum = X + Y + Z;
    return sum === 0 ? { x: null, y: null, Y: 0 } : { x: X / sum, y: Y / sum, Y };
}

function xyyToRgb(input) {
    const Y = field(input, "Y");
    if (Y === null) return null;
    if (number(Y) <= 0) return { red: 0, green: 0, blue: 0 };
    const xy = numbers(input, ["x", "y"]);
    if (!xy || xy[1] <= 0) return null;
    const [x, y] = xy;
    let linear = multiply(FROM_XYZ, [(x * Y) / y, Y, ((1 - x - y) * Y) / y]).map(c => Math.max(c, 0));
    const largest = Math.max(...linear);
    if (largest > 1) linear = linear.map(c => c / largest);
    const [red, green, blue] = linear.map(c => finite(c <= 0.0031308 ? c * 12.92 : 1.055 * c ** (1 / 2.4) - 0.055));
    return { red, green, blue };
}

function kelvinToXy(value) {
    const t = cut(number(value), 1667, 25000);
    const u = 1000 / t;
    const x =
        t <= 4000
            ? -0.2661239 * u ** 3 - 0.2343589 * u ** 2 + 0.8776956 * u + 0.17991
            : -3.0258469 * u ** 3 + 2.1070379 * u ** 2 + 0.2226347 * u + 0.24039;
    const y =
        t <= 2222
            ? -1.1063814 * x ** 3 - 1.3481102 * x ** 2 + 2.18555832 * x - 0.20219683
            : t <= 4000
              ? -0.9549476 * x ** 3 - 1.37418593 * x ** 2 + 2.09137015 * x - 0.16748867
              : 3.081758 * x ** 3 - 5.8733867 * x ** 2 + 3.75112997 * x - 0.37001483;
    return { x, y };
}

function xyToKelvin(input) {
    const xy = numbers(input, ["x", "y"]);
    if (!xy || xy[1] === 0.1858) return null;
    const n = (xy[0] - 0.332) / (xy[1] - 0.1858);
    return cut(-449 * n ** 3 + 3525 * n ** 2 - 6823.3 * n + 5520.33, 1667, 25000);
}

function rgbwToRgb(input) {
    const all = components(input, ["red", "green", "blue", "white"]);
    if (!all) return null;
    const [red, green, blue] = all.slice(0, 3).map(c => cut(c + all[3], 0, 1));
    return { red, green, blue };
}

function rgbToRgbw(input) {
    const rgb = components(input, ["red", "green", "blue"]);
    if (!rgb) return null;
    const white = Math.min(...rgb);
    const [red, green, blue] = rgb.map(c => c - white);
    return { red, green, blue, white };
}

function testBit({ number: bit }, value) {
    if (!Number.isInteger(value) || value < 0) throw wrong("whole number, not negative", value);
    return Math.floor(value / 2 ** bit) % 2 === 1;
}

function bands({ rows }, value) {
    number(value);
    return rows.findLast(([from]) => from <= value)?.[1] ?? null;
}

// Each step: (parameters, value that is not null, attribute) => value.
const STEPS = {
    "same": (_, value) => value,
    "not": (_, value) => !truth(value),
    "scale": (step, value) => line(number(value), step),
    "round": ({ to }, value) => finite(roundTiesToEven(number(value) / to) * to),
    "clamp": ({ min, max }, value) => cut(number(value), min, max),
    "reciprocal": ({ numerator }, value) => (number(value) === 0 ? null : finite(numerator / value)),
    "log10": ({ factor, offset, smallest, below }, value) =>
        number(value) < smallest ? (below ?? null) : finite(factor * Math.log10(value) + offset),
    "power10": ({ factor, offset }, value) => finite(10 ** ((number(value) - offset) / factor)),
    "table": ({ pairs, otherwise }, value) => {
        const pair = pairs.find(([input]) => equal(input, value));
        return pair ? pair[1] : (otherwise ?? null);
    },
    "bands": bands,
    "ignore": ({ values }, value) => (values.some(v => equal(v, value)) ? null : value),
    "if-null": (_, value) => value,
    "bit": ({ number: bit }, value) => (truth(value) ? 2 ** bit : 0),
    "test-bit": testBit,
    "above": ({ limit }, value) => number(value) > limit,
    "constant": ({ value }) => value,
    "field": ({ name }, value) => field(value, name),
    "wrap": ({ name }, value) => ({ [name]: value }),
    "within": ({ name, steps }, value, attribute) => ({
        ...structure(value),
        [name]: convert(steps, field(value, name), attribute),
    }),
    "gather": gather,
    "attribute": ({ of }, _, attribute) => attributeNow(attribute, of),
    "sum": ({ of }, value) => {
        const all = numbers(value, of);
        return all ? finite(all.reduce((a, b) => a + b, 0)) : null;
    },
    "difference": ({ of }, value) => {
        const all = numbers(value, of);
        return all ? finite(all[0] - all[1]) : null;
    },
    "set": ({ fields }, value) => ({ ...structure(value), ...fields }),
    "scale-fields": (step, value) => {
        const result = { ...structure(value) };
        for (const name of step.of) {
            const now = field(value, name);
            result[name] = now === null ? null : line(number(now), step);
        }
        return result;
    },
    "rgb-to-hsv": (_, value) => rgbToHsv(value),
    "hsv-to-rgb": (_, value) => hsvToRgb(value),
    "rgb-to-xyy": (_, value) => rgbToXyy(value),
    "xyy-to-rgb": (_, value) => xyyToRgb(value),
    "kelvin-to-xy": (_, value) => kelvinToXy(value),
    "xy-to-kelvin": (_, value) => xyToKelvin(value),
    "rgbw-to-rgb": (_, value) => rgbwToRgb(value),
    "rgb-to-rgbw": (_, value) => rgbToRgbw(value),
};

function runStep(step, value, attribute) {
    const run = Object.hasOwn(STEPS, step.step) && STEPS[step.step];
    if (!run) throw new ConversionError("unknown-step", String(step.step));
    if (value !== null) return run(step, value, attribute);
    return step.step === "if-null" ? step.value : null;
}

/** The value at the end of the steps; null means that nothing is passed on. */
export function convert(steps, value, attribute = () => undefined) {
    return steps.reduce((now, step, index) => {
        try {
            return runStep(step, now, attribute);
        } catch (error) {
            throw error instanceof ConversionError ? error.within(index + 1) : error;
        }
    }, value);
}
