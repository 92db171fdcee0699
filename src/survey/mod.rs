//! What a plan shows of itself, computed once for all rules.
//!
//! In: a [`Plan`]. Out: a [`Survey`]: who uses which address, what distances the house keeps, what the names of its
//! tables say, and which wires break all that. Judges nothing: that is what rules are for. Linear in the points, but
//! for sorting.

pub mod names;
mod offsets;
mod stems;
mod suspects;
mod uses;
mod wires;

use crate::resolve::Plan;

pub use offsets::{Distance, Habit, Offsets};
pub use stems::{Stem, Stems};
pub use suspects::{Evidence, Slip, Suspect};
pub use uses::{Use, Uses};
pub use wires::{Kind, Wired, Wires};

/// What a plan shows of itself.
#[derive(Debug)]
pub struct Survey {
    /// Who uses an address, and for what.
    pub uses: Uses,
    /// Every command and feedback with what it is for.
    pub wires: Wires,
    /// Wires that break what the rest of the house keeps.
    pub suspects: Vec<Suspect>,
}

impl Survey {
    /// Looks at a plan once.
    pub fn of(plan: &Plan) -> Self {
        let uses = Uses::of(plan);
        let wires = Wires::of(plan);
        let offsets = Offsets::of(&wires, plan.appliances.len(), plan.house.notation);
        let stems = Stems::of(plan, &wires);
        let suspects = suspects::find(plan, &wires, &offsets, &stems, &uses);
        Self { uses, wires, suspects }
    }
}
