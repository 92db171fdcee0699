//! A house under version control, with the real git: diffs, merges, recipes, and what cannot be read.

mod changed_since;
mod checkout;
mod diffs;
mod forgotten;
mod history;
mod merges;
mod recipes;
mod repository;
mod resolving;
mod sides;
mod unread;
mod unshown;
