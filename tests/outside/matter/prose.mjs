// Rules that the data model tells in prose only, so that its evaluators pass them over.
// Source: Matter Application Cluster Specification 1.6, the section of each cluster; Core Specification 7.19 (strings).

const bytes = text => Buffer.byteLength(text ?? "", "utf8");
const has = (mask, bit) => Math.floor(mask / 2 ** bit) % 2 === 1;
const mask = (codes, features) => codes.reduce((sum, code, bit) => sum + (features.includes(code) ? 2 ** bit : 0), 0);

function thermostat(features, a, note) {
    for (const [code, kind, name, low, high] of [
        ["HEAT", "Heat", "Heating", 700, 3000],
        ["COOL", "Cool", "Cooling", 1600, 3200],
    ]) {
        if (!features.includes(code)) continue;
        const absMin = a(`AbsMin${kind}SetpointLimit`) ?? low;
        const absMax = a(`AbsMax${kind}SetpointLimit`) ?? high;
        const [min, max] = [a(`Min${kind}SetpointLimit`) ?? absMin, a(`Max${kind}SetpointLimit`) ?? absMax];
        if (!(absMin <= min && min <= max && max <= absMax))
            note(`${kind} limits are out of order: ${[absMin, min, max, absMax]}`);
        for (const attribute of [`Occupied${name}Setpoint`, `Unoccupied${name}Setpoint`]) {
            const value = a(attribute);
            if (typeof value === "number" && (value < min || value > max))
                note(`${attribute} ${value} is outside of ${min} to ${max}`);
        }
    }
    const [heating, cooling] = [a("OccupiedHeatingSetpoint"), a("OccupiedCoolingSetpoint")];
    const band = (a("MinSetpointDeadBand") ?? 25) * 10;
    if (features.includes("AUTO") && heating > cooling - band)
        note(`setpoints ${heating} and ${cooling} are closer than ${band}`);
}

function colourControl(features, a, note) {
    const wanted = mask(["HS", "EHUE", "CL", "XY", "CT"], features);
    if (a("ColorCapabilities") !== wanted)
        note(`ColorCapabilities is ${a("ColorCapabilities")}, the features say ${wanted}`);
    const modes = [
        ["HS", 0],
        ["XY", 1],
        ["CT", 2],
    ]
        .filter(([code]) => features.includes(code))
        .map(([, mode]) => mode);
    if (!modes.includes(a("ColorMode"))) note(`ColorMode ${a("ColorMode")} needs a feature that is off`);
}

function windowCovering(features, a, note) {
    for (const [code, bit] of [
        ["PA_LF", 3],
        ["PA_TL", 4],
    ])
        if (has(a("ConfigStatus"), bit) !== features.includes(code))
            note(`ConfigStatus bit ${bit} does not follow ${code}`);
    for (const [code, name] of [
        ["PA_LF", "Lift"],
        ["PA_TL", "Tilt"],
    ])
        if (
            features.includes(code) &&
            (a(`CurrentPosition${name}Percent100ths`) === null) !== (a(`TargetPosition${name}Percent100ths`) === null)
        )
            note(`of position and target of ${name} only one is null`);
}

function powerMeasurement(_, a, note) {
    const accuracy = a("Accuracy") ?? [];
    if (a("NumberOfMeasurementTypes") !== accuracy.length)
        note(`NumberOfMeasurementTypes is not the ${accuracy.length} of Accuracy`);
    for (const [name, kind] of [["ActivePower", 5], ["Voltage", 1], ["ActiveCurrent", 2], ["Frequency", 11]])
        if (a(name) !== undefined && !accuracy.some(entry => entry.MeasurementType === kind))
            note(`Accuracy has no entry for ${name}`);
}

function occupancy(features, a, note) {
    // 0 PIR, 1 ultrasonic, 2 both, 3 physical contact; PIR where none of these fits.
    const bits = mask(["PIR", "US", "PHY"], features);
    const type = [0, 0, 1, 2, 3][bits];
    if (type !== undefined && a("OccupancySensorType") !== type)
        note(`OccupancySensorType is ${a("OccupancySensorType")}, the features say ${type}`);
    const map = a("OccupancySensorTypeBitmap");
    if (bits !== 0 && map !== bits) note(`OccupancySensorTypeBitmap is ${map}, the features say ${bits}`);
}

