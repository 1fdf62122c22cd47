//! Numbers drawn from a seed, the same for ever.

/// A SplitMix64 generator.
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// Starts a sequence.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub const fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A whole number below `end`.
    pub fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.bits() % (end.max(1) as u64)).unwrap_or(0)
    }

    /// A number from `low` to `high` in steps of a tenth.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        let steps = ((high - low) * 10.0).floor().max(0.0);
        #[expect(clippy::cast_precision_loss, reason = "53 bits are plenty")]
        let unit = (self.bits() >> 11) as f64 / (1_u64 << 53) as f64;
        low + (unit * (steps + 1.0)).floor() / 10.0
    }

    /// True once in `n`.
    pub fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    /// One of them.
    pub fn pick<T: Copy>(&mut self, from: &[T], otherwise: T) -> T {
        let at = self.below(from.len());
        from.get(at).copied().unwrap_or(otherwise)
    }
}
