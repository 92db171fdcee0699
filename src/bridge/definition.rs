//! The bridge JSON, as other programs read it: format `housewright-bridge`, version 1.
//!
//! These types cross the border, so they are written for it and nothing else: field names and order are the
//! file's. Version 1 is the first. A change that a reader of version 1 would misread makes a new version; a new
//! optional key does not.

pub use crate::classes::{Direction, Joint, Shown};
use crate::convert::Chain;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// The `format` word of every bridge JSON.
pub const FORMAT: &str = "housewright-bridge";
/// The version this program writes.
pub const VERSION: u32 = 1;

/// One bridge: everything a gateway needs to stand for the house.
///
/// **A telegram comes in**: a write or an answer; a read of somebody else's tells nothing. Each `from-bus` link of its
/// address converts it, all of them looking at the attributes as they stood before the telegram. Then what they gave takes
/// effect in the order of the links: attributes are set, events are raised. So a link that compares with an attribute sees
/// its old value, wherever it stands. Several links may set one attribute: one that gives null does nothing, and of two that
/// give a value the later counts, or what their `joint` says is made of both. A value is rounded to the attribute's type and
/// cut off at the ends of its range; one that an enumeration does not have is passed over.
///
/// **The gateway's own telegrams** come in too, as every device of a group hears them. The endpoint that sent one takes from
/// it only what the command or the write did not set itself, and what that set stands before they come in: a fan that was
/// just set to automatic is not taken out of it by the telegram that starts it.
///
/// **A controller invokes a command.** Each `to-bus` link of the command converts its fields (by the data model's names;
/// those left out are null), looking at the attributes as they stood before, and the telegrams are sent in the order of the
/// links. **A controller changes an attribute**, by writing it (also with the value that it has) or through a command whose
/// effect it is (`SetpointRaiseLower`): each `to-bus` link of the attribute converts the new value. What a telegram, an
/// estimate or a start of the gateway sets runs no `to-bus` link.
///
/// **What was asked for counts before the bus reports it.** What a command of On/Off, Level Control or Color Control sets
/// (on or off, level, colour) is what the conversions of `to-bus` links and the rules of the data model look at, until the
/// bus reports that attribute or 3 s are over (common practice); what is shown follows `shown`. So `MoveToLevel` right after
/// `On` is carried out, two `Step` go two steps, and `MoveToSaturation` keeps the hue that was just asked for. What moves or
/// locks is never taken to be where it was sent, and what a lock or a closure was asked for is not shown as done: without a
/// report `LockState`, `OverallCurrentState` and `CurrentState` stay as they are. But a `ClosureControl.MoveTo` for the same
/// as the command before it, within 10 s, sends nothing (`SUCCESS`): a second impulse would stop the door.
///
/// **A colour is told in three ways**: by hue and saturation, by x and y, by a temperature. `ColorMode` says by which it is
/// meant, and a change of level keeps it (Cluster 3.2.7.10), but links look at hue and saturation alone. So a command of
/// colour asks for the same colour in the other ways too, and a telegram that makes the modes 2 (see below; no answer at the
/// start) sets them, but never the temperature: x and y come from the temperature, as 1000000 / mireds, by `kelvin-to-xy`, and
/// from hue and saturation by `hsv-to-rgb` with a `value` of 1, then `rgb-to-xyy`; hue and saturation come from x and y by
/// `xyy-to-rgb` with a `Y` of 1, then `rgb-to-hsv`, and stay where that gives null. What follows so counts until the bus
/// reports it, also after 3 s. A telegram of a colour point that is the one which the endpoint sent there last, its own or its
/// feedback, sets `CurrentHue`, `CurrentSaturation`, `CurrentX` and `CurrentY` to the colour that it was sent for: one that is
/// dimmed to a few of 255 steps tells no hue, and must not come back as another.
///
/// **The answer.** Where none of a command's links gives a telegram, it is `SUCCESS` if what the command asks for is so
/// already, or if it stops what does not move, else `INVALID_IN_STATE`. But `ClosureControl.Stop` is always `SUCCESS`
/// (Cluster 5.4.8.1), and so is `OnOff.Toggle` where `Off` has no link (see below). A write for which no link gives a
/// telegram, and a command that comes to one, are `INVALID_IN_STATE` too, unless the attribute has the value already. This
/// holds for attributes with a link of either direction and for the mode and the setpoints of a thermostat; all others are
/// the gateway's own, and it keeps what the data model allows. A conversion that ends in an error, and a command or write
/// while there is no connection to the bus of its links, is `FAILURE` (both Core 8.10.1). What was refused changes no
/// attribute, and nothing is sent later: a gate that opens minutes after it was asked to hurts someone.
///
/// **What the data model says of writes holds first.** What it does not allow is `CONSTRAINT_ERROR`, whether there are links
/// or not: `FanMode` outside `FanModeSequence` (Cluster 4.4.6.1), bits of `WindowCovering.Mode` that are not supported
/// (5.3.6.14), a pump's `OperationMode` that it does not support (4.2.7.22), which is each but 0 (`Normal`) where no link
/// carries it. What it passes over is `SUCCESS`, changes nothing and runs no link: `Thermostat.ControlSequenceOfOperation`
/// (4.3.11.21), and null as `PercentSetting` or `SpeedSetting` (4.4.6.3, 4.4.6.6).
///
/// **What it says of commands does too.** Those of Level Control and Color Control without `WithOnOff` have no
/// effect, run no link and are answered `SUCCESS` while `OnOff` is false, unless `ExecuteIfOff` is set in `Options`, as
/// `OptionsMask` and `OptionsOverride` of the command change it (Cluster 1.6.6.9, 3.2.7.11). With `ExecuteIfOff` their level
/// or colour is kept for the next `On` and nothing is sent now, since it would light the lamp. A command of On/Off that
/// switches on runs its own links, then those of `MoveToLevel` with `OnLevel` if that is not null (Cluster 1.6.6.11), else with
/// the level that was kept, then those of the colour that was kept. A telegram that shows the lamp on ends what was kept.
/// Fields are cut off at the attributes' limits before links see them: a lamp's level 0 is its `MinLevel`.
///
/// **A command without a link** is one of these. A relative one that arrives at a value (`Step`, `StepWithOnOff`, `StepHue`,
/// `StepSaturation`, `StepColor`, `StepColorTemperature`, `ClosureDimension.Step`) is answered as the absolute one
/// (`MoveToLevel`, `MoveToLevelWithOnOff`, `MoveToHue`, `MoveToSaturation`, `MoveToColor`, `MoveToColorTemperature`,
/// `SetTarget`), whose links it runs; `SetpointRaiseLower` runs those of the setpoints. `OnOff.Off`, `OffWithEffect` and,
/// while it is on, `Toggle` of what can only be started, such as a scene, make `OnOff` false and send nothing: `SUCCESS`, so
/// that the next tap starts it again. One that stops or calls off (`Stop`, `StopWithOnOff`, `StopMoveStep`, `StopMotion`,
/// `CancelBoost`) is answered as above. The gateway's own are carried out by itself: those of Identify, Groups and Scenes
/// Management, `ChangeToMode` of modes that no link sets, `EnergyEvse.GetTargets` and `ClearTargets`, of which there are
/// none. **Any other is refused** with `INVALID_IN_STATE`, since nothing would come of it, unless what it asks for is so
/// already: what runs on until it is stopped (`Move`, `MoveWithOnOff`, `MoveHue`, `MoveSaturation`, `MoveColor`,
/// `MoveColorTemperature`), `LockDoor` of a lock that can only be opened, a level, position or slat that is only told,
/// `WaterHeaterManagement.Boost`, `EnergyEvse.SetTargets`, `PowerAdjustRequest` and `CancelPowerAdjustRequest`.
///
/// **`ScenesManagement.RecallScene`** runs links for what the scene sets. `OnOff` false: those of `Off` alone; the scene's
/// level and colour are kept for the next `On`. `OnOff` true: those of `MoveToLevelWithOnOff` with the level (without one
/// `On`; at `MinLevel` `On`, then `MoveToLevel`), then those of the colour that the scene's `EnhancedColorMode` names.
/// Positions go through their absolute commands, attributes that have `to-bus` links through these.
///
/// **Movements.** A command sets the target (`TargetPosition…`, `OverallTargetState`, `TargetState`, `TargetLevel`) at once,
/// a stop sets it to the current position (Cluster 5.3.7, 5.4.8, 5.5.8). One for which no link gives a telegram stops
/// nothing: it sets nothing, and what is shown goes on telling the movement. From then on a `from-bus` link sets the target
/// only when the movement is over: the position has come within 1 % of the target, or was stopped, or was not reported for
/// 120 s (common practice), when the target becomes the position; the targets of a valve become null, as they are while
/// nobody asks for a change (Cluster 4.6.7.6, 4.6.7.8). `OperationalStatus` and `MainState`, where no link sets them, tell
/// the way from the position to the target until then. A closure and the panel below it (`ClosureDimension`) move as one
/// (Cluster 5.4.7.4, 5.5.7.2): `MoveTo` sets the panel's target to 0 for open and to 10000 for closed, `SetTarget` the
/// closure's to open at 0, closed at 10000 and null between them, `Stop` ends both. Moved from elsewhere their targets are
/// where they are, as the links of a window covering say: the panel's its position, the closure's its end, else null.
///
/// **Times are the gateway's.** The bus is sent the end of a transition at once. `OnTime`, `OffWaitTime` and
/// `OnOffControl` of `OnOff.OnWithTimedOff`, `OpenDuration` of `ValveConfigurationAndControl.Open` and
/// `ChargingEnabledUntil` of `EnergyEvse.EnableCharging` run in the gateway; when they are over it runs the links of
/// `OnOff.Off`, `ValveConfigurationAndControl.Close` and `EnergyEvse.Disable`. They are kept over a restart of the gateway: one
/// that is past, or passes while the bus is away, is carried out as soon as the bus is there. A telegram that shows the lamp
/// off, the valve closed or charging disabled ends them: a lamp that is switched on again at the wall stays on.
/// `ChargingEnabledUntil` is 0 while charging is disabled, whoever did it, and null when it is enabled without an end (Cluster
/// 9.3.8.4). A cumulative energy is set with the time of its telegram beside it: `EndTimestamp`, or `EndSystime` while the
/// gateway has no UTC (Cluster 2.12.5.2). How long a boost of a water heater lasts is the heater's own.
///
/// **What follows from attributes** is the gateway's: `FanMode`, `PercentSetting` (null in automatic) and the speed of a fan
/// follow each other, `ColorMode` and `EnhancedColorMode` the last command of colour, `ColorTemperatureMireds` where no link
/// sets it the last `MoveToColorTemperature`; what only follows runs no link. Where a link does set it, the modes follow the
/// wall too (Cluster 3.2.7.10): a telegram that changes it makes them 2, one that changes hue or saturation 0, one that
/// changes x or y alone 1. But none does within 10 s after a command of colour: a lamp that fades to a white reports what it
/// mixes it from as well (common practice). An event that has links is raised by these alone; any other is raised by the
/// gateway when attributes change as the data model tells, such as `DoorLock.LockOperation`, the events of `EnergyEvse`,
/// `MovementCompleted`, `SecureStateChanged` and `OperationalError` of a closure, `BoostStarted` and `BoostEnded`.
/// `Switch.CurrentPosition` is the `NewPosition` of an event from before it is raised, and 0 from before one that has a
/// `PreviousPosition` (Cluster 1.13.6).
/// `CurrentErrorList` of a closure is `[3]` (`MaintenanceRequired`, as the bus tells no more of a fault) while its
/// `MainState` is 3 (`Error`), else empty. What the bus says nothing of (`DoorLockAlarm`) is not raised.
///
/// **At the start**, and when a bus is back, each address with `read` is read once, one after the other: the next when
/// the answer is there or has not come within 3 s, 5 to 10 a second at most, and not in the first 10 s after mains comes
/// back, when all devices send (common practice). An address that is silent leaves its attribute as it is. `Reachable` of a
/// top endpoint is false while the gateway has no connection to the bus of its links, and true otherwise; an appliance
/// that is silent does not make it false.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct BridgeDefinition {
    /// Always `housewright-bridge`.
    pub format: String,
    /// Version of this format. A gateway that does not know it refuses the file and keeps the definition that it has; keys
    /// that it does not know it passes over. The schema names the keys of the program that printed it and no others: a gateway
    /// that validates files does so by the schema of the version that the manifest names.
    pub version: u32,
    /// The house this bridge belongs to.
    pub house: HouseRef,
    /// The bridge.
    pub bridge: BridgeRef,
    /// Which edition of the Matter standard the names and numbers are from.
    pub matter: MatterRef,
    /// The bridged endpoints, by number.
    pub endpoints: Vec<Endpoint>,
}

