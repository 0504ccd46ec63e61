//! Hundreds of random falls: none stops, and the laws hold at every moment.

use crate::rigs;
use mechanics::fall::{self, Fall, Moment};

/// How many falls are run.
const FALLS: u64 = 400;
/// Falls further on whose ropes once found no state, or whose numbers ran away: a segment of millimetres between two
/// pieces, or slack on both sides of a turn.
const AWKWARD: [u64; 9] = [482, 2684, 3179, 6538, 7092, 7824, 17220, 19451, 34318];
/// Share by which a tension may go beyond the capstan ratio.
const RATIO_TOLERANCE: f64 = 1e-6;
/// The error (share of the rope's stiffness) at which a step of the rope counts as settled; tensions below it have no ratio.
const TENSION_TOLERANCE: f64 = 2e-10;
/// Rounding of a sum of lengths, m.
const LENGTH_TOLERANCE: f64 = 1e-9;

/// Looks at every moment of one fall.
struct Inspector<'a> {
    fall: &'a Fall<f64>,
    seed: u64,
    /// Unstretched length of each rope at the moment before.
    lengths: Vec<f64>,
    moments: usize,
}

impl Inspector<'_> {
    fn inspect(&mut self, moment: &Moment<'_, f64>) {
        self.moments += 1;
        for leg in 0..self.fall.legs.len() {
            assert!(moment.leg_tension(leg) >= 0.0, "seed {}: leg {leg} pushes at {} s", self.seed, moment.time());
        }
        for line in 0..self.fall.lines.len() {
            self.pulls_only(moment, line);
            self.friction_law(moment, line);
            self.rope_is_kept(moment, line);
        }
    }

    fn pulls_only(&self, moment: &Moment<'_, f64>, line: usize) {
        let pulls = (0..self.fall.lines[line].lengths.len()).all(|segment| moment.tension(line, segment) >= 0.0);
        assert!(pulls, "seed {}: rope {line} pushes at {} s", self.seed, moment.time());
    }

    /// Neither tension at a turn exceeds the other by more than exp(friction × angle). At t = 0 the rope is as drawn.
    fn friction_law(&self, moment: &Moment<'_, f64>, line: usize) {
        let rope = &self.fall.lines[line];
        let tolerance = TENSION_TOLERANCE * (rope.response.slow + rope.response.fast);
        for turn in 1..rope.lengths.len() {
            let place = |offset: usize| moment.at(rope.through[turn + offset - 1]);
            let (before, after) = (place(1) - place(0), place(2) - place(1));
            let ratio = (rope.friction[turn] * before.angle_to(after)).exp() * (1.0 + RATIO_TOLERANCE);
            let (behind, ahead) = (moment.tension(line, turn - 1), moment.tension(line, turn));
            let excess = (behind - ratio * ahead).max(ahead - ratio * behind);
            let (seed, time) = (self.seed, moment.time());
            assert!(
                time == 0.0 || excess <= tolerance,
                "seed {seed}: rope {line} turn {turn} at {time} s: {behind} and {ahead} N, ratio {ratio}"
            );
        }
    }

    /// Rope is neither made nor lost, but for what the brake pays out.
    fn rope_is_kept(&mut self, moment: &Moment<'_, f64>, line: usize) {
        let rope = &self.fall.lines[line];
        let length: f64 = (0..rope.lengths.len()).map(|segment| moment.length(line, segment)).sum();
        let gained = length - self.lengths[line];
        let most = if rope.brake.is_finite() { f64::INFINITY } else { LENGTH_TOLERANCE };
        let (seed, time) = (self.seed, moment.time());
        assert!((-LENGTH_TOLERANCE..=most).contains(&gained), "seed {seed}: rope {line} gains {gained} m at {time} s");
        self.lengths[line] = length;
    }
}

#[test]
fn laws_hold_at_every_moment_of_random_falls() {
    for seed in (0..FALLS).chain(AWKWARD) {
        let fall = rigs::random(seed);
        let lengths = fall.lines.iter().map(|line| line.lengths.iter().sum()).collect();
        let mut inspector = Inspector { fall: &fall, seed, lengths, moments: 0 };
        let step = fall::default_step(&fall);
        let peaks = fall::run(&fall, step, &mut |moment: &Moment<'_, f64>| inspector.inspect(moment));
        assert!(peaks.is_ok(), "seed {seed}: {peaks:?}");
        assert!(inspector.moments as f64 > fall.until / step);
    }
}
