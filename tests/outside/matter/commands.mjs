// What the data model's commands ask for: values to invoke each with, and the attributes that it is about.
//
// `samplesOf` gives fields by the data model's names. `askedBy` gives the attributes that change: those a command sets
// at once whatever the bus says (targets, setpoints), and with `shown` also those that follow a command only where the
// bus reports nothing. Names are `Cluster.Attribute`; ones that the endpoint lacks are passed over by the caller.
// Source: Matter Application Cluster Specification 1.6, the sections of these clusters.

import { same } from "./model.mjs";
import { inOtherWays } from "./modes.mjs";

const EXECUTE_IF_OFF = { OptionsMask: 1, OptionsOverride: 1 };

// Numbers of a range, both ends among them.
const spread = (low, high) => [
    ...new Set([low, high, low + Math.round((high - low) / 2), low + Math.round((high - low) / 5)]),
];
const cut = (value, low, high) => Math.min(Math.max(value, low), high);

const levelSamples = now =>
    spread(now("LevelControl.MinLevel") ?? 1, now("LevelControl.MaxLevel") ?? 254).map(Level => ({
        Level,
        TransitionTime: 0,
        ...EXECUTE_IF_OFF,
    }));
const level = ({ Level }, now) => cut(Level, now("LevelControl.MinLevel") ?? 0, now("LevelControl.MaxLevel") ?? 254);
const stepLevel = ({ StepMode, StepSize }, now) =>
    level({ Level: (now("LevelControl.CurrentLevel") ?? 0) + (StepMode === 0 ? StepSize : -StepSize) }, now);
const steps = [0, 1].map(StepMode => ({ StepMode, StepSize: 40, TransitionTime: 0, ...EXECUTE_IF_OFF }));
const moves = [0, 1].map(MoveMode => ({ MoveMode, Rate: 50, ...EXECUTE_IF_OFF }));
const onAbove = (value, now) => ({
    "LevelControl.CurrentLevel": value,
    "OnOff.OnOff": value > (now("LevelControl.MinLevel") ?? 0),
});

// The mode is that of the last command, whatever the bus reports; the bus confirms what the command names.
const colourMode = (mode, values, now) => ({
    always: { "ColorControl.ColorMode": mode, "ColorControl.EnhancedColorMode": mode },
    shown: { ...inOtherWays(mode, name => values[name] ?? now(name)), ...values },
    named: values,
});
const COLOUR = { TransitionTime: 0, ...EXECUTE_IF_OFF };
const hueSaturation = ({ Hue, Saturation }, now) => {
    const values = {
        ...(Hue === undefined ? {} : { "ColorControl.CurrentHue": Hue }),
        ...(Saturation === undefined ? {} : { "ColorControl.CurrentSaturation": Saturation }),
    };
    return colourMode(0, values, now);
};
const miredsOf = now => [
    now("ColorControl.ColorTempPhysicalMinMireds") ?? 1,
    now("ColorControl.ColorTempPhysicalMaxMireds") ?? 65279,
];

const cover = (which, value) => ({ [`WindowCovering.${which}`]: value });
const lift = value => ({
    always: cover("TargetPositionLiftPercent100ths", value),
    shown: cover("CurrentPositionLiftPercent100ths", value),
});
const tilt = value => ({
    always: cover("TargetPositionTiltPercent100ths", value),
    shown: cover("CurrentPositionTiltPercent100ths", value),
});
const both = value => ({
    always: { ...lift(value).always, ...tilt(value).always },
    shown: { ...lift(value).shown, ...tilt(value).shown },
});
const PERCENT100THS = [0, 10000, 5000, 3333, 1];

// Where a closure is when it has moved to a target: closed, open, for pedestrians, for ventilation, signature position.
const CLOSURE_REACHED = [0, 1, 3, 4, 5];

