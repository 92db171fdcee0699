// The colour mode of a lamp that reports its white follows the wall too: what a telegram changes says in which mode the lamp
// is, but not within 10 s after a command of colour (cluster§3.2.7.10 and the head of the bridge JSON's schema).

const TELLS = [
    ["ColorTemperatureMireds", 2],
    ["CurrentHue", 0],
    ["CurrentSaturation", 0],
    ["CurrentX", 1],
    ["CurrentY", 1],
].map(([name, mode]) => [`ColorControl.${name}`, mode]);

export const COLOURS = TELLS.map(([name]) => name);
export const MODES = ["ColorControl.ColorMode", "ColorControl.EnhancedColorMode"];
export const COMMAND_COUNTS_FOR = 10_000; // milliseconds

/** Whether the modes of the endpoint follow telegrams. */
export const followsTheWall = ({ links }) =>
    links.some(l => l.direction === "from-bus" && l.cluster === "ColorControl" && l.attribute === "ColorTemperatureMireds");

/** The mode that a change from `before` (values by name) tells; undefined if none of them changed. */
export const modeTold = (before, now) =>
    TELLS.find(([name]) => before.get(name) !== undefined && before.get(name) !== now(name))?.[1];
