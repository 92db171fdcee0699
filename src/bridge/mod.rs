//! Checked plan and ledger in, bridge definitions and next ledger out.

pub mod definition;