function raiseLower({ Mode, Amount }, now) {
    const always = {};
    for (const [name, which, low, high] of [
        ["Heating", "Heat", 700, 3000],
        ["Cooling", "Cool", 1600, 3200],
    ]) {
        const setpoint = now(`Thermostat.Occupied${name}Setpoint`);
        if (setpoint === undefined || setpoint === null || (Mode !== 2 && Mode !== (name === "Heating" ? 0 : 1)))
            continue;
        const min = now(`Thermostat.Min${which}SetpointLimit`) ?? now(`Thermostat.AbsMin${which}SetpointLimit`) ?? low;
        const max = now(`Thermostat.Max${which}SetpointLimit`) ?? now(`Thermostat.AbsMax${which}SetpointLimit`) ?? high;
        always[`Thermostat.Occupied${name}Setpoint`] = cut(setpoint + Amount * 10, min, max);
    }
    return { always };
}

// A supply that an error has disabled stays so until the error is cleared.
const supply = (state, now) => (now("EnergyEvse.SupplyState") === 3 ? {} : { shown: { "EnergyEvse.SupplyState": state } });

const mode = cluster => ({
    asks: ({ NewMode }) => ({ shown: { [`${cluster}.CurrentMode`]: NewMode } }),
    samples: now => (now(`${cluster}.SupportedModes`) ?? []).map(({ Mode }) => ({ NewMode: Mode })),
});

