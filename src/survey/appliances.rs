//! What seems wrong with whole appliances: their room, what they are called, what they listen to.

use super::heard::{self, Overheard};
use super::marks::Judge;
use super::strays::{self, Stray};
use super::things::{self, OtherThing};
use super::wires::narrow;

/// What is looked for in appliances of which no wire is told.
pub(super) struct Found {
    pub(super) overheard: Vec<Overheard>,
    pub(super) strays: Vec<Stray>,
    pub(super) other_things: Vec<OtherThing>,
}

impl Found {
    /// `said` is the room that all rows of each appliance name.
    pub(super) fn find(judge: Judge<'_>, said: &[Option<u32>], is_told: impl Fn(u32) -> bool + Sync) -> Self {
        let says_something_of = |appliance: u32| {
            let (start, own) = judge.wires.of_appliance(appliance as usize);
            (start..start + own.len()).any(|wire| is_told(narrow(wire)))
        };
        let (overheard, (strays, other_things)) = rayon::join(
            || heard::find(judge, says_something_of),
            || {
                let strays = || strays::find(judge, said, says_something_of);
                rayon::join(strays, || things::find(judge, says_something_of))
            },
        );
        Self { overheard, strays, other_things }
    }
}