/// The house a bridge belongs to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct HouseRef {
    /// The house's id; never changes.
    pub id: String,
    /// The house's name.
    pub name: String,
}

/// The bridge of a definition.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct BridgeRef {
    /// Its key in the house description.
    pub key: String,
    /// Its NodeLabel.
    pub name: String,
}

/// Edition of the Matter standard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct MatterRef {
    /// Specification version, such as `1.6.0`.
    pub specification: String,
    /// Data model revision.
    pub data_model_revision: u16,
}

/// One endpoint below the aggregator (number 1).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Endpoint {
    /// Endpoint number, 2 to 65534; never given twice.
    pub number: u16,
    /// The endpoint above: 1 for the aggregator, or the top endpoint of a composed appliance.
    pub parent: u16,
    /// The appliance's key; for a further part of an appliance `key/part`.
    pub key: String,
    /// UniqueID: at most 32 bytes, the same as long as the appliance lives.
    pub unique_id: String,
    /// First NodeLabel: what the family sees, at most 32 bytes of UTF-8. A name that a controller wrote stays (Core 11.1.5.6),
    /// also when a later build has another.
    pub node_label: String,
    /// The room's name, for people; no cluster is made of it, `clusters` has them all.
    pub room: String,
    /// The floor's name, for people like the room's; absent where the room names none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<String>,
    /// Device types on this endpoint (Bridged Node among them on a top endpoint).
    pub device_types: Vec<DeviceTypeRef>,
    /// Server clusters.
    pub clusters: Vec<Cluster>,
    /// The wires between this endpoint and the bus.
    pub links: Vec<Link>,
}