// asks: (fields, now) => { always, shown }; samples: (now, features) => [fields]. Without samples the fields are made from
// the model. confirms: (fields, now) => whether the bus can confirm just this; confirmed: fields => what it then shows, if that
// is not all of `shown`.
const COMMANDS = {
    "OnOff.Off": { asks: () => ({ shown: { "OnOff.OnOff": false } }) },
    "OnOff.On": { asks: () => ({ shown: { "OnOff.OnOff": true } }) },
    "OnOff.Toggle": {
        asks: (_, now) => ({ shown: { "OnOff.OnOff": !now("OnOff.OnOff") } }),
        samples: () => [{}, {}, {}],
    },
    "OnOff.OffWithEffect": {
        asks: () => ({ shown: { "OnOff.OnOff": false } }),
        samples: () => [{ EffectIdentifier: 0, EffectVariant: 0 }],
    },
    "OnOff.OnWithRecallGlobalScene": { asks: () => ({ shown: { "OnOff.OnOff": true } }) },
    "OnOff.OnWithTimedOff": {
        asks: () => ({ shown: { "OnOff.OnOff": true } }),
        samples: () => [{ OnOffControl: 0, OnTime: 600, OffWaitTime: 0 }],
    },
    "LevelControl.MoveToLevel": {
        asks: (fields, now) => ({ shown: { "LevelControl.CurrentLevel": level(fields, now) } }),
        samples: levelSamples,
    },
    "LevelControl.MoveToLevelWithOnOff": {
        asks: (fields, now) => ({ shown: onAbove(level(fields, now), now) }),
        samples: levelSamples,
    },
    "LevelControl.Step": {
        asks: (f, now) => ({ shown: { "LevelControl.CurrentLevel": stepLevel(f, now) } }),
        samples: () => steps,
    },
    "LevelControl.StepWithOnOff": {
        asks: (f, now) => ({ shown: onAbove(stepLevel(f, now), now) }),
        // Down to the lowest level too, which is off.
        samples: () => [...steps, { ...steps[1], StepSize: 254 }],
    },
    "LevelControl.Move": { samples: () => moves },
    "LevelControl.MoveWithOnOff": { samples: () => moves },
    "LevelControl.Stop": { samples: () => [EXECUTE_IF_OFF] },
    "LevelControl.StopWithOnOff": { samples: () => [EXECUTE_IF_OFF] },
    "ColorControl.MoveToHue": {
        asks: ({ Hue }, now) => hueSaturation({ Hue }, now),
        samples: () => [0, 127, 254].map(Hue => ({ Hue, Direction: 0, ...COLOUR })),
    },
    "ColorControl.MoveToSaturation": {
        asks: ({ Saturation }, now) => hueSaturation({ Saturation }, now),
        samples: () => [0, 127, 254].map(Saturation => ({ Saturation, ...COLOUR })),
    },
    "ColorControl.MoveToHueAndSaturation": {
        asks: (fields, now) => hueSaturation(fields, now),
        samples: () =>
            [
                [0, 0],
                [0, 254],
                [85, 254],
                [254, 127],
            ].map(([Hue, Saturation]) => ({ Hue, Saturation, ...COLOUR })),
    },
    "ColorControl.MoveToColor": {
        asks: (f, now) => colourMode(1, { "ColorControl.CurrentX": f.ColorX, "ColorControl.CurrentY": f.ColorY }, now),
        // An impossible colour is shown as the nearest possible one.
        confirms: ({ ColorX, ColorY }) => ColorX + ColorY < 65536,
        samples: () =>
            [
                [20493, 21561],
                [41943, 21627],
                [13107, 9830],
                [65279, 65279],
            ].map(([ColorX, ColorY]) => ({ ColorX, ColorY, ...COLOUR })),
    },
    "ColorControl.MoveToColorTemperature": {
        asks: ({ ColorTemperatureMireds }, now) =>
            colourMode(2, { "ColorControl.ColorTemperatureMireds": cut(ColorTemperatureMireds, ...miredsOf(now)) }, now),
        samples: now => spread(...miredsOf(now)).map(ColorTemperatureMireds => ({ ColorTemperatureMireds, ...COLOUR })),
    },
    "ColorControl.StepColorTemperature": {
        asks: ({ StepMode, StepSize }, now) => {
            const mireds = now("ColorControl.ColorTemperatureMireds") + (StepMode === 1 ? StepSize : -StepSize);
            return colourMode(2, { "ColorControl.ColorTemperatureMireds": cut(mireds, ...miredsOf(now)) }, now);
        },
        samples: () =>
            [1, 3].map(StepMode => ({
                StepMode,
                StepSize: 40,
                ColorTemperatureMinimumMireds: 0,
                ColorTemperatureMaximumMireds: 0,
                ...COLOUR,
            })),
    },
    "WindowCovering.UpOrOpen": { asks: () => both(0) },
    "WindowCovering.DownOrClose": { asks: () => both(10000) },
    "WindowCovering.StopMotion": {
        asks: (_, now) => ({
            always: {
                ...cover("TargetPositionLiftPercent100ths", now("WindowCovering.CurrentPositionLiftPercent100ths")),
                ...cover("TargetPositionTiltPercent100ths", now("WindowCovering.CurrentPositionTiltPercent100ths")),
            },
            // An estimate ends where it is.
            shown: Object.fromEntries(
                ["Lift", "Tilt"].map(way => `WindowCovering.CurrentPosition${way}Percent100ths`).map(n => [n, now(n)]),
            ),
        }),
    },
    "WindowCovering.GoToLiftPercentage": {
        asks: f => lift(f.LiftPercent100thsValue),
        samples: () => PERCENT100THS.map(LiftPercent100thsValue => ({ LiftPercent100thsValue })),
    },
    "WindowCovering.GoToTiltPercentage": {
        asks: f => tilt(f.TiltPercent100thsValue),
        samples: () => PERCENT100THS.map(TiltPercent100thsValue => ({ TiltPercent100thsValue })),
    },
    "Thermostat.SetpointRaiseLower": {
        asks: raiseLower,
        samples: now =>
            [0, 1, 2]
                .filter(
                    m =>
                        (m === 1 || now("Thermostat.OccupiedHeatingSetpoint") !== undefined) &&
                        (m === 0 || now("Thermostat.OccupiedCoolingSetpoint") !== undefined),
                )
                .flatMap(Mode => [5, -10].map(Amount => ({ Mode, Amount }))),
    },
    "DoorLock.LockDoor": { asks: () => ({ shown: { "DoorLock.LockState": 1 } }), samples: () => [{}] },
    "DoorLock.UnlockDoor": { asks: () => ({ shown: { "DoorLock.LockState": 2 } }), samples: () => [{}] },
    "ValveConfigurationAndControl.Open": {
        asks: ({ TargetLevel }) => ({
            always: {
                "ValveConfigurationAndControl.TargetState": 1,
                "ValveConfigurationAndControl.TargetLevel": TargetLevel ?? 100,
            },
            shown: {
                "ValveConfigurationAndControl.CurrentState": 1,
                "ValveConfigurationAndControl.CurrentLevel": TargetLevel ?? 100,
            },
        }),
        samples: now =>
            now("ValveConfigurationAndControl.TargetLevel") === undefined
                ? [{}]
                : [{}, ...[1, 50, 100].map(TargetLevel => ({ TargetLevel }))],
    },
    "ValveConfigurationAndControl.Close": {
        asks: () => ({
            always: { "ValveConfigurationAndControl.TargetState": 0, "ValveConfigurationAndControl.TargetLevel": 0 },
            shown: { "ValveConfigurationAndControl.CurrentState": 0, "ValveConfigurationAndControl.CurrentLevel": 0 },
        }),
    },
    "ClosureControl.MoveTo": {
        asks: ({ Position }, now) => {
            const [target, current] = ["OverallTargetState", "OverallCurrentState"].map(n =>
                now(`ClosureControl.${n}`),
            );
            return {
                always: { "ClosureControl.OverallTargetState": { ...target, Position } },
                shown: {
                    "ClosureControl.OverallCurrentState": { SecureState: null, ...current, Position: CLOSURE_REACHED[Position] },
                },
            };
        },
        // Whether the closure is secure is the bus's to say.
        confirmed: ({ Position }) => ({ "ClosureControl.OverallCurrentState": { Position: CLOSURE_REACHED[Position] } }),
        samples: (_, features) => [
            { Position: 0 },
            { Position: 1 },
            ...(features.includes("PD") ? [{ Position: 2 }] : []),
            ...(features.includes("VT") ? [{ Position: 3 }] : []),
        ],
    },
    "ClosureDimension.SetTarget": {
        asks: ({ Position }, now) => ({
            always: { "ClosureDimension.TargetState": { ...now("ClosureDimension.TargetState"), Position } },
            shown: { "ClosureDimension.CurrentState": { ...now("ClosureDimension.CurrentState"), Position } },
        }),
        samples: () => PERCENT100THS.map(Position => ({ Position })),
    },
    "WaterHeaterManagement.Boost": {
        asks: () => ({ shown: { "WaterHeaterManagement.BoostState": 1 } }),
        samples: () => [{ BoostInfo: { Duration: 3600 } }],
    },
    "WaterHeaterManagement.CancelBoost": { asks: () => ({ shown: { "WaterHeaterManagement.BoostState": 0 } }) },
    "EnergyEvse.Disable": { asks: (_, now) => supply(0, now) },
    "EnergyEvse.EnableCharging": {
        asks: ({ MaximumChargeCurrent }, now) => ({
            shown: {
                ...supply(1, now).shown,
                "EnergyEvse.MaximumChargeCurrent": Math.min(MaximumChargeCurrent, now("EnergyEvse.CircuitCapacity")),
            },
        }),
        // A limit of 7.012 ends at 65.5 A: of more the bus confirms what it carries.
        confirms: ({ MaximumChargeCurrent }, now) =>
            Math.min(MaximumChargeCurrent, now("EnergyEvse.CircuitCapacity")) <= 65535,
        samples: () =>
            [5000, 6000, 16000, 80000].map(MaximumChargeCurrent => ({
                ChargingEnabledUntil: null,
                MinimumChargeCurrent: 6000,
                MaximumChargeCurrent,
            })),
    },
    "FanControl.Step": { samples: () => [0, 1].map(Direction => ({ Direction, Wrap: false, LowestOff: true })) },
};

