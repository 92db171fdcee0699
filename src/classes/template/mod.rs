//! The format of a class file: version 1, as it is written in `templates/classes` and in a house's `classes/`.
//!
//! These types are the file's, and their documentation is the format's: the JSON Schema that editors use is made from
//! it. Reading is lenient: what is broken is told and left out, the rest is read.

mod merge;
mod read;

use super::blueprint::Joining;
use super::class::{Group, Need, Precaution};
use super::shape::Shown;
use crate::source::{Entries, Given, Scalar, Spanned};
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;

/// A device class: what an appliance of a kind is on the bus and what it becomes in Matter.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "DeviceClass")]
pub(super) struct Template {
    /// Name of the class, as a description writes it; also the name of the file.
    pub class: Given<String>,
    /// The class that this one adds to or narrows. Everything that is not written here is taken from there; points,
    /// settings, parts, clusters and attributes are matched by name, lists and texts are replaced, `adds` are added.
    /// What it says of points and datapoint types that are not taken here is left out.
    pub based_on: Given<String>,
    /// Points of the other class that this one has not.
    pub without: Given<Vec<Spanned<String>>>,
    /// Name for people.
    pub title: Given<String>,
    /// The group of the list it stands in.
    pub group: Given<Group>,
    /// One sentence: what the appliance is and what a family can do with it.
    pub summary: Given<String>,
    /// For the integrator: what to know, to choose and to watch. Plain paragraphs.
    pub explanation: Given<String>,
    /// What can hurt somebody, and what guards against it.
    pub caution: Given<String>,
    /// What a description gets that does not say who confirmed the safety devices.
    pub confirm: Given<Precaution>,
    /// `false` for a class that controllers do not see.
    pub bridged: Given<bool>,
    /// Why they do not.
    pub why: Given<String>,
    /// What an appliance may set, by name.
    pub settings: Given<Entries<SettingTemplate>>,
    /// The endpoints, by name; the first is the main one.
    pub parts: Given<Entries<PartTemplate>>,
    /// The functions on the bus, by name.
    pub points: Given<Entries<PointTemplate>>,
    /// What parts have more, under conditions.
    pub adds: Given<Vec<Spanned<AddTemplate>>>,
    /// Which points go together.
    pub combinations: Given<Vec<Spanned<CombinationTemplate>>>,
}

/// Something an appliance may set.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Setting")]
pub(super) struct SettingTemplate {
    /// What it is, in a sentence.
    pub description: Given<String>,
    /// What values there are: `number` (with `range`), `whole` (a whole number), `flag` (true or false), `text` (with
    /// `longest`) or `choice` (with `words`).
    #[serde(rename = "type")]
    pub kind: Given<SettingWord>,
    /// Unit of a number, such as `K` or `s`.
    pub unit: Given<String>,
    /// Smallest and largest number.
    pub range: Given<[f64; 2]>,
    /// Bytes of UTF-8 that fit.
    pub longest: Given<u16>,
    /// The words, each with what it means.
    pub words: Given<Entries<String>>,
    /// The value where an appliance gives none. Without a default the setting is away then.
    pub default: Given<Scalar>,
}

/// The types of a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum SettingWord {
    /// Any number of a range.
    Number,
    /// A whole number of a range.
    Whole,
    /// True or false.
    Flag,
    /// A text.
    Text,
    /// One of some words.
    Choice,
}

/// An endpoint.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Part")]
pub(super) struct PartTemplate {
    /// What it is, in a few words.
    pub title: Given<String>,
    /// The endpoint is there only if all of these hold.
    pub when: Given<Vec<Spanned<ConditionTemplate>>>,
    /// And none of these.
    pub unless: Given<Vec<Spanned<ConditionTemplate>>>,
    /// Device types with their revisions, by the data model's names. Bridged Node is added to the main part.
    pub device_types: Given<Entries<u16>>,
    /// Server clusters, by the data model's names. Identify, Groups, Scenes Management and the bridged device's basic
    /// information are added where a device type wants them.
    pub clusters: Given<Entries<ClusterTemplate>>,
    /// Semantic tags of the endpoint, written `Namespace.Tag`.
    pub tags: Given<Vec<Spanned<String>>>,
}

