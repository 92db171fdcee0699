//! Numbers that look random and are the same on every machine: one seed, one sequence, no clock.

/// A small generator (splitmix64).
#[derive(Clone, Debug)]
pub(crate) struct Random(u64);

impl Random {
    /// The sequence of a seed.
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed ^ 0x5851_F42D_4C95_7F2D)
    }

    /// The next 64 bits.
    pub(crate) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// A number from 0 to `limit - 1`; 0 when `limit` is 0.
    pub(crate) fn below(&mut self, limit: usize) -> usize {
        let limit = u64::try_from(limit).unwrap_or(u64::MAX).max(1);
        usize::try_from(self.bits() % limit).unwrap_or(0)
    }

    /// A number from `low` to `high`, both included.
    pub(crate) fn between(&mut self, low: usize, high: usize) -> usize {
        low + self.below(high - low + 1)
    }

    /// True in `percent` of all cases.
    pub(crate) fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    /// One of the entries; none if there are none.
    pub(crate) fn pick<'a, T>(&mut self, entries: &'a [T]) -> Option<&'a T> {
        let at = self.below(entries.len());
        entries.get(at)
    }

    /// Puts the entries into another order.
    pub(crate) fn shuffle<T>(&mut self, entries: &mut [T]) {
        for last in (1..entries.len()).rev() {
            let other = self.below(last + 1);
            entries.swap(last, other);
        }
    }
}
