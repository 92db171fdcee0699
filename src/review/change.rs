//! A change: one or more differences that are one thing to a person, and the appliance it happens to.

use super::compared::Compared;
use super::difference::Difference;
use super::judgement::{Consequence, Gateway, judgement};
use super::{Size, Unread};
use crate::bridge::definition::HouseRef;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What changed between two builds.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// The house, as the new build names it (the old one if the new has no bridge).
    pub house: Option<HouseRef>,
    /// What the two sides are; `None` where whoever asked for the review knows and says it.
    pub compared: Option<Compared>,
    /// How much the old build holds.
    pub before: Size,
    /// How much the new build holds.
    pub after: Size,
    /// Every change: worst consequence first, then by room, name and kind.
    pub changes: Vec<Change>,
    /// What could not be read, and so was not compared, with its side. With an entry here the review is never complete.
    pub unread: Vec<(Side, Unread)>,
}

impl Review {
    /// True if both builds were read whole and nothing differs.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty() && self.unread.is_empty()
    }

    /// The worst consequence for the family, `None` without a change.
    pub fn worst(&self) -> Option<Consequence> {
        self.changes.iter().map(Change::consequence).max()
    }

    /// What the gateway has to do for all changes together.
    pub fn gateway(&self) -> Gateway {
        self.changes.iter().map(|change| judgement(change.kind).gateway).max().unwrap_or(Gateway::Nothing)
    }

    /// How many changes have this consequence.
    pub fn count(&self, consequence: Consequence) -> usize {
        self.changes.iter().filter(|change| change.consequence() == consequence).count()
    }
}

/// One change.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What sort of change; its consequence and reason are [`judgement`]`(kind)`.
    pub kind: Kind,
    /// What it happens to.
    pub subject: Subject,
    /// What to write so that the place is kept, where something can be written.
    pub remedy: Option<Remedy>,
    /// Why the owner agreed to it, if an accept list says so.
    pub agreed: Option<String>,
    /// The differences it accounts for. No difference is in two changes.
    pub differences: Vec<Difference>,
}

impl Change {
    /// What the family notices.
    pub fn consequence(&self) -> Consequence {
        judgement(self.kind).consequence
    }

    /// What the gateway has to do.
    pub fn gateway(&self) -> Gateway {
        judgement(self.kind).gateway
    }

    /// The room it happens in; `None` for several rooms or none.
    pub fn room(&self) -> Option<&str> {
        let (first, others) = self.members().split_first()?;
        others.iter().all(|other| other.room == first.room).then_some(first.room.as_str())
    }

    /// The appliances it is about; none for a change of a bridge.
    pub fn members(&self) -> &[Member] {
        match &self.subject {
            Subject::House | Subject::Bridge { .. } => &[],
            Subject::Appliances(members) => members,
        }
    }
}

/// What a change happens to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Subject {
    /// The house, with all its bridges.
    House,
    /// A bridge as a whole.
    Bridge {
        /// Its key.
        key: String,
        /// Its name, as the new build has it (the old one for a bridge that is gone).
        name: String,
    },
    /// One or more appliances. For a split or merge those that were there before stand first.
    Appliances(Vec<Member>),
}

/// Which build something stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// The old one.
    Old,
    /// The new one.
    New,
    /// Both.
    Both,
}

/// An appliance that a change is about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Member {
    /// Key of its bridge, as the new build has it if it is there.
    pub bridge: String,
    /// Its key, as the new build has it if it is there.
    pub key: String,
    /// Its old key, if that was another one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub former_key: Option<String>,
    /// Its name, as the new build has it if it is there.
    pub label: String,
    /// Its room's name.
    pub room: String,
    /// Its floor's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<String>,
    /// Its endpoint numbers that the change touches: those of the new build, or of the old one if it is gone.
    pub endpoints: Vec<u16>,
    /// In which build it stands.
    pub side: Side,
}