const semantics = (cluster, command) =>
    COMMANDS[`${cluster}.${command}`] ?? (command === "ChangeToMode" ? mode(cluster) : {});

/**
 * Attributes that a command changes, with their values: those it sets at once, and, where a link of the command says
 * that the bus does not report what it does, those that follow it, except the ones that the bus reports all the same.
 */
export function askedBy(definition, cluster, command, fields, now) {
    const { always, shown } = semantics(cluster, command).asks?.(fields, now) ?? {};
    const links = definition.links.filter(l => l.cluster === cluster && l.command === command);
    const free = links.some(l => l.shown && l.shown !== "reported") || (cluster === "OnOff" && onlyStarts(definition));
    const reports = definition.links.filter(l => l.direction === "from-bus" && l.shown === "reported");
    const reported = new Set(reports.map(l => `${l.cluster}.${l.attribute}`));
    const following = Object.entries(free ? (shown ?? {}) : {}).filter(([name]) => !reported.has(name));
    return { ...always, ...Object.fromEntries(following) };
}

/** What a command would show if the bus confirmed it. */
export function confirmedBy(cluster, command, fields, now) {
    const { asks, confirms = () => true, confirmed } = semantics(cluster, command);
    if (!confirms(fields, now)) return {};
    const { named, shown } = asks?.(fields, now) ?? {};
    return confirmed?.(fields) ?? named ?? shown ?? {};
}

