//! Reads an accept list from its YAML, and tells everything in it that cannot be meant.

use super::{AcceptEntry, AcceptList, AcceptSubject};
use crate::findings::nearest;
use crate::review::change::Kind;
use crate::review::judgement::judgements;
use crate::sort;
use crate::source::{
    Entries, FileId, Given, Limits, Place, Problem, Shape, Spanned, SyntaxFault, parse, read_tree,
};
use schemars::JsonSchema;
use serde::Deserialize;

/// The version of the format that this program reads.
pub(super) const VERSION: u32 = 1;

/// What was read of an accept list.
#[derive(Clone, Debug, Default)]
pub struct AcceptReading {
    /// The sound entries.
    pub list: AcceptList,
    /// What is wrong with the others. With any of these nothing should be let through.
    pub faults: Vec<AcceptFault>,
    /// What is wrong with the YAML.
    pub problems: Vec<Problem>,
}

impl AcceptReading {
    /// What is wrong, in the order of the text, up to the number that is told of one file: its place, what it is, and what to
    /// write instead.
    pub fn wrong(&self) -> Vec<(Place, String, String)> {
        let faults = self.faults.iter().map(|fault| (fault.place(), Wrong::Fault(fault)));
        let problems = self.problems.iter().map(|problem| (problem.place(), Wrong::Problem(problem)));
        let mut wrong: Vec<(Place, Wrong)> = faults.chain(problems).collect();
        sort::by_key(&mut wrong, |(place, _)| *place);
        let in_words = |(place, wrong): (Place, Wrong)| {
            let (what, help) = match wrong {
                Wrong::Fault(fault) => (fault.to_string(), fault.help()),
                Wrong::Problem(problem) => in_words(problem),
            };
            (place, what, help)
        };
        wrong.into_iter().take(Limits::PROBLEMS_PER_FILE).map(in_words).collect()
    }

    /// How much is wrong.
    pub fn wrong_count(&self) -> usize {
        self.faults.len() + self.problems.len()
    }

    /// True if nothing is wrong.
    pub fn is_sound(&self) -> bool {
        self.faults.is_empty() && self.problems.is_empty()
    }
}

/// Something that is wrong.
enum Wrong<'r> {
    Fault(&'r AcceptFault),
    Problem(&'r Problem),
}

/// What is wrong with the YAML of a list, and what to write instead.
#[allow(clippy::wildcard_enum_match_arm, reason = "of the rest only the place is known")]
fn in_words(problem: &Problem) -> (String, String) {
    const SHAPE: &str =
        "write `housewright-accept: 1`, then `appliances:`, a key, and `CHANGE: REASON` below it";
    match problem {
        Problem::DuplicateKey { key, .. } => (
            format!("`{key}` stands here for the second time"),
            "take one of the two out; several changes of one appliance stand below its key once".to_owned(),
        ),
        Problem::UnknownKey { key, allowed, .. } => {
            let help = match nearest(key, allowed.iter().copied()) {
                Some(word) => format!("write `{word}`"),
                None => SHAPE.to_owned(),
            };
            (format!("an accept list has no `{key}`"), help)
        }
        Problem::MissingKey { .. } => ("something is missing here".to_owned(), SHAPE.to_owned()),
        Problem::WrongShape { found: Shape::Nothing, .. }
        | Problem::Syntax { fault: SyntaxFault::Unquoted { by: '#', .. }, .. } => (
            "nothing stands behind this key".to_owned(),
            "write the reason behind the change, as `removed: the owner had it taken out`".to_owned(),
        ),
        Problem::Syntax { fault: SyntaxFault::Parted { .. }, .. } => {
            ("a comma parts this reason in two".to_owned(), "put all of it into quotes".to_owned())
        }
        Problem::Syntax { .. } | Problem::Tab { .. } => ("this is not YAML".to_owned(), SHAPE.to_owned()),
        _ => ("this cannot stand in an accept list".to_owned(), SHAPE.to_owned()),
    }
}

/// What cannot be meant in an accept list.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AcceptFault {
    /// A version that this program does not read.
    #[error("this accept list is of version {version}, and this program reads version {VERSION}")]
    Version {
        /// Where it stands.
        place: Place,
        /// The version.
        version: u32,
    },
    /// A kind of change that there is not.
    #[error("there is no change `{name}`")]
    UnknownChange {
        /// Where it stands.
        place: Place,
        /// As written.
        name: String,
    },
    /// A kind of change that never happens to this.
    #[error("the change `{name}` does not happen to {what}")]
    MisplacedChange {
        /// Where it stands.
        place: Place,
        /// As written.
        name: String,
        /// `a house`, `a bridge` or `an appliance`.
        what: &'static str,
    },
    /// An entry without a reason.
    #[error("the change `{name}` is agreed to without a reason")]
    NoReason {
        /// Where the reason should stand.
        place: Place,
        /// The kind of change.
        name: String,
    },
}

