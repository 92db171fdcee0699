//! Which rows of a table are an appliance's own, whatever it is wired to.

use super::owners::{Owners, TELLING};
use super::stems::{Stem, Stems};
use super::tokens::{Tokens, Word};
use super::wires::{Wired, Wires, narrow};
use crate::pieces;
use crate::resolve::Plan;
use rustc_hash::FxHashMap;

/// A stem that none of an appliance's wires has must name it at least so well.
const PLAIN: f64 = 0.75;

/// And so well where its owner has no better one.
const PLAINEST: f64 = 0.9;

/// And by so much better than those that they have.
const BETTER: f64 = 0.2;

/// Or by so much, where its own would be as much better for the owner of that one.
const TOGETHER: f64 = 0.08;

/// A stem that nobody has names an appliance well enough, where all of its addresses are plainly another one's.
const COPIED: f64 = 0.5;

/// What a stem loses whose rows are all plainly another appliance's, besides one that is not.
const FOREIGN: f64 = 2.0;

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
    let looking = Looking { plan, wires, stems, owners, tokens };
    let home = |appliance: usize| {
        let owner = |bus, stem| owners.owner(bus, stem).map(|owner| owner as usize);
        looking.outside(appliance, home_among_wires(appliance, &looking), None, &owner)
    };
    let mut homes = pieces::each(plan.appliances.len(), pieces::LIGHT, home);
    looking.contest(&mut homes);
    homes
}

struct Looking<'a> {
    plan: &'a Plan,
    wires: &'a Wires,
    stems: &'a Stems,
    owners: &'a Owners,
    tokens: &'a Tokens,
}

