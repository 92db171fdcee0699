// A colour is told in three ways, and what sets it in one sets the others (the head of the bridge JSON's schema).
//
// The colour mode of a lamp that reports its white follows the wall too: what a telegram changes says in which mode the lamp
// is, but not within 10 s after a command of colour (cluster§3.2.7.10 and the head of the bridge JSON's schema).

import { ConversionError, convert } from "./interpreter.mjs";

const TELLS = [
    ["ColorTemperatureMireds", 2],
    ["CurrentHue", 0],
    ["CurrentSaturation", 0],
    ["CurrentX", 1],
    ["CurrentY", 1],
].map(([name, mode]) => [`ColorControl.${name}`, mode]);

export const COLOURS = TELLS.map(([name]) => name);
export const MODES = ["ColorControl.ColorMode", "ColorControl.EnhancedColorMode"];
export const WHITE = 2; // the mode of a temperature
export const COMMAND_COUNTS_FOR = 10_000; // milliseconds

/** Whether the modes of the endpoint follow telegrams. */
export const followsTheWall = ({ links }) =>
    links.some(l => l.direction === "from-bus" && l.cluster === "ColorControl" && l.attribute === "ColorTemperatureMireds");

/** The mode that a change from `before` (values by name) tells; undefined if none of them changed. */
export const modeTold = (before, now) =>
    TELLS.find(([name]) => before.get(name) !== undefined && before.get(name) !== now(name))?.[1];

const [MIREDS, HUE, SATURATION, X, Y] = COLOURS;
const of = attribute => ({ attribute });
const end = (name, from, to) => [
    { step: "field", name },
    { step: "scale", from, to },
    { step: "round", to: 1 },
];
const FROM_WHITE = [{ step: "attribute", of: MIREDS }, { step: "reciprocal", numerator: 1000000 }, { step: "kelvin-to-xy" }];
const FROM_HUE = [
    { step: "gather", fields: { hue: of(HUE), saturation: of(SATURATION), value: { constant: 1 } } },
    { step: "scale-fields", of: ["hue"], from: [0, 254], to: [0, 360] },
    { step: "scale-fields", of: ["saturation"], from: [0, 254], to: [0, 1] },
    { step: "hsv-to-rgb" },
    { step: "rgb-to-xyy" },
];
const FROM_XY = [
    { step: "gather", fields: { x: of(X), y: of(Y), Y: { constant: 1 } } },
    { step: "scale-fields", of: ["x", "y"], from: [0, 65536], to: [0, 1] },
    { step: "xyy-to-rgb" },
    { step: "rgb-to-hsv" },
];
const xy = steps => [
    [X, [...steps, ...end("x", [0, 1], [0, 65536])]],
    [Y, [...steps, ...end("y", [0, 1], [0, 65536])]],
];
const HUE_AND_SATURATION = [
    [HUE, [...FROM_XY, ...end("hue", [0, 360], [0, 254])]],
    [SATURATION, [...FROM_XY, ...end("saturation", [0, 1], [0, 254])]],
];
const OTHER_WAYS = [xy(FROM_HUE), HUE_AND_SATURATION, [...xy(FROM_WHITE), ...HUE_AND_SATURATION]];

/** What a colour of a mode is in the other ways, by attribute; the temperature is none of them. */
export function inOtherWays(mode, now) {
    const found = {};
    const seen = name => found[name] ?? now(name);
    for (const [name, steps] of OTHER_WAYS[mode]) {
        try {
            found[name] = convert(steps, true, seen) ?? now(name);
        } catch (error) {
            // The endpoint has no such attribute.
            if (!(error instanceof ConversionError)) throw error;
        }
    }
    return found;
}