impl AcceptFault {
    /// Where it stands.
    pub fn place(&self) -> Place {
        match self {
            Self::Version { place, .. }
            | Self::UnknownChange { place, .. }
            | Self::MisplacedChange { place, .. }
            | Self::NoReason { place, .. } => *place,
        }
    }

    /// What to write instead.
    pub fn help(&self) -> String {
        match self {
            Self::Version { .. } => format!("write `housewright-accept: {VERSION}`"),
            Self::UnknownChange { name, .. } => match nearest(name, judgements().iter().map(|row| row.name)) {
                Some(word) => format!("write `{word}`"),
                None => {
                    "copy the word that the review shows beside the change, or see `housewright list changes`"
                        .to_owned()
                }
            },
            Self::MisplacedChange { name, .. } => match Kind::from_name(name).map(Whose::of) {
                Some(Whose::House) => "write it under `house:`".to_owned(),
                Some(Whose::Bridge) => "write it under `bridges:`, below the bridge's key".to_owned(),
                _ => "write it under `appliances:`, below the appliance's key".to_owned(),
            },
            Self::NoReason { name, .. } => format!("write `{name}: REASON`"),
        }
    }
}

/// An accept list as written.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "housewright accept list")]
struct Written {
    /// Version of the format: 1.
    #[serde(rename = "housewright-accept")]
    version: Spanned<u32>,
    /// Changes of the house as a whole that the owner agreed to, each with the reason.
    #[serde(default)]
    house: Given<Entries<String>>,
    /// Changes of bridges, by the bridge's old or new key.
    #[serde(default)]
    bridges: Given<Entries<Entries<String>>>,
    /// Changes of appliances, by the appliance's old or new key. An entry agrees to a kind of change, not to its values: what
    /// else changes in that kind before the next build is agreed to as well.
    #[serde(default)]
    appliances: Given<Entries<Entries<String>>>,
}

/// The JSON Schema (draft 2020-12) of an accept list.
pub fn accept_schema() -> serde_json::Value {
    schemars::schema_for!(Written).to_value()
}

/// Reads an accept list from the text of its file.
pub fn read_accept_list(text: &str, file: FileId, limits: &Limits) -> AcceptReading {
    let (tree, problems) = parse(text, file, limits);
    let mut reading = AcceptReading { problems, ..AcceptReading::default() };
    let Some(tree) = tree else { return reading };
    let (written, told) = read_tree::<Written>(&tree, file, text);
    reading.problems.extend(told);
    let Some(written) = written else { return reading };
    if written.version.value != VERSION {
        let (place, version) = (written.version.place, written.version.value);
        reading.faults.push(AcceptFault::Version { place, version });
        return reading;
    }
    if let Some(changes) = written.house.here() {
        reading.take(Whose::House, changes, || AcceptSubject::House);
    }
    for (key, changes) in written.bridges.value().into_iter().flat_map(Entries::sound) {
        reading.take(Whose::Bridge, changes, || AcceptSubject::Bridge(key.value.clone()));
    }
    for (key, changes) in written.appliances.value().into_iter().flat_map(Entries::sound) {
        reading.take(Whose::Appliance, changes, || AcceptSubject::Appliance(key.value.clone()));
    }
    reading
}

/// What a kind of change happens to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Whose {
    House,
    Bridge,
    Appliance,
}

impl Whose {
    fn of(kind: Kind) -> Self {
        if matches!(kind, Kind::HouseId | Kind::HouseRenamed | Kind::MatterEdition) {
            Self::House
        } else if matches!(
            kind,
            Kind::BridgeRenamed | Kind::BridgeAdded | Kind::BridgeRemoved | Kind::BridgeRekeyed
        ) {
            Self::Bridge
        } else {
            Self::Appliance
        }
    }

    fn noun(self) -> &'static str {
        match self {
            Self::House => "a house",
            Self::Bridge => "a bridge",
            Self::Appliance => "an appliance",
        }
    }
}

