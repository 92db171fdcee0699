//! Which rows of a table are an appliance's own, whatever it is wired to.

use super::owners::Owners;
use super::stems::{Stem, Stems};
use super::tokens::Tokens;
use super::wires::{Wires, narrow};
use crate::resolve::Plan;
use rayon::prelude::*;

/// A stem that none of an appliance's wires has must name it at least so well.
const PLAIN: f64 = 0.75;

/// And so well where its owner has no better one.
const PLAINEST: f64 = 0.9;

/// And by so much better than those that they have.
const BETTER: f64 = 0.2;

/// Or by so much, where its own would be as much better for the owner of that one.
const TOGETHER: f64 = 0.08;

/// The stem of an appliance's own rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Home {
    pub(super) stem: Stem,
    /// How many of its wires have it; 0 where all are wired to rows of something else.
    pub(super) wires: u32,
    /// How well it names the appliance.
    pub(super) likeness: f64,
}

/// The home of each appliance of a plan.
pub(super) fn homes(
    plan: &Plan,
    wires: &Wires,
    stems: &Stems,
    owners: &Owners,
    tokens: &Tokens,
) -> Vec<Option<Home>> {
    let within: Vec<Option<Home>> = (0..plan.appliances.len())
        .into_par_iter()
        .map(|appliance| home_among_wires(appliance, wires, stems, owners, tokens))
        .collect();
    let looking = Looking { plan, wires, stems, owners, tokens, within: &within };
    (0..within.len()).into_par_iter().map(|appliance| looking.outside(appliance)).collect()
}

struct Looking<'a> {
    plan: &'a Plan,
    wires: &'a Wires,
    stems: &'a Stems,
    owners: &'a Owners,
    tokens: &'a Tokens,
    within: &'a [Option<Home>],
}

impl Looking<'_> {
    fn like(&self, stem: Stem, appliance: usize) -> f64 {
        self.owners.likeness(stem, appliance, self.stems, self.tokens)
    }

    /// The home among the wires, or one outside that names the appliance plainly better.
    fn outside(&self, appliance: usize) -> Option<Home> {
        let home = self.within.get(appliance).copied().flatten();
        let likeness = home.map_or(0.0, |home| home.likeness);
        if likeness >= 1.0 - TOGETHER {
            return home;
        }
        let (_, own) = self.wires.of_appliance(appliance);
        let bus = own
            .first()
            .map(|wired| wired.bus)
            .or_else(|| self.plan.appliances.get(appliance).map(|appliance| narrow(appliance.bus)))?;
        if own.iter().any(|wired| wired.row.is_some()) && home.is_none() {
            return None;
        }
        let best = self
            .owners
            .stems_like(bus, appliance)
            .into_iter()
            .map(|stem| (self.like(stem, appliance), stem))
            .filter(|(better, stem)| *better >= PLAIN && self.is_better(appliance, bus, home, *better, *stem))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        best.map(|(likeness, stem)| Home { stem, wires: 0, likeness }).or(home)
    }

    /// Whether a stem outside is this appliance's: much better than its own and not as good for its owner; or better for
    /// it as its owner's would be for the owner.
    fn is_better(&self, appliance: usize, bus: u32, home: Option<Home>, better: f64, stem: Stem) -> bool {
        let Some(home) = home else { return true };
        let gain = better - home.likeness;
        let Some(owner) = self.owners.owner(bus, stem).map(|owner| owner as usize) else {
            return gain >= BETTER;
        };
        let theirs = self.like(stem, owner);
        if owner == appliance || theirs + TOGETHER > better {
            return false;
        }
        let mutual = self.like(home.stem, owner) - theirs >= TOGETHER;
        if mutual { gain >= TOGETHER } else { gain >= 2.0 * BETTER && better >= PLAINEST }
    }
}

/// The stem that most of the appliance's wires have, or of those the one that names it better.
fn home_among_wires(
    appliance: usize,
    wires: &Wires,
    stems: &Stems,
    owners: &Owners,
    tokens: &Tokens,
) -> Option<Home> {
    let (_, own) = wires.of_appliance(appliance);
    let mut counts: Vec<(Stem, u32)> = Vec::new();
    for wired in own.iter().filter(|wired| !wired.shared) {
        let Some(stem) = wired.row.and_then(|row| stems.stem(wired.bus, row)) else { continue };
        match counts.iter_mut().find(|(other, _)| *other == stem) {
            Some((_, count)) => *count += 1,
            None => counts.push((stem, 1)),
        }
    }
    let all: u32 = counts.iter().map(|(_, count)| *count).sum();
    let weigh = |&(stem, count): &(Stem, u32)| {
        let likeness = owners.likeness(stem, appliance, stems, tokens);
        (f64::from(count) / f64::from(all) + likeness, Home { stem, wires: count, likeness })
    };
    let mut weighed: Vec<(f64, Home)> = counts.iter().map(weigh).collect();
    weighed.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.stem.cmp(&b.1.stem)));
    match weighed.as_slice() {
        [(best, _), (next, _), ..] if best - next < 0.05 => None,
        [(_, home), ..] => Some(*home),
        [] => None,
    }
}
