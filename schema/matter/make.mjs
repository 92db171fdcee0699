// Makes the Matter facts of this folder: clusters/*.json, device-types/*.json, datatypes.json, tags.json, edition.json.
// (first-values.json is written by hand.)
//
//   npm i --prefix SCRATCH @matter/model@0.17.9 && node schema/matter/make.mjs SCRATCH [OUTPUT]
//
// @matter/model is the data model of the Matter specification as a general-purpose implementation of it publishes it
// (Apache-2.0). Only names, numbers and the specification's own notations are taken: conformance, constraint, access.
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const CLUSTERS = `
  Identify Groups ScenesManagement Descriptor FixedLabel UserLabel BridgedDeviceBasicInformation PowerSource
  OnOff LevelControl ColorControl Switch ModeSelect
  WindowCovering ClosureControl ClosureDimension DoorLock BooleanState BooleanStateConfiguration
  Thermostat ThermostatUserInterfaceConfiguration FanControl WaterHeaterManagement WaterHeaterMode
  HepaFilterMonitoring ActivatedCarbonFilterMonitoring ValveConfigurationAndControl PumpConfigurationAndControl
  TemperatureMeasurement RelativeHumidityMeasurement IlluminanceMeasurement PressureMeasurement FlowMeasurement
  OccupancySensing SmokeCoAlarm SoilMeasurement AirQuality
  CarbonMonoxideConcentrationMeasurement CarbonDioxideConcentrationMeasurement NitrogenDioxideConcentrationMeasurement
  OzoneConcentrationMeasurement Pm1ConcentrationMeasurement Pm25ConcentrationMeasurement Pm10ConcentrationMeasurement
  FormaldehydeConcentrationMeasurement TotalVolatileOrganicCompoundsConcentrationMeasurement RadonConcentrationMeasurement
  ElectricalPowerMeasurement ElectricalEnergyMeasurement PowerTopology DeviceEnergyManagement
  EnergyEvse EnergyEvseMode`.trim().split(/\s+/);
const DEVICE_TYPES = `
  BridgedNode Aggregator PowerSource ElectricalSensor DeviceEnergyManagement
  OnOffLight DimmableLight ColorTemperatureLight ExtendedColorLight
  OnOffPlugInUnit DimmablePlugInUnit MountedOnOffControl MountedDimmableLoadControl
  WindowCovering Closure ClosurePanel DoorLock ContactSensor
  Thermostat Fan AirPurifier ExtractorHood RoomAirConditioner HeatPump WaterHeater
  TemperatureSensor HumiditySensor LightSensor PressureSensor FlowSensor OccupancySensor SmokeCoAlarm
  WaterLeakDetector WaterFreezeDetector RainSensor SoilSensor AirQualitySensor
  WaterValve Pump GenericSwitch ModeSelect
  SolarPower BatteryStorage EnergyEvse ElectricalMeter`.trim().split(/\s+/);
const NAMESPACES = `CommonClosure CommonLevel CommonLocation CommonNumber CommonPosition ElectricalMeasurement PowerSource
  Switches Closure ClosurePanel ClosureCovering ClosureWindow`.trim().split(/\s+/);

const [scratch, output] = process.argv.slice(2);
if (!scratch) throw new Error("which folder has node_modules/@matter/model?");
const out = output ?? dirname(fileURLToPath(import.meta.url));
const home = resolve(scratch, "node_modules/@matter/model");
const load = file => import(pathToFileURL(join(home, "dist/esm", file)));
const { Matter, Specification } = await load("index.js");
await load("standard/resources/index.js"); // sections
const made = JSON.parse(readFileSync(join(home, "package.json"), "utf8"));
const source = `${made.name} ${made.version}, Matter ${Specification.REVISION}; made by schema/matter/make.mjs, do not edit`;

