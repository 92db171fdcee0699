//! Which values of a side are looked at: all, or a spread that is the same on every machine.

/// Up to so many values all are looked at.
pub(super) const ALL_UP_TO: u64 = 1 << 16;
/// How many are looked at of more: above a million, and no power of two, so that no bit of the raw value stands still.
pub(super) const SPREAD: u64 = 1_048_573;

/// How many are looked at in a glance, and up to how many all.
const GLANCE: u64 = 4_093;

/// How much is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Look {
    /// Everything, or a spread as fine as it gets.
    Whole,
    /// So much that what matters shows.
    Glance,
}

/// The indices of a side that are looked at, ascending, first and last among them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spread {
    count: u128,
    most: u64,
    all_up_to: u64,
}

impl Spread {
    /// Of a side with so many values.
    pub(super) fn of(count: u128, look: Look) -> Self {
        match look {
            Look::Whole => Self { count, most: SPREAD, all_up_to: ALL_UP_TO },
            Look::Glance => Self { count, most: GLANCE, all_up_to: GLANCE },
        }
    }

    /// How many indices there are.
    pub(super) fn len(self) -> u64 {
        if self.complete() { u64::try_from(self.count).unwrap_or(self.most) } else { self.most }
    }

    /// Whether they are all.
    pub(super) fn complete(self) -> bool {
        self.count <= u128::from(self.all_up_to)
    }

    /// The index number `n`.
    ///
    /// Of more than are looked at, each lies in its own of as many equal stretches, at a place within it that a hash of
    /// `n` picks, so that low bits differ too; the first is 0, the last the last.
    pub(super) fn index(self, n: u64) -> u128 {
        if self.complete() || n == 0 {
            return u128::from(n);
        }
        if n + 1 >= self.most {
            return self.count - 1;
        }
        let all = u128::from(self.most);
        let start_of = |n: u128| self.count / all * n + self.count % all * n / all;
        let start = start_of(u128::from(n));
        let width = start_of(u128::from(n) + 1).saturating_sub(start).max(1);
        start + u128::from(mix(n)) % width
    }
}

/// Spreads the bits of a number over all of its 64 (the finalizer of a public-domain hash, `splitmix64`).
pub(super) fn mix(number: u64) -> u64 {
    let mut bits = number.wrapping_add(0x9e37_79b9_7f4a_7c15);
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}
