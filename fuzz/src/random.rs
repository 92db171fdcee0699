//! Random numbers from a seed, the same on every machine.

/// A generator of small random numbers.
pub struct Random(u64);

impl Random {
    /// Begins at a seed.
    pub fn new(seed: u32) -> Self {
        Self(u64::from(seed).wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// A number below `end`; 0 if there is none.
    pub fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        if end == 0 { 0 } else { (self.0 >> 11) as usize % end }
    }

    /// One of these.
    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        of.get(self.below(of.len()))
    }
}