impl AcceptReading {
    fn take(&mut self, whose: Whose, changes: &Entries<String>, subject: impl Fn() -> AcceptSubject) {
        for (name, reason) in changes.sound() {
            let (place, name) = (name.place, name.value.clone());
            match Kind::from_name(&name) {
                None => self.faults.push(AcceptFault::UnknownChange { place, name }),
                Some(kind) if Whose::of(kind) != whose => {
                    self.faults.push(AcceptFault::MisplacedChange { place, name, what: whose.noun() });
                }
                Some(_) if reason.value.trim().is_empty() => {
                    self.faults.push(AcceptFault::NoReason { place, name });
                }
                Some(kind) => self.list.entries.push(AcceptEntry {
                    subject: subject(),
                    kind: Spanned::new(kind, place),
                    reason: reason.value.clone(),
                }),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> AcceptReading {
        read_accept_list(text, FileId(0), &Limits::default())
    }

    /// What is wrong with a list, each with the text it points at.
    fn check(text: &str, expected: &[&str]) {
        let faults = read(text).faults;
        let told = |fault: &AcceptFault| {
            let place = fault.place();
            let at = text.get(place.start as usize..place.end as usize).unwrap_or("nowhere");
            format!("{at}: {fault}; {}", fault.help())
        };
        assert_eq!(faults.iter().map(told).collect::<Vec<_>>(), expected);
    }

    #[test]
    fn a_list_is_read_in_order_with_places() {
        let text = "housewright-accept: 1\nhouse:\n  matter-edition: the gateway was updated\nbridges:\n  wharf:\n    \
            bridge-renamed: agreed on site\nappliances:\n  pantry-light:\n    removed: the owner had it taken out\n";
        let reading = read(text);
        assert!(reading.is_sound(), "{:?} {:?}", reading.faults, reading.problems);
        let subjects: Vec<_> =
            reading.list.entries.iter().map(|one| (&one.subject, one.kind.value)).collect();
        assert_eq!(
            subjects,
            [
                (&AcceptSubject::House, Kind::MatterEdition),
                (&AcceptSubject::Bridge("wharf".to_owned()), Kind::BridgeRenamed),
                (&AcceptSubject::Appliance("pantry-light".to_owned()), Kind::Removed),
            ]
        );
        let place = reading.list.entries[2].kind.place;
        assert_eq!(text.get(place.start as usize..place.end as usize), Some("removed"));
    }

    #[test]
    fn what_cannot_be_meant_is_told_at_its_place() {
        check(
            "housewright-accept: 2\n",
            &[
                "2: this accept list is of version 2, and this program reads version 1; write `housewright-accept: 1`",
            ],
        );
        check(
            "housewright-accept: 1\nappliances:\n  lamp:\n    remoevd: gone\n    bridge-added: new\n    removed: ''\n",
            &[
                "remoevd: there is no change `remoevd`; write `removed`",
                "bridge-added: the change `bridge-added` does not happen to an appliance; write it under `bridges:`, below \
             the bridge's key",
                "removed: the change `removed` is agreed to without a reason; write `removed: REASON`",
            ],
        );
    }

    #[test]
    fn what_is_wrong_with_the_yaml_says_what_to_write() {
        let told = |text: &str| -> Vec<String> {
            read(text).wrong().into_iter().map(|(_, what, help)| format!("{what}; {help}")).collect()
        };
        assert_eq!(
            told("housewright-accept: 1\nappliance:\n  lamp: { removed: sold }\n"),
            ["an accept list has no `appliance`; write `appliances`"]
        );
        assert_eq!(
            told("housewright-accept: 1\nappliances:\n  lamp:\n    removed:\n"),
            [
                "nothing stands behind this key; write the reason behind the change, as `removed: the owner had it taken \
                out`"
            ]
        );
        assert_eq!(
            told("housewright-accept: 1\nappliances:\n  lamp: { removed: a }\n  lamp: { relabelled: b }\n"),
            [
                "`lamp` stands here for the second time; take one of the two out; several changes of one appliance stand \
                below its key once"
            ]
        );
    }

    #[test]
    fn broken_yaml_and_unknown_keys_are_problems() {
        assert!(!read("housewright-accept: [").problems.is_empty());
        assert!(!read("housewright-accept: 1\napliances: {}\n").problems.is_empty());
        assert!(!read("").problems.is_empty());
        assert!(read("housewright-accept: 1\n").is_sound());
    }
}