const text = x => { const s = x === undefined || x === null ? "" : String(x); return s === "" || s === "all" ? undefined : s; };
const squeeze = o => { for (const k of Object.keys(o)) if (o[k] === undefined || (Array.isArray(o[k]) && !o[k].length)) delete o[k]; return o; };
const section = m => m.xref?.toString() ?? m.effectiveXref?.toString();
const plain = d => d && typeof d === "object" && !Array.isArray(d) && d.type
  ? (d.type === "reference" ? { ref: d.name } : { [d.type]: d.value ?? d.properties ?? d.flags ?? null }) : d;
const code = s => s.replace(/[^A-Za-z0-9]/g, "").toUpperCase();

// Whatever fits in a line of 150 columns stays in one.
const inline = v => Array.isArray(v) ? "[" + v.map(inline).join(", ") + "]"
  : v && typeof v === "object" ? "{" + Object.entries(v).map(([k, x]) => JSON.stringify(k) + ": " + inline(x)).join(", ") + "}" : JSON.stringify(v);
function layout(v, indent = "") {
  const one = inline(JSON.parse(JSON.stringify(v, (_, x) => typeof x === "bigint" ? Number(x) : x)));
  if (typeof v !== "object" || v === null || indent.length + one.length <= 150) return one;
  const next = indent + " ";
  return Array.isArray(v) ? "[\n" + v.map(x => next + layout(x, next)).join(",\n") + "\n" + indent + "]"
    : "{\n" + Object.entries(v).filter(([, x]) => x !== undefined).map(([k, x]) => next + JSON.stringify(k) + ": " + layout(x, next)).join(",\n") + "\n" + indent + "}";
}
const write = (file, value) => { const path = join(out, file); mkdirSync(dirname(path), { recursive: true }); writeFileSync(path, layout({ source, ...value }) + "\n"); };

const clusters = new Map(), byId = new Map(), types = new Map();
for (const c of Matter.children) {
  if (c.tag === "cluster") { clusters.set(c.name, c); if (c.id !== undefined) byId.set(c.id, c); }
  if (c.tag === "deviceType") types.set(c.name, c);
}

// ---- clusters
function bit(f) {
  const k = f.constraint?.value;
  if (typeof k === "number") return k;
  const s = String(f.constraint ?? "");
  return /^\d+$/.test(s) ? Number(s) : s || undefined;
}
const used = new Set();
const use = name => { if (name) used.add(name.split(".").pop()); return name; };
function type(v) {
  const t = v.effectiveType;
  return t === "list" ? `list<${v.listEntry ? use(v.listEntry.effectiveType) : "any"}>` : use(t);
}
const field = f => squeeze({ id: f.id, name: f.name, type: type(f), constraint: text(f.constraint), conformance: text(f.conformance),
  nullable: f.effectiveQuality?.nullable ? true : undefined, default: plain(f.default) });
function datatype(d) {
  const members = [...d.members], o = { name: d.name, type: d.type ?? d.effectiveType, constraint: text(d.constraint) };
  const allowed = k => { const s = text(k.conformance); return s === "M" ? undefined : s; };
  const kind = d.effectiveMetatype;
  if (kind === "enum") o.values = members.filter(k => k.id !== undefined).map(k => squeeze({ value: k.id, name: k.name, conformance: allowed(k) }));
  else if (kind === "bitmap") o.bits = members.map(k => squeeze({ bit: bit(k), name: k.name, conformance: allowed(k) }));
  else if (kind === "object") o.fields = members.map(field);
  else use(o.type);
  return squeeze(o);
}
function origin(a) { let m = a; for (let i = 0; i < 4 && m.type === undefined && m.base?.tag === "attribute"; i++) m = m.base; return m; }
function attribute(a) {
  const b = origin(a), pick = key => text(a[key]) ?? text(b[key]);
  // An attribute that a derived cluster inherits unchanged has the base cluster's conformance.
  return squeeze({ id: a.id, name: a.name, type: type(b), constraint: pick("constraint"), conformance: pick("conformance"), access: pick("access"),
    quality: pick("quality"), nullable: a.effectiveQuality.nullable ? true : undefined, default: plain(a.default ?? b.default) });
}
function cluster(c) {
  const own = [...c.datatypes], base = clusters.get(c.type);
  const shared = base ? [...base.datatypes].filter(d => !own.some(o => o.name === d.name)) : [];
  return squeeze({
    id: c.id, name: c.name, revision: c.revision, section: section(c), base: c.type,
    features: c.features.map(f => squeeze({ bit: bit(f), code: f.name, name: f.title, conformance: text(f.conformance) })),
    attributes: [...c.attributes].filter(a => a.id < 0xfff0 && String(a.conformance) !== "D").sort((a, b) => a.id - b.id).map(attribute),
    commands: [...c.commands].filter(k => k.direction === "request").sort((a, b) => a.id - b.id)
      .map(k => squeeze({ id: k.id, name: k.name, conformance: text(k.conformance), fields: [...k.members].map(field) })),
    events: [...c.events].sort((a, b) => a.id - b.id)
      .map(e => squeeze({ id: e.id, name: e.name, conformance: text(e.conformance), fields: [...e.members].map(field) })),
    datatypes: [...own, ...shared].map(datatype),
  });
}

