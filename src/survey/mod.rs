//! What a plan shows of itself, computed once for all rules.
//!
//! In: a [`Plan`]. Out: a [`Survey`]: who uses which address. Judges nothing: that is what rules are for.

pub mod names;
mod uses;

use crate::resolve::Plan;

pub use uses::{Use, Uses};

/// What a plan shows of itself.
#[derive(Debug)]
pub struct Survey {
    /// Who uses an address, and for what.
    pub uses: Uses,
}

impl Survey {
    /// Looks at a plan once.
    pub fn of(plan: &Plan) -> Self {
        Self { uses: Uses::of(plan) }
    }
}