impl Looking<'_> {
    fn like(&self, stem: Stem, appliance: usize) -> f64 {
        self.owners.likeness(stem, appliance, self.stems, self.tokens)
    }

    /// Whether a stem names the owner of its rows better than an appliance whose addresses there are all the owner's too.
    fn is_foreign(&self, stem: Stem, likeness: f64, appliance: usize) -> bool {
        let (_, own) = self.wires.of_appliance(appliance);
        let with_it = || {
            let own = own.iter().filter(|wired| !wired.shared);
            own.filter(|wired| wired.row.and_then(|row| self.stems.stem(wired.bus, row)) == Some(stem))
        };
        let owner = with_it().next().and_then(|first| self.owners.owner(first.bus, stem));
        let Some(owner) = owner.map(|owner| owner as usize).filter(|owner| *owner != appliance) else {
            return false;
        };
        let (_, theirs) = self.wires.of_appliance(owner);
        let has = |wired: &Wired| theirs.iter().any(|other| other.address == wired.address);
        with_it().all(has) && self.like(stem, owner) > likeness + TELLING
    }

    /// The home among the wires, or one outside that names the appliance plainly better.
    /// `claim` is how well the rows of the home name another appliance that has none, where that is known.
    fn outside(
        &self,
        appliance: usize,
        home: Option<Home>,
        claim: Option<f64>,
        owner: &dyn Fn(u32, Stem) -> Option<usize>,
    ) -> Option<Home> {
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
        let claimed = |home: &Home| claim.is_some_and(|claim| claim > home.likeness + TELLING);
        let copied =
            home.filter(|home| claimed(home) || self.is_foreign(home.stem, home.likeness, appliance));
        let is_home = |better: f64, stem: Stem| {
            (better >= PLAIN && self.is_better(appliance, bus, home, better, stem))
                || copied
                    .is_some_and(|copied| owner(bus, stem).is_none() && self.is_own(copied, better, stem))
                || home.is_some_and(|home| self.is_crossed(appliance, bus, home, better, stem))
        };
        let best = self
            .owners
            .stems_like(bus, appliance)
            .into_iter()
            .map(|stem| (self.like(stem, appliance), stem))
            .filter(|(better, stem)| is_home(*better, *stem))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        best.map(|(likeness, stem)| Home { stem, wires: 0, likeness }).or(home)
    }

    /// Where an appliance has its home among the rows that another is wired to, they are not the other's own: looks where
    /// that one's are, and so on along the row. Each appliance is moved once.
    fn contest(&self, homes: &mut [Option<Home>]) {
        let key = |appliance: usize, stem: Stem| {
            self.plan.appliances.get(appliance).map(|appliance| (narrow(appliance.bus), stem))
        };
        let all = || homes.iter().enumerate().filter_map(|(appliance, home)| Some((appliance, (*home)?)));
        let mut claims: Vec<usize> =
            all().filter(|(_, home)| home.wires == 0).map(|(appliance, _)| appliance).collect();
        if claims.is_empty() {
            return;
        }
        let mut holders: FxHashMap<(u32, Stem), Vec<usize>> = FxHashMap::default();
        for (appliance, home) in all().filter(|(_, home)| home.wires > 0) {
            let key = key(appliance, home.stem);
            key.into_iter().for_each(|key| holders.entry(key).or_default().push(appliance));
        }
        while let Some(claim) = claims.pop() {
            let Some(own) = homes.get(claim).copied().flatten() else { continue };
            let held = key(claim, own.stem).and_then(|key| holders.remove(&key));
            for holder in held.unwrap_or_default() {
                let home = homes.get(holder).copied().flatten();
                let found = {
                    // Who has left a stem has it no longer.
                    let left = |owner: usize, stem: Stem| {
                        let home = homes.get(owner).copied().flatten();
                        home.is_some_and(|home| home.wires == 0 && home.stem != stem)
                    };
                    let owner = |bus, stem| {
                        let owner = self.owners.owner(bus, stem).map(|owner| owner as usize);
                        owner.filter(|owner| !left(*owner, stem))
                    };
                    self.outside(holder, home, Some(own.likeness), &owner)
                };
                if found.is_some_and(|found| found.wires == 0) {
                    homes.get_mut(holder).into_iter().for_each(|home| *home = found);
                    claims.push(holder);
                }
            }
        }
    }

    /// Whether a stem that nobody has is that of an appliance whose addresses are all another one's: well enough named,
    /// or as theirs is but for one word, "R103 L1" for "R104 L1".
    fn is_own(&self, theirs: Home, likeness: f64, stem: Stem) -> bool {
        let (words, other) = (self.stems.words(stem), self.stems.words(theirs.stem));
        let missing = |of: &[Word], from: &[Word]| of.iter().filter(|word| !from.contains(word)).count();
        let alike = || missing(words, other) == 1 && missing(other, words) == 1;
        let gain = likeness - theirs.likeness;
        (likeness >= COPIED && gain >= BETTER) || (gain >= TOGETHER && alike())
    }

    /// Whether an appliance and the owner of a stem have each other's rows and no others, by the words that only one of
    /// the two names has: "Lux east" at "Brightness west", and "Lux west" at "Brightness east".
    fn is_crossed(&self, appliance: usize, bus: u32, home: Home, better: f64, stem: Stem) -> bool {
        if better - home.likeness < BETTER {
            return false;
        }
        let owner = self.owners.owner(bus, stem).map(|owner| owner as usize);
        let Some(owner) = owner.filter(|owner| *owner != appliance) else { return false };
        let is_own = |word: &Word, appliance: usize| self.owners.is_own(*word, appliance, self.tokens);
        let tells = |of: Stem, other: Stem, theirs: usize, not: usize| {
            let besides = self.stems.words(other);
            let mut telling = self.stems.words(of).iter().filter(|word| !besides.contains(word)).peekable();
            telling.peek().is_some() && telling.all(|word| is_own(word, theirs) && !is_own(word, not))
        };
        self.has_only(appliance, home.stem)
            && self.has_only(owner, stem)
            && self.like(home.stem, owner) - self.like(stem, owner) >= BETTER
            && tells(stem, home.stem, appliance, owner)
            && tells(home.stem, stem, owner, appliance)
    }

    /// Whether all rows of an appliance are of one stem.
    fn has_only(&self, appliance: usize, stem: Stem) -> bool {
        let (_, own) = self.wires.of_appliance(appliance);
        let mut own = own.iter().filter(|wired| !wired.shared).peekable();
        let has = |wired: &Wired| wired.row.and_then(|row| self.stems.stem(wired.bus, row)) == Some(stem);
        own.peek().is_some() && own.all(has)
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

/// The stem that most of the appliance's wires have, or of those the one that names it better. One whose rows are all
/// plainly another appliance's is its home only where there is no other: an entry that was copied and half corrected.
fn home_among_wires(appliance: usize, looking: &Looking<'_>) -> Option<Home> {
    let (_, own) = looking.wires.of_appliance(appliance);
    let mut counts: Vec<(Stem, u32)> = Vec::new();
    for wired in own.iter().filter(|wired| !wired.shared) {
        let Some(stem) = wired.row.and_then(|row| looking.stems.stem(wired.bus, row)) else { continue };
        match counts.iter_mut().find(|(other, _)| *other == stem) {
            Some((_, count)) => *count += 1,
            None => counts.push((stem, 1)),
        }
    }
    let all: u32 = counts.iter().map(|(_, count)| *count).sum();
    let several = counts.len() > 1;
    let weigh = |&(stem, count): &(Stem, u32)| {
        let likeness = looking.like(stem, appliance);
        let foreign = several && looking.is_foreign(stem, likeness, appliance);
        let weight = f64::from(count) / f64::from(all) + likeness - if foreign { FOREIGN } else { 0.0 };
        (weight, Home { stem, wires: count, likeness })
    };
    let mut weighed: Vec<(f64, Home)> = counts.iter().map(weigh).collect();
    weighed.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.stem.cmp(&b.1.stem)));
    match weighed.as_slice() {
        [(best, _), (next, _), ..] if best - next < 0.05 => None,
        [(_, home), ..] => Some(*home),
        [] => None,
    }
}
