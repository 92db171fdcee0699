//! What can be wrong with a class file: facts with places, no prose.

use super::breach::Breach;
use super::class::End;
use super::setting::SettingFault;
use crate::matter::ValueFault;
use crate::source::Place;

/// A problem of a class file.
#[derive(Clone, Debug, PartialEq)]
pub enum Problem {
    /// The file cannot be read as the format wants it.
    Written(crate::source::Problem),
    /// Something that must be written is not.
    Missing {
        /// What lacks it: its name, or the name of the class.
        place: Place,
        /// The key.
        key: &'static str,
        /// What lacks it: `class`, `point`, `setting` …
        within: &'static str,
    },
    /// The file is named otherwise than its class.
    FileName {
        /// The class's name.
        place: Place,
        /// The class's name.
        class: String,
        /// The name that the file has, without its ending.
        file: String,
    },
    /// A class of this name is there already.
    Taken {
        /// The class's name.
        place: Place,
        /// The class's name.
        class: String,
        /// Where the other stands; `None` for a built-in class.
        other: Option<Place>,
    },
    /// `based-on:` comes back to where it began.
    Recursion {
        /// The `based-on` that does.
        place: Place,
        /// The classes on the way, the first again at the end.
        round: Vec<String>,
    },
    /// A name that means nothing here.
    Unknown {
        /// Where it stands.
        place: Place,
        /// What kind of thing it should name.
        what: Named,
        /// The name.
        name: String,
        /// In what it was looked for: the cluster's name for an attribute; may be empty.
        within: String,
        /// The names that there are. Of classes, of which a house may have many, those that are near.
        known: Vec<String>,
    },
    /// A text that is no datapoint type.
    BadDpt {
        /// Where it stands.
        place: Place,
        /// The text.
        text: String,
    },
    /// A device type with another revision than the data model's.
    Revision {
        /// The revision.
        place: Place,
        /// The device type.
        device_type: String,
        /// What is written.
        written: u16,
        /// The data model's.
        current: u16,
    },
    /// A setting's own default is none of its values.
    Default {
        /// The default.
        place: Place,
        /// The setting.
        setting: String,
        /// Why it is none.
        fault: SettingFault,
    },
    /// A setting whose range has no number in it.
    EmptyRange {
        /// The range.
        place: Place,
        /// The setting.
        setting: String,
    },
    /// A wire that names no end, or two.
    Ends {
        /// The wire.
        place: Place,
        /// What is wrong.
        fault: EndFault,
    },
    /// A point takes an address that none of its links hangs on.
    EndWithoutLink {
        /// The point's name.
        place: Place,
        /// The point.
        point: String,
        /// The address.
        end: End,
    },
    /// A wire writes an attribute that controllers may only read.
    ReadOnly {
        /// The attribute.
        place: Place,
        /// `Cluster.Attribute`.
        attribute: String,
        /// Its access in the data model's notation.
        access: String,
    },
    /// Flags of a group object that are none.
    Flags {
        /// The flags.
        place: Place,
        /// What the reader says.
        detail: String,
    },
    /// Steps from an unusual datapoint type that cannot be turned round for the way to the bus.
    OneWay {
        /// The steps.
        place: Place,
        /// The datapoint type.
        dpt: String,
        /// Which step, and why.
        detail: String,
    },
    /// A parameter of a step that makes no sense.
    Parameter {
        /// The step.
        place: Place,
        /// What is wrong.
        detail: String,
    },
    /// A step of a conversion that is none.
    Step {
        /// The step.
        place: Place,
        /// What the reader says.
        detail: String,
    },
    /// A conversion whose result does not fit its end.
    Unfit {
        /// The conversion, or the wire if it has none.
        place: Place,
        /// The datapoint types at the bus end.
        dpts: Vec<String>,
        /// The Matter end, `Cluster.Attribute` or `Cluster.Command`.
        target: String,
        /// What does not fit.
        detail: String,
    },
    /// Two points report the same attribute.
    SameAttribute {
        /// The second wire.
        place: Place,
        /// The first.
        first: Place,
        /// `Cluster.Attribute`.
        attribute: String,
    },
    /// Settings, each within its range, of which a step or a value cannot be made.
    Settings {
        /// The step or value.
        place: Place,
        /// The settings' names.
        settings: Vec<String>,
        /// What is wrong with the value; `None` for a step.
        fault: Option<ValueFault>,
    },
    /// The endpoint would not be what the data model demands, for at least one choice of points.
    Breach {
        /// What in the file comes nearest to it.
        place: Place,
        /// The breach.
        breach: Breach,
        /// The points for which it shows, with their addresses: `brightness.command`.
        points: Vec<String>,
    },
}