/// A server cluster.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Cluster")]
pub(super) struct ClusterTemplate {
    /// Codes of the features that are on.
    pub features: Given<Vec<Spanned<String>>>,
    /// First values of attributes, by the data model's names. In a list of endpoints, `this` is the part's own and `above`
    /// that of the first part. Members of enumerations and bits of bitmaps may be written
    /// by name; `{ setting: NAME }` stands for the value of a setting, `{ setting: NAME, convert: [...] }` for what the
    /// steps make of it. An entry of a list that needs a setting without a value is left out.
    pub attributes: Given<Entries<Value>>,
    /// Commands that it accepts beside the mandatory ones.
    pub commands: Given<Vec<Spanned<String>>>,
}

/// What a part has more when something holds.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Addition")]
pub(super) struct AddTemplate {
    /// All of these must hold.
    pub when: Given<Vec<Spanned<ConditionTemplate>>>,
    /// And none of these.
    pub unless: Given<Vec<Spanned<ConditionTemplate>>>,
    /// Which part; the main one if nothing is said.
    pub part: Given<String>,
    /// Device types in place of the part's own.
    pub device_types: Given<Entries<u16>>,
    /// Clusters, features, attributes and commands beside the part's own; a value of an attribute replaces the one before.
    pub clusters: Given<Entries<ClusterTemplate>>,
    /// Semantic tags beside the part's own.
    pub tags: Given<Vec<Spanned<String>>>,
}

/// A function on the bus.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Point")]
pub(super) struct PointTemplate {
    /// What it is, in a few words.
    pub title: Given<String>,
    /// Whether an appliance of the class has it.
    pub need: Given<Need>,
    /// The address that the point is written through.
    pub command: Given<EndTemplate>,
    /// The address that its status is learned from.
    pub feedback: Given<EndTemplate>,
    /// Whether further addresses may move it too (central and group functions).
    pub listens: Given<bool>,
    /// Whether an installation may count the other way round.
    pub reversible: Given<bool>,
    /// Whether one address is for several appliances by nature, such as the wind alarm of all blinds.
    pub shared: Given<bool>,
    /// The range that the class counts in, for installations that use a part of it.
    pub range: Given<[f64; 2]>,
    /// For datapoint types that count otherwise than the usual one, by type: steps from the bus's value to the usual
    /// type's, or steps for each way where these cannot be turned round.
    pub units: Given<Entries<UnitsTemplate>>,
    /// The wires between its addresses and Matter.
    pub links: Given<Vec<Spanned<LinkTemplate>>>,
    /// What parts have more when the point is there.
    pub adds: Given<Vec<Spanned<AddTemplate>>>,
}

impl PointTemplate {
    /// Whether it only makes sense on top of a point of another class: it has not what each needs.
    pub(in crate::classes) fn says_what_differs(&self) -> bool {
        self.title.is_absent() && self.need.is_absent() && self.links.is_absent()
    }
}

/// Steps to and from the unit of the usual datapoint type.
#[derive(Clone, Debug)]
pub(super) enum UnitsTemplate {
    /// From the bus; turned round for the way to it.
    Steps(Vec<Value>),
    /// For each way.
    Ways(Ways),
}

/// Steps for each way.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
pub(super) struct Ways {
    /// From the bus's value to that of the usual type.
    pub from_bus: Given<Vec<Value>>,
    /// From the value of the usual type to the bus's.
    pub to_bus: Given<Vec<Value>>,
}

/// An address of a point.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Address")]
pub(super) struct EndTemplate {
    /// Whether the point needs it.
    pub need: Given<Need>,
    /// Datapoint types that fit, the usual one first.
    pub dpts: Given<Vec<Spanned<Scalar>>>,
    /// Flags that the group object of the actuator or sensor must have: letters of `CRWTUI`.
    pub flags: Given<String>,
}

