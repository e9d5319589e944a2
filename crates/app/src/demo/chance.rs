//! Chance that comes out the same everywhere: SplitMix64 and Box–Muller.
//!
//! SplitMix64: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014; constants from memory.
//! Box–Muller: Box, Muller, "A note on the generation of random normal deviates", Ann. Math. Stat. 29 (1958).
//! Good enough to scatter a demo; not for secrets.

/// A stream of numbers that its seed decides.
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// A stream of its own for one purpose, so that one more number here changes nothing elsewhere.
    pub fn apart(seed: u64, purpose: u64) -> Self {
        let mut stream = Chance(seed ^ purpose.wrapping_mul(0xD134_2543_DE82_EF95));
        Chance(stream.whole())
    }

    /// The next 64 bits.
    pub fn whole(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number in (0, 1], evenly spread.
    pub fn even(&mut self) -> f64 {
        ((self.whole() >> 11) + 1) as f64 / (1u64 << 53) as f64
    }

    /// A normal number of mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.even())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.even())
    }

    /// A normal number, drawn again until it is within `limit` standard deviations.
    pub fn normal_within(&mut self, limit: f64) -> f64 {
        loop {
            let z = self.normal();
            if z.abs() <= limit {
                return z;
            }
        }
    }

    /// A whole number below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        (self.even() * count as f64).ceil() as usize - 1
    }

    /// Puts items into an order of chance (Fisher–Yates).
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stream_is_splitmix64() {
        // First outputs for seed 1234567, as printed in Rosetta Code, "Pseudo-random numbers/Splitmix64".
        let mut stream = Chance(1_234_567);
        assert_eq!(stream.whole(), 6_457_827_717_110_365_317);
        assert_eq!(stream.whole(), 3_203_168_211_198_807_973);
        assert_eq!(stream.whole(), 9_817_491_932_198_370_423);
    }

    #[test]
    fn normal_numbers_have_mean_zero_and_spread_one() {
        let mut stream = Chance(7);
        let drawn: Vec<f64> = (0..20_000).map(|_| stream.normal()).collect();
        let mean = drawn.iter().sum::<f64>() / 20_000.0;
        let square = drawn.iter().map(|z| z * z).sum::<f64>() / 20_000.0;
        assert!(mean.abs() < 0.03 && (square - 1.0).abs() < 0.05, "{mean} {square}");
    }

    #[test]
    fn shuffling_loses_nothing() {
        let mut items: Vec<u32> = (0..50).collect();
        Chance(3).shuffle(&mut items);
        assert_ne!(items, (0..50).collect::<Vec<_>>());
        items.sort_unstable();
        assert_eq!(items, (0..50).collect::<Vec<_>>());
    }
}