// ---- device types
function element(e, c) {
  const r = { kind: e.element, name: e.name };
  if (e.element === "feature" && c) {
    const wanted = code(e.name), f = c.features.find(f => code(f.name) === wanted || (f.title && code(f.title) === wanted));
    if (f) r.name = f.name;
  }
  return squeeze({ ...r, conformance: text(e.conformance), constraint: text(e.constraint), default: plain(e.default) });
}
const elements = r => r.children.filter(x => x.tag === "requirement" && x.name !== "DeviceTypeList").map(x => element(x, byId.get(r.id)));
const served = r => squeeze({ id: r.id, name: r.name, conformance: text(r.conformance), elements: elements(r) });
function deviceType(d) {
  const rows = d.children.filter(c => c.tag === "requirement"), above = [];
  for (let p = d.type; p; p = types.get(p)?.type) if (types.get(p)?.id !== undefined) above.push(p);
  return squeeze({
    id: d.id, name: d.name, revision: d.revision, classification: d.classification, section: section(d), supersetOf: above,
    clusters: rows.filter(r => r.element === "serverCluster").map(served).filter(r => r.name !== "Descriptor" || r.conformance || r.elements),
    components: rows.filter(r => r.element === "deviceType").map(r => squeeze({ id: r.id, name: r.name, conformance: text(r.conformance),
      clusters: r.children.filter(x => x.tag === "requirement" && x.element === "serverCluster").map(served) })),
    conditions: d.children.filter(c => c.tag === "condition").map(c => c.name),
  });
}

for (const folder of ["clusters", "device-types"]) rmSync(join(out, folder), { recursive: true, force: true });
for (const name of CLUSTERS) write(`clusters/${name}.json`, cluster(clusters.get(name)));
for (const name of DEVICE_TYPES) write(`device-types/${name}.json`, deviceType(types.get(name)));

// ---- what clusters share: only the datatypes that something here uses
const globals = new Map(Matter.children.filter(c => c.tag === "datatype").map(d => [d.name, d])), done = new Map();
for (let before = -1; before !== done.size;) {
  before = done.size;
  for (const name of [...used]) if (globals.has(name) && !done.has(name)) {
    const d = globals.get(name), o = datatype(d);
    if (o.type && globals.has(o.type)) use(o.type);
    done.set(name, squeeze({ ...o, kind: d.effectiveMetatype }));
  }
}
write("datatypes.json", { datatypes: [...done.values()].sort((a, b) => a.name < b.name ? -1 : 1) });
write("tags.json", { namespaces: Matter.children.filter(c => c.tag === "semanticNamespace" && NAMESPACES.includes(c.name)).sort((a, b) => a.id - b.id)
  .map(n => ({ id: n.id, name: n.name, section: section(n), tags: n.children.map(t => ({ tag: t.id, name: t.name })) })) });
write("edition.json", { specification: Specification.REVISION, dataModelRevision: Specification.DATA_MODEL_REVISION, specificationVersion: Specification.SPECIFICATION_VERSION });
console.log(`${CLUSTERS.length} clusters, ${DEVICE_TYPES.length} device types, ${done.size} datatypes`);