/// A wire: from the bus to an attribute or event, or from a command or a written attribute to the bus.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Link")]
pub(super) struct LinkTemplate {
    /// Where a value comes from: one of the point's addresses, or `state`: the feedback if there is one, else the command
    /// and the further addresses, since they are the only news.
    pub from: Given<FromWord>,
    /// Where a value goes to: the point's command address. Need not be written with `command`.
    pub to: Given<ToWord>,
    /// Which part; the main one if nothing is said.
    pub part: Given<String>,
    /// The attribute at the Matter end, written `Cluster.Attribute`.
    pub attribute: Given<String>,
    /// The command at the Matter end, written `Cluster.Command`; several make a wire each.
    pub command: Given<OneOrMore>,
    /// The event at the Matter end, written `Cluster.Event`.
    pub event: Given<String>,
    /// The wire is there only for these datapoint types.
    pub dpt: Given<Vec<Spanned<Scalar>>>,
    /// The wire is there only if all of these hold.
    pub when: Given<Vec<Spanned<ConditionTemplate>>>,
    /// And none of these.
    pub unless: Given<Vec<Spanned<ConditionTemplate>>>,
    /// The steps, in the order in which this wire runs them. Reversal, an installation's range, the unit of an unusual
    /// datapoint type, rounding and cutting off at the attribute's limits are added.
    pub convert: Given<Vec<Spanned<Value>>>,
    /// What is shown when the wire's telegram is the only news; worked out where it is not written.
    pub shown: Given<Shown>,
    /// The bus reports what this command does if one of these holds; the point's own feedback if nothing is said.
    pub reported_by: Given<Vec<Spanned<ConditionTemplate>>>,
    /// What it carries lies outside of an installation's range, which is not added: 0 % is off, whatever part of 0 to 100 %
    /// a lamp uses.
    pub outside_range: Given<bool>,
    /// Several points may set the attribute. `true`: what came last counts; `bits`: it has every bit that one of them told
    /// last; `{ first-of: [...] }`: it is the first of these values that one of them told last.
    pub joint: Given<Joining>,
    /// Times of a movement that the bus does not report.
    pub timing: Given<TimingTemplate>,
}

/// Times in milliseconds, each a number or `{ setting: NAME, convert: [...] }`.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "camelCase", deny_unknown_fields)]
#[schemars(rename = "Timing")]
pub(super) struct TimingTemplate {
    /// The time in which an estimated attribute runs through its whole range.
    pub full_travel: Given<Value>,
    /// The same time, on a wire that sends only when the movement has come to the value asked for.
    pub after_travel: Given<Value>,
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum FromWord {
    /// The feedback address.
    Feedback,
    /// The command address: what others ask for through it.
    Command,
    /// The further addresses.
    Listens,
    /// The feedback address if there is one, else the command and the further addresses.
    State,
}

/// Where a value goes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum ToWord {
    /// The command address.
    Command,
}

/// A rule on which points go together: where all of `with` are there and none of `without`, at least one of `any` must
/// be and none of `none` may be.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Combination")]
pub(super) struct CombinationTemplate {
    /// `required`: it cannot work otherwise; `recommended`: it works worse otherwise.
    pub need: Given<Need>,
    /// Where the rule applies: all of these hold.
    pub with: Given<Vec<Spanned<ConditionTemplate>>>,
    /// And none of these.
    pub without: Given<Vec<Spanned<ConditionTemplate>>>,
    /// At least one of these must hold.
    pub any: Given<Vec<Spanned<ConditionTemplate>>>,
    /// None of these may hold.
    pub none: Given<Vec<Spanned<ConditionTemplate>>>,
    /// Why, in a sentence.
    pub why: Given<String>,
}

/// One text or several.
#[derive(Clone, Debug)]
pub(super) struct OneOrMore(pub Vec<String>);

/// Something that an appliance has or has not.
#[derive(Clone, Debug)]
pub(super) enum ConditionTemplate {
    /// `POINT`, `POINT.command`, `POINT.feedback` or `POINT.listens`.
    Point(String),
    /// One of several.
    Any(Vec<Self>),
    /// A setting or a datapoint type.
    Detail(Detail),
}

/// A condition on a setting or a datapoint type.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Condition")]
pub(super) struct Detail {
    /// A setting that has a value.
    pub setting: Given<String>,
    /// The value that it has.
    pub is: Given<Scalar>,
    /// A point's address, written `POINT.command` or `POINT.feedback`.
    pub point: Given<String>,
    /// The datapoint type there.
    pub dpt: Given<Scalar>,
}
