//! The problems of one room: as many of them as the house may tell.

use super::problem::Problem;
use crate::pieces::Quota;

/// The problems of one room.
pub(super) struct Told<'a> {
    /// How many problems all rooms may tell.
    quota: &'a Quota,
    /// Which of the rooms it is.
    room: usize,
    /// How many there are, told or not.
    pub(super) found: usize,
    pub(super) problems: Vec<Problem>,
}

impl<'a> Told<'a> {
    pub(super) fn of_room(quota: &'a Quota, room: usize) -> Self {
        Self { quota, room, found: 0, problems: Vec::new() }
    }

    /// Takes a problem, if it is one of the first of the house.
    pub(super) fn tell(&mut self, problem: impl FnOnce() -> Problem) {
        self.found += 1;
        if self.quota.take(self.room) {
            self.problems.push(problem());
        }
    }
}
