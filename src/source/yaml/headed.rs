//! Headings of the description that were left out: what belongs below them stands where they belong.

use super::tree::Node;

/// A key of a structure whose value holds things of one kind, known by what a thing of this kind holds.
#[derive(Debug)]
pub(super) struct Heading {
    /// The structure's name.
    within: &'static str,
    /// The key.
    pub(super) key: &'static str,
    /// Keys that such a thing has, and nothing else of the structure.
    marks: &'static [&'static str],
}

const HEADINGS: [Heading; 3] = [
    Heading { within: "DescriptionFile", key: "rooms", marks: &["appliances"] },
    Heading { within: "Room", key: "appliances", marks: &["class", "points"] },
    Heading { within: "Appliance", key: "points", marks: &["command", "feedback"] },
];

/// Keys of a thing that are looked at.
const KEYS_LOOKED_AT: usize = 32;

impl Heading {
    /// The heading of a structure below which a value belongs.
    pub(super) fn of(within: &str, value: Node<'_>) -> Option<&'static Self> {
        HEADINGS.iter().find(|heading| heading.within == within).filter(|heading| heading.is_above(value))
    }

    /// Whether a value is a thing that belongs below the heading. A room whose own heading was left out too is known by
    /// its appliances.
    pub(super) fn is_above(&self, value: Node<'_>) -> bool {
        let mut members = value.entries().take(KEYS_LOOKED_AT);
        members.any(|(key, value)| {
            let is_room = || self.key == "rooms" && Self::of("Room", value).is_some();
            self.marks.contains(&key.raw_text()) || is_room()
        })
    }
}
