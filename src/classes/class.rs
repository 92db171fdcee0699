//! A device class as the other stages use it: read, checked and looked up in the Matter facts.

use super::blueprint::Blueprint;
use super::setting::SettingSpec;
use super::shape::{Chosen, Direction, Memory, Target};
use crate::knx::DptId;
use schemars::JsonSchema;
use serde::Deserialize;

/// A kind of appliance. Made by [`ClassLibrary`](super::ClassLibrary) only, and checked by it.
#[derive(Clone, Debug)]
pub struct Class {
    /// Name, as a description writes it: `dimmable-light`.
    pub name: String,
    /// Name for people: `Dimmable light`.
    pub title: String,
    /// Which group of the list it stands in.
    pub group: Group,
    /// One sentence: what the appliance is and what a family can do with it.
    pub summary: String,
    /// Paragraphs for the integrator, as plain text.
    pub explanation: String,
    /// What can hurt somebody, if anything can.
    pub caution: Option<Caution>,
    /// Whether controllers see it.
    pub exposure: Exposure,
    /// The class it adds to or narrows.
    pub based_on: Option<String>,
    /// What an appliance may set, in the template's order.
    pub settings: Vec<SettingSpec>,
    /// The functions on the bus, in the template's order. [`ChosenPoint::point`](super::ChosenPoint::point) counts
    /// in here.
    pub points: Vec<PointSpec>,
    /// Which points go together.
    pub combinations: Vec<Combination>,
    /// The endpoints it may become; the first is the main one and always there.
    pub parts: Vec<PartSpec>,
    /// The wires it may have.
    pub links: Vec<LinkSpec>,
    /// What shapes are made from.
    pub(super) blueprint: Blueprint,
    /// The shapes made so far.
    pub(super) memory: Memory,
}

impl Class {
    /// The point of this name and its index in [`points`](Self::points).
    pub fn point(&self, name: &str) -> Option<(u16, &PointSpec)> {
        let index = self.points.iter().position(|point| point.name == name)?;
        Some((u16::try_from(index).ok()?, self.points.get(index)?))
    }

    /// The setting of this name and its index in [`settings`](Self::settings).
    pub fn setting(&self, name: &str) -> Option<(u16, &SettingSpec)> {
        let index = self.settings.iter().position(|setting| setting.name == name)?;
        Some((u16::try_from(index).ok()?, self.settings.get(index)?))
    }

    /// The combinations that these points do not keep to, in the template's order.
    pub fn unmet<'a>(&'a self, chosen: &'a Chosen) -> impl Iterator<Item = &'a Combination> + 'a {
        self.combinations.iter().filter(move |combination| !combination.met(self, chosen))
    }
}

/// The groups in which classes are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// Lamps.
    Lighting,
    /// Sockets and switched or dimmed loads.
    Outlets,
    /// Shutters, blinds, awnings, curtains.
    Shading,
    /// Doors, gates, locks, window contacts.
    Doors,
    /// Heating, cooling, ventilation.
    Climate,
    /// Measurements and detectors.
    Sensors,
    /// Meters, production, storage, charging.
    Energy,
    /// Valves and pumps.
    Water,
    /// Push-buttons, scenes, modes.
    Control,
}

/// A danger, and who has to have looked at it.
#[derive(Clone, Debug)]
pub struct Caution {
    /// What can happen and what guards against it, in sentences.
    pub text: String,
    /// What a description without `confirmed:` gets.
    pub confirm: Precaution,
}

/// How strongly a class asks for `confirmed:`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Precaution {
    /// Not at all: the caution is shown in the papers.
    Told,
    /// With a warning.
    Warning,
    /// With an error.
    Error,
}

/// Whether controllers see the appliance.
#[derive(Clone, Debug)]
pub enum Exposure {
    /// They do.
    Bridged,
    /// They do not: Matter has no way to show it.
    NotBridged {
        /// Why, in a sentence.
        why: String,
    },
}

/// How much a point or an address of it is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Need {
    /// The class does not work without.
    Required,
    /// It works, but worse.
    Recommended,
    /// Only where the house has it.
    Optional,
}

