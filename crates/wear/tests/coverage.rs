//! Intervals of the forecast on simulated pieces that know nothing of the model's prior.
//!
//! Rates of a kind are lognormal, the wear between two readings runs faster or slower than the piece's own rate, stated
//! uncertainties are off by some tenths, and use goes on after the last reading. The truth is the use at which the
//! simulated depth crosses the limit.

use terms::Length;
use wear::exposure::Exposure;
use wear::forecast::{Forecast, Reading, Record, forecast};

const PIECES: usize = 2000;
const LIMIT_MM: f64 = 1.0;

/// SplitMix64 (Steele, Lea and Flood, Fast splittable pseudorandom number generators, OOPSLA 2014).
struct Chance(u64);

impl Chance {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((bits ^ (bits >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    fn count(&mut self, from: usize, to: usize) -> usize {
        from + (self.even() * (to - from + 1) as f64) as usize
    }

    /// Box and Muller.
    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.even()).ln()).sqrt() * (std::f64::consts::TAU * self.even()).cos()
    }

    fn lognormal(&mut self, spread: f64) -> f64 {
        (spread * self.normal()).exp()
    }
}

/// A piece as it is: what was read of it, and when it truly reaches the limit.
struct Piece {
    record: Record,
    so_far: f64,
    at_limit: f64,
}

impl Piece {
    /// A piece of a kind that wears at about `rate` mm per kN m, read between a tenth and nine tenths of the limit.
    fn new(chance: &mut Chance, rate: f64) -> Self {
        let rate = rate * chance.lognormal(0.35);
        let from_new = chance.even() < 0.5;
        let mut depth = if from_new { 0.0 } else { chance.between(0.0, 0.3) };
        let count = chance.count(2, 7);
        let step = chance.between(0.15, 0.75) * (LIMIT_MM - depth) / rate / count as f64;
        let stated = chance.between(0.02, 0.06);
        let (mut readings, mut so_far) = (Vec::new(), 0.0);
        for _ in 0..count {
            let used = step * chance.between(0.5, 1.5);
            (so_far, depth) = (so_far + used, depth + used * rate * chance.lognormal(0.1));
            let read = depth + stated * chance.lognormal(0.2) * chance.normal();
            readings.push(Reading {
                exposure: Exposure::from_kn_m(so_far),
                depth: Length::from_mm(read),
                uncertainty: Length::from_mm(stated),
            });
        }
        let at_limit = so_far + (LIMIT_MM - depth).max(0.0) / (rate * chance.lognormal(0.05));
        Self { record: Record { readings, from_new }, so_far, at_limit }
    }
}

/// Number of forecasts and of those that hold the truth.
#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    asked: usize,
    held: usize,
}

impl Tally {
    fn add(&mut self, forecast: &Forecast, piece: &Piece) {
        let truth = piece.at_limit - piece.so_far;
        self.asked += 1;
        self.held += usize::from(forecast.left.low.kn_m() <= truth && truth <= forecast.left.high.kn_m());
    }

    fn share(&self) -> f64 {
        self.held as f64 / self.asked as f64
    }
}

/// Simulates until 2,000 pieces of kinds with `others` further pieces got a forecast.
fn coverage(seed: u64, others: impl Fn(&mut Chance) -> usize) -> Tally {
    let mut chance = Chance(seed);
    let mut tally = Tally::default();
    while tally.asked < PIECES {
        let rate = 1.5e-4 * chance.lognormal(0.7);
        let piece = Piece::new(&mut chance, rate);
        let count = others(&mut chance);
        let kind: Vec<Record> = (0..count).map(|_| Piece::new(&mut chance, rate).record).collect();
        let so_far = Exposure::from_kn_m(piece.so_far);
        if let Ok(forecast) = forecast(&piece.record, &kind, so_far, Length::from_mm(LIMIT_MM)) {
            tally.add(&forecast, &piece);
        }
    }
    tally
}

/// Run with `--nocapture` to see the figures that DESIGN.md quotes.
fn assert_honest(tally: Tally) {
    println!("{} of {} intervals hold the truth", tally.held, tally.asked);
    assert!((0.85..=0.95).contains(&tally.share()), "{tally:?}: {}", tally.share());
}

#[test]
fn intervals_of_90_percent_hold_the_truth_for_85_to_95_of_100_pieces() {
    assert_honest(coverage(1, |chance| chance.count(0, 8)));
}

#[test]
fn so_they_do_for_pieces_that_are_alone_of_their_kind() {
    assert_honest(coverage(2, |_| 0));
}

#[test]
fn and_for_pieces_of_a_kind_of_which_many_are_known() {
    assert_honest(coverage(3, |_| 8));
}