const isSo = (now, wanted) =>
    typeof wanted === "object" && wanted !== null
        ? Object.entries(wanted).every(([name, value]) => same(now?.[name], value))
        : same(now, wanted);

// What can only be started, such as a scene: its off sends nothing, and is shown.
const onlyStarts = ({ links }) => {
    const has = command => links.some(l => l.cluster === "OnOff" && l.command === command);
    return has("On") && !has("Off");
};

/** Whether a command that nothing is sent for is refused: it asks for something that is not so already. */
export function refusedBy(definition, cluster, command, fields, now) {
    if (cluster === "OnOff" && onlyStarts(definition) && now("OnOff.OnOff")) return false;
    const wanted = Object.entries(confirmedBy(cluster, command, fields, now));
    return wanted.some(([name, value]) => now(name) !== undefined && !isSo(now(name), value));
}

/** Whether the level or colour of a command is kept for the next `On`: sent, it would light the lamp. */
export const isKept = (cluster, command, now) =>
    ["LevelControl", "ColorControl"].includes(cluster) && !command.includes("WithOnOff") && now("OnOff.OnOff") === false;

/** Fields to invoke a command with, several sets; `command` is the model's element. */
export function samplesOf(cluster, command, now, features) {
    const own = semantics(cluster, command.name).samples?.(now, features);
    return own?.length ? own : modelSamples(command);
}

// One set for each candidate of each field, the other fields at their first candidate; optional fields are left out.
function modelSamples(command) {
    const fields = [...command.members].filter(m => m.mandatory).map(m => [m.name, candidates(m)]);
    const first = Object.fromEntries(fields.map(([name, [value]]) => [name, value]));
    const sets = fields.flatMap(([name, values]) => values.slice(1).map(value => ({ ...first, [name]: value })));
    return [first, ...sets];
}

const NUMBERS = [0, 1, 50, 100, 127, 254, 1000, 5000, 10000, -1];

/** Values that an element of the model may have by its type and constraint alone. */
export function candidates(model, now = () => undefined) {
    const fits = value => model.effectiveConstraint.isEmpty || model.effectiveConstraint.test(value, now);
    switch (model.effectiveMetatype) {
        case "boolean":
            return [false, true];
        case "enum":
            return [...model.members].map(m => m.id).filter(id => id !== undefined);
        case "string":
            return [""];
        case "array":
            return [[]];
        case "integer":
            return NUMBERS.filter(n => (n >= 0 || /^int|temperature/i.test(model.effectiveType)) && fits(n));
        case "object": {
            const members = [...model.members].filter(m => m.mandatory);
            return [Object.fromEntries(members.map(m => [m.name, candidates(m)[0]]))];
        }
        default:
            return [0];
    }
}