function level(features, a, note) {
    if (!features.includes("LT")) return;
    if (a("CurrentLevel") === 0) note("a lamp's CurrentLevel is never 0");
    if ((a("MinLevel") ?? 1) !== 1) note(`a lamp's MinLevel is 1, not ${a("MinLevel")}`);
    if ((a("MaxLevel") ?? 254) !== 254) note(`a lamp's MaxLevel is 254, not ${a("MaxLevel")}`);
}

function doorLock(_, a, note) {
    // Inverted: a bit of 0 says supported, and unused bits are 1.
    const modes = a("SupportedOperatingModes");
    if (modes < 0xffe0) note(`SupportedOperatingModes ${modes}: bits 5 to 15 are 1`);
    if (has(modes, 0) || has(modes, 3)) note("modes Normal and NoRemoteLockUnlock must be supported");
    if (has(modes, a("OperatingMode"))) note(`OperatingMode ${a("OperatingMode")} is not among the supported`);
}

function closure(_, a, note) {
    const errors = a("CurrentErrorList") ?? [];
    if ((a("MainState") === 3) !== errors.length > 0) note(`MainState ${a("MainState")} with errors ${JSON.stringify(errors)}`);
}

function smokeAlarm(_, a, note) {
    const told = [
        ["SmokeState", 1],
        ["CoState", 2],
        ["BatteryAlert", 3],
        ["TestInProgress", 4],
        ["HardwareFaultAlert", 5],
        ["EndOfServiceAlert", 6],
    ];
    const alarms = told.filter(([name]) => Number(a(name) ?? 0) !== 0).map(([, state]) => state);
    const expressed = a("ExpressedState");
    if (expressed === 0 ? alarms.length > 0 : expressed <= 6 && !alarms.includes(expressed))
        note(`ExpressedState ${expressed} does not fit`);
}

function fan(_, a, note) {
    const [mode, percent] = [a("FanMode"), a("PercentSetting")];
    if ((mode === 0) !== (percent === 0)) note(`FanMode ${mode} with PercentSetting ${percent}`);
}

function modes(_, a, note) {
    const list = a("SupportedModes") ?? [];
    if (!list.some(m => m.Mode === a("CurrentMode")))
        note(`CurrentMode ${a("CurrentMode")} is not among the supported`);
    if (new Set(list.map(m => m.Mode)).size !== list.length) note("a mode number stands twice");
    if (new Set(list.map(m => m.Label)).size !== list.length) note("a mode's label stands twice");
}

function bridgedInfo(_, a, note) {
    for (const name of ["NodeLabel", "UniqueId", "VendorName", "ProductName", "SerialNumber"])
        if (bytes(a(name)) > 32) note(`${name} has ${bytes(a(name))} bytes, 32 are allowed`);
}

function labels(_, a, note) {
    for (const { Label, Value } of a("LabelList") ?? [])
        for (const text of [Label, Value]) if (bytes(text) > 16) note(`${JSON.stringify(text)} has more than 16 bytes`);
}

const RULES = {
    Thermostat: thermostat,
    ColorControl: colourControl,
    WindowCovering: windowCovering,
    ElectricalPowerMeasurement: powerMeasurement,
    OccupancySensing: occupancy,
    LevelControl: level,
    DoorLock: doorLock,
    ClosureControl: closure,
    SmokeCoAlarm: smokeAlarm,
    FanControl: fan,
    ModeSelect: modes,
    BridgedDeviceBasicInformation: bridgedInfo,
    FixedLabel: labels,
    UserLabel: labels,
};

/** What is wrong with a cluster by the rules told in prose; `attribute(name)` gives a value or undefined. */
export function proseProblems(cluster, features, attribute) {
    const problems = [];
    (RULES[cluster] ?? (/Mode$/.test(cluster) ? modes : undefined))?.(features, attribute, text => problems.push(text));
    return problems;
}
