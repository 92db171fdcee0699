//! What a rule is, and what it may look at: the plan, and what the stages before could not make sense of.

use super::{Card, Report};
use crate::classes::ClassLibrary;
use crate::ledger::Ledger;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Point};
use crate::source::Limits;
use crate::survey::Survey;
use crate::{classes, house, ledger, resolve, source};

/// A rule: what it says about itself, and how it looks.
#[derive(Debug)]
pub struct Rule {
    /// What it says about itself.
    pub card: Card,
    pub(super) look: Look,
}

/// How a rule looks.
#[derive(Clone, Copy, Debug)]
pub(super) enum Look {
    /// It puts a problem of an earlier stage into words; see [`wording`](super::wording).
    Problem,
    /// At each point.
    Point(fn(&Point, &Appliance, &Context<'_>, &mut Report)),
    /// At each appliance.
    Appliance(fn(&Appliance, &Context<'_>, &mut Report)),
    /// At everything, once.
    Whole(fn(&Context<'_>, &mut Report)),
}

/// What every rule may look at.
#[derive(Debug)]
pub struct Context<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// What the plan shows of itself.
    pub survey: &'a Survey,
    /// The device classes, for the nearest right word.
    pub library: &'a ClassLibrary,
    /// Endpoint numbers and unique ids so far.
    pub ledger: &'a Ledger,
}

impl Context<'_> {
    /// Whether an appliance, or its room, allows what a rule finds.
    pub(super) fn allows(&self, rule: &Rule, appliance: &Appliance) -> bool {
        let of_room = self.plan.rooms.get(appliance.room).map_or(&[][..], |room| room.allows.as_slice());
        appliance.allows.iter().chain(of_room).any(|allow| allow.rule.value == rule.card.name)
    }
}

/// What the stages before this one could not make sense of.
#[derive(Debug, Default)]
pub struct Problems {
    /// How many findings there may be.
    pub limits: Limits,
    /// Reading text.
    pub source: Vec<source::Problem>,
    /// Reading the description.
    pub house: Vec<house::Problem>,
    /// Reading classes of the house's own.
    pub classes: Vec<classes::Problem>,
    /// Looking things up.
    pub resolve: Vec<resolve::Problem>,
    /// Reading the ledger.
    pub ledger: Vec<ledger::Problem>,
}
