//! Wind where the row says rain, and rain where it says wind: alarms that several appliances share, so that no other row of
//! an appliance speaks against one.

use super::marks::{self, Judge};
use super::said::{Speech, Weather};
use super::tokens::Word;
use super::wires::{Function, Wired};
use crate::knx::GroupAddress;
use rustc_hash::FxHashMap;

/// Wires of one function on a row that says rain where they are for wind, or the other way round.
#[derive(Clone, Debug)]
pub struct OtherWeather {
    /// By their index in [`Wires::all`](super::Wires::all); all have the same address.
    pub wires: Vec<u32>,
    /// The address that other wires of the function have, on a row that says what they are for.
    pub right: Option<GroupAddress>,
    /// What the row says.
    pub said: Weather,
}

/// Those of a plan, in the order of their first wires, without wires that something is `told` of.
pub(super) fn find(judge: Judge<'_>, told: impl Fn(u32) -> bool) -> Vec<OtherWeather> {
    let speech = &judge.learned.speech;
    let kinds: Vec<(Function, Weather)> = judge
        .wires
        .functions()
        .filter_map(|(function, point, _)| Some((function, Weather::of(point)?)))
        .collect();
    let mut groups: Vec<OtherWeather> = Vec::new();
    let mut known: FxHashMap<(u32, Function, GroupAddress), usize> = FxHashMap::default();
    // The table is looked through once for each function, however many addresses are wrong.
    let mut rights: FxHashMap<(u32, Function), Option<GroupAddress>> = FxHashMap::default();
    for (wired, index) in judge.wires.all.iter().zip(0u32..) {
        let kind = kinds.iter().find(|(function, _)| *function == wired.function);
        let (Some((_, own)), Some(row)) = (kind, wired.row) else { continue };
        let words = judge.learned.stems.row(wired.bus, row);
        let Some(said) = speech.weather(words).filter(|said| said != own && !told(index)) else { continue };
        if is_called_so(judge, wired, words, said, speech) {
            continue;
        }
        let group = *known.entry((wired.bus, wired.function, wired.address)).or_insert_with(|| {
            let right = rights.entry((wired.bus, wired.function));
            let right = *right.or_insert_with(|| row_of(judge, wired, *own, speech));
            groups.push(OtherWeather { wires: Vec::new(), right, said });
            groups.len() - 1
        });
        groups.get_mut(group).into_iter().for_each(|group| group.wires.push(index));
    }
    groups
}

/// Whether it is the appliance's own name that says so.
fn is_called_so(judge: Judge<'_>, wired: &Wired, words: &[Word], said: Weather, speech: &Speech) -> bool {
    let learned = judge.learned;
    let is_own = |word: Word| learned.owners.is_own(word, wired.appliance as usize, &learned.tokens);
    words.iter().any(|word| speech.weather(&[*word]) == Some(said) && is_own(*word))
}

/// The one row of the table that says this, with the wire's type and flags.
fn row_of(judge: Judge<'_>, wired: &Wired, wanted: Weather, speech: &Speech) -> Option<GroupAddress> {
    let rows = judge.table(wired)?.rows.iter().zip(0u32..);
    let mut fit = rows.filter(|(row, index)| {
        let words = judge.learned.stems.row(wired.bus, *index);
        speech.weather(words) == Some(wanted) && marks::row_cost(judge.plan, wired, row) == 0.0
    });
    match (fit.next(), fit.next()) {
        (Some((row, _)), None) => Some(row.address.value),
        (Some(_) | None, _) => None,
    }
}
