//! Random numbers from a seed.

/// A stream of random numbers (splitmix64; Steele G., Lea D., Flood C., Fast splittable pseudorandom number generators, 2014).
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// The stream of a seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03)
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Evenly between `low` and `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Nearly a normal law of unit spread: four even numbers added up.
    pub fn normal(&mut self) -> f64 {
        let bits = self.bits();
        let sum: u64 = (0..4).map(|part| (bits >> (16 * part)) & 0xFFFF).sum();
        (sum as f64 / 65_536.0 - 2.0) * 3f64.sqrt()
    }
}