/// What is wrong with the ends of a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndFault {
    /// Neither attribute, command nor event.
    NoTarget,
    /// More than one of attribute, command, event.
    ManyTargets,
    /// Neither `from` nor `to`, and no command.
    NoDirection,
    /// Both `from` and `to`.
    BothDirections,
    /// An event that goes to the bus, or a command that comes from it.
    WrongWay,
    /// From or to an address that the point does not take.
    NoAddress,
}

/// Kinds of things that a class file names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// A class.
    Class,
    /// A device type.
    DeviceType,
    /// A cluster.
    Cluster,
    /// A feature's code.
    Feature,
    /// An attribute.
    Attribute,
    /// A command.
    Command,
    /// An event.
    Event,
    /// A semantic tag.
    Tag,
    /// A point of the class.
    Point,
    /// A part of the class.
    Part,
    /// A setting of the class.
    Setting,
    /// A word that a setting takes.
    Word,
    /// A datapoint type.
    Dpt,
    /// A datapoint type that the point accepts.
    Accepted,
}

impl Problem {
    /// Whether it shows only when the class is put together: where a part of its file is not read, it may be that part's.
    pub fn is_of_the_whole(&self) -> bool {
        matches!(
            self,
            Self::Unfit { .. } | Self::SameAttribute { .. } | Self::Settings { .. } | Self::Breach { .. }
        )
    }

    /// Where it shows.
    pub fn place(&self) -> Place {
        match self {
            Self::Written(problem) => problem.place(),
            Self::Missing { place, .. }
            | Self::FileName { place, .. }
            | Self::Taken { place, .. }
            | Self::Recursion { place, .. }
            | Self::Unknown { place, .. }
            | Self::BadDpt { place, .. }
            | Self::Revision { place, .. }
            | Self::Default { place, .. }
            | Self::EmptyRange { place, .. }
            | Self::Ends { place, .. }
            | Self::EndWithoutLink { place, .. }
            | Self::ReadOnly { place, .. }
            | Self::Flags { place, .. }
            | Self::Parameter { place, .. }
            | Self::OneWay { place, .. }
            | Self::Step { place, .. }
            | Self::Unfit { place, .. }
            | Self::SameAttribute { place, .. }
            | Self::Settings { place, .. }
            | Self::Breach { place, .. } => *place,
        }
    }

    /// Moves what shows in another file than the class's own to a place there.
    pub(super) fn move_home(&mut self, home: crate::source::FileId, to: Place) {
        let own = |place: &mut Place| {
            if place.file != home {
                *place = to;
            }
        };
        match self {
            Self::Written(_) => {}
            Self::SameAttribute { place, first, .. } => {
                own(place);
                own(first);
            }
            Self::Taken { place, other, .. } => {
                own(place);
                if let Some(other) = other {
                    own(other);
                }
            }
            Self::Missing { place, .. }
            | Self::FileName { place, .. }
            | Self::Recursion { place, .. }
            | Self::Unknown { place, .. }
            | Self::BadDpt { place, .. }
            | Self::Revision { place, .. }
            | Self::Default { place, .. }
            | Self::EmptyRange { place, .. }
            | Self::Ends { place, .. }
            | Self::EndWithoutLink { place, .. }
            | Self::ReadOnly { place, .. }
            | Self::Flags { place, .. }
            | Self::Parameter { place, .. }
            | Self::OneWay { place, .. }
            | Self::Step { place, .. }
            | Self::Unfit { place, .. }
            | Self::Settings { place, .. }
            | Self::Breach { place, .. } => own(place),
        }
    }
}