/// What to write in the house description so that the place is kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Remedy {
    /// Key of the appliance to write it under.
    pub appliance: String,
    /// The line.
    pub line: String,
}

/// What sort of change. The names are those that an accept list uses and never change their meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The house's id is another one.
    HouseId,
    /// The house has another name.
    HouseRenamed,
    /// A bridge has another name.
    BridgeRenamed,
    /// A bridge was added.
    BridgeAdded,
    /// A bridge is gone.
    BridgeRemoved,
    /// A bridge has another key, so that it and all its appliances are new ones.
    BridgeRekeyed,
    /// The definitions are from another edition of the Matter standard.
    MatterEdition,
    /// A new appliance.
    Added,
    /// An appliance that was described and not shown is shown again, in its old place.
    ShownAgain,
    /// An appliance is gone.
    Removed,
    /// An appliance is described and no longer shown; its place is kept.
    NoLongerShown,
    /// The place that was kept for an appliance that is not shown is given up.
    PlaceLost,
    /// An appliance has another key and kept its identity.
    Rekeyed,
    /// An appliance probably only has another key, and loses its identity.
    ProbableRename,
    /// An appliance is of another class, with another device type.
    ClassChanged,
    /// An appliance has another endpoint number or unique id.
    NewIdentity,
    /// A new appliance got the endpoint number of another one.
    NumberReused,
    /// An appliance is behind another bridge.
    BridgeChanged,
    /// One appliance was divided into several.
    Split,
    /// A new appliance took over addresses of one that stays.
    SplitOff,
    /// Several appliances became one new one.
    Merged,
    /// An appliance is gone and another one took over its addresses.
    MergedInto,
    /// An appliance has a further endpoint.
    PartAdded,
    /// An appliance has an endpoint less.
    PartRemoved,
    /// An endpoint hangs below another one.
    Regrouped,
    /// An appliance has another name.
    Relabelled,
    /// An appliance is in another room, or the room has another name or floor.
    RoomChanged,
    /// Clusters, features, attributes or commands came, or attributes without a wire went.
    InterfaceChanged,
    /// A cluster, a feature, a command or an attribute with a wire is gone.
    FunctionRemoved,
    /// Limits that controllers show changed.
    LimitsChanged,
    /// Fixed values changed that controllers read once.
    ValuesChanged,
    /// A value changed that is shown until the bus reports the true one.
    FirstValueChanged,
    /// A command or attribute has no wire to the bus any more, or no other wire tells or sends what one did that is gone.
    FunctionUnwired,
    /// A command that was for every value of a scale only switches, steps or moves now.
    FunctionReduced,
    /// A command or event that had no wire to the bus has one, or a wire tells or sends what no other one did.
    FunctionWired,
    /// What is shown comes from elsewhere: reported, asked for or estimated.
    StatusSource,
    /// An appliance answers to other group addresses.
    Rewired,
    /// Appliances took each other's group addresses.
    Swap,
    /// Appliances took each other's group addresses, names and rooms: each has the key that another had.
    KeysExchanged,
    /// An appliance has the key of another one that is gone, and so its place.
    KeyTaken,
    /// The group addresses of a whole block moved together.
    BlockMoved,
    /// Group addresses are written in another notation.
    NotationChanged,
    /// An appliance has further wires.
    WiresAdded,
    /// An appliance has fewer wires, but no function without one.
    WiresRemoved,
    /// Values are converted the other way round.
    Reversed,
    /// The same command, mode or press does another thing than it did.
    OtherEffect,
    /// What the bus reports is shown as another value than it was.
    ShownOtherwise,
    /// An address that stays is taken for another datapoint type, whose telegrams are of another size.
    TelegramSize,
    /// Values are converted in another way that nobody notices.
    ConversionChanged,
    /// Times, or whether the gateway reads an address, changed.
    TimingChanged,
    /// The telegrams of one command are sent in another order.
    TelegramOrder,
    /// Names changed that only readers of the definitions see.
    Wording,
}