/// A device type with its revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct DeviceTypeRef {
    /// Device type id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// Device type revision.
    pub revision: u16,
}

/// A server cluster of an endpoint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Cluster {
    /// Cluster id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// Cluster revision.
    pub revision: u16,
    /// Codes of the features that are on.
    pub features: Vec<String>,
    /// First value of each attribute, by the data model's names, in order of attribute id. What the gateway's start finds
    /// kept of an earlier run may stand in its place until a telegram tells more.
    pub attributes: Map<String, Value>,
    /// Commands the cluster accepts. One without a link is carried out as the definition's head says.
    pub commands: Vec<String>,
}

/// One wire: a group address and datapoint type, a Matter attribute, command or event, and the conversion between.
///
/// `from-bus` ends at an attribute or an event, `to-bus` starts at a command or at an attribute that controllers change.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Link {
    /// The appliance's point.
    pub point: String,
    /// Name of the cluster.
    pub cluster: String,
    /// Name of the attribute, if the link ends (`from-bus`) or starts (`to-bus`) at one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attribute: Option<String>,
    /// Name of the command, if the link starts at one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub command: Option<String>,
    /// Name of the event, if the link ends at one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub event: Option<String>,
    /// Which way values go.
    pub direction: Direction,
    /// Key of the bus.
    pub bus: String,
    /// Group address, in the house's notation.
    pub group: String,
    /// Datapoint type, such as `5.001`.
    pub dpt: String,
    /// Whether the gateway may read this address on the bus, at the start and when a bus is back (`from-bus` links of a
    /// feedback). What comes as the answer is converted like any telegram.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub read: bool,
    /// What the attribute shows; absent on links that carry no state. On a `to-bus` link of a command `reported` says that
    /// only the bus tells what the command did, or nobody; else attributes that have no `reported` link show it at once, as
    /// the data model says, and those with a `fullTravel` as the movement goes on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown: Option<Shown>,
    /// How the attribute comes from what several points tell of it; absent where what came last counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<Joint>,
    /// Times of a movement that the bus does not report, in milliseconds; absent where there are none.
    ///
    /// A movement begins with the telegram or command that the link converts and ends when the way is done. Any other
    /// command or telegram that starts or stops a movement of the same endpoint ends it where it is by then (one that began
    /// at an unknown position leaves it unknown, which is null), and the telegram that waits for its end (`afterTravel`) is
    /// not sent; nor is it after a restart of the gateway.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    #[schemars(with = "Timing")]
    pub timing: Map<String, Value>,
    /// The steps, in the order in which this link runs them.
    pub conversion: Chain,
}

/// [`Link::timing`] as a reader finds it.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema)]
#[schemars(deny_unknown_fields, rename_all = "camelCase", inline)]
pub struct Timing {
    /// On a link whose attribute is estimated: the time in which the attribute runs through its whole range. It goes in a
    /// straight line from the value that is shown to the one that the link gives, in that part of the time which the way
    /// is of the whole range; from an unknown value (null) it takes the whole time.
    #[schemars(range(min = 0.0))]
    pub full_travel: Option<f64>,
    /// On a link to the bus: the telegram is not sent at once but when the movement that the same command starts has come
    /// to the value that was asked for, reckoned with this time for the whole range. Where the command starts none,
    /// nothing is sent.
    #[schemars(range(min = 0.0))]
    pub after_travel: Option<f64>,
}

/// The JSON Schema (draft 2020-12) of a bridge JSON.
pub fn schema() -> Value {
    let mut schema = schemars::schema_for!(BridgeDefinition);
    schema.insert("title".to_owned(), "housewright bridge JSON".into());
    schema.to_value()
}