/// One of the group addresses of a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// The address that the point is written through.
    Command,
    /// The address that its status is learned from.
    Feedback,
    /// A further address that moves it too.
    Listens,
}

/// A function on the bus, as the class asks for it.
#[derive(Clone, Debug)]
pub struct PointSpec {
    /// Name, as a description writes it: `brightness`.
    pub name: String,
    /// What it is, in a few words.
    pub title: String,
    /// Whether an appliance of the class has it.
    pub need: Need,
    /// The command address; `None` where the point takes none.
    pub command: Option<EndSpec>,
    /// The feedback address; `None` where the point takes none.
    pub feedback: Option<EndSpec>,
    /// Whether `listens:` makes sense.
    pub listens: bool,
    /// Whether `reversed:` makes sense.
    pub reversible: bool,
    /// Whether several appliances have it by nature in common: one wind sensor, one address for all blinds.
    pub shared: bool,
    /// The range that the class counts in, in the unit of the usual datapoint type; `range:` of a description says
    /// which bus values stand for its ends. `None` where the point takes no `range:`.
    pub range: Option<[f64; 2]>,
}

impl PointSpec {
    /// What the class asks of this address; `listens` asks what `command` asks.
    pub fn end(&self, end: End) -> Option<&EndSpec> {
        match end {
            End::Command => self.command.as_ref(),
            End::Listens => self.command.as_ref().filter(|_| self.listens),
            End::Feedback => self.feedback.as_ref(),
        }
    }
}

/// What a class asks of an address.
#[derive(Clone, Debug)]
pub struct EndSpec {
    /// Whether the point needs this address.
    pub need: Need,
    /// Datapoint types that fit, the usual one first; never empty.
    pub dpts: Vec<DptId>,
    /// Flags that the group object of the actuator or sensor behind this address must have: letters of `CRWTUI`.
    pub flags: String,
}

/// Something that an appliance has or has not.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Condition {
    /// A point, by its index: any address of it.
    Point(u16),
    /// An address of a point.
    Address(u16, End),
    /// A setting of which a value is given or has a default.
    Given(u16),
    /// A setting with this text (`true` and `false` for flags).
    Set(u16, String),
    /// A datapoint type at an address of a point.
    Typed(u16, End, DptId),
    /// At least one of these.
    Any(Vec<Condition>),
}

/// A rule on which points go together: where all of `with` are there and none of `without`, at least one of `any`
/// must be (if it names any) and none of `none` may be.
#[derive(Clone, Debug)]
pub struct Combination {
    /// `Required`: an appliance that does not keep to it cannot work; `Recommended`: it works worse.
    pub need: Need,
    /// Where the rule applies: all of these are there. Empty: always.
    pub with: Vec<Condition>,
    /// And none of these.
    pub without: Vec<Condition>,
    /// At least one of these must be there.
    pub any: Vec<Condition>,
    /// None of these may be there.
    pub none: Vec<Condition>,
    /// Why, in a sentence.
    pub why: String,
}

impl Combination {
    fn met(&self, class: &Class, chosen: &Chosen) -> bool {
        let holds = |condition: &Condition| chosen.holds(class, condition);
        let applies = self.with.iter().all(holds) && !self.without.iter().any(holds);
        !applies || ((self.any.is_empty() || self.any.iter().any(holds)) && !self.none.iter().any(holds))
    }
}

/// An endpoint of the class, as the template has it; [`Class::shape`](Class::shape) makes the real one.
#[derive(Clone, Debug)]
pub struct PartSpec {
    /// Name; the first part's is `main`.
    pub name: String,
    /// What it is, in a few words.
    pub title: String,
}

/// A wire of the class, as the template has it.
#[derive(Clone, Debug)]
pub struct LinkSpec {
    /// Index of the point.
    pub point: u16,
    /// Index of the part.
    pub part: u16,
    /// Which of the point's addresses it hangs on.
    pub end: End,
    /// Which way it carries values.
    pub direction: Direction,
    /// The cluster's name.
    pub cluster: String,
    /// The attribute, command or event at its Matter end.
    pub target: Target,
}
