//! How long a fall is followed, so that its worst has passed.

use super::text::example;
use mechanics::GRAVITY;
use std::f64::consts::PI;
use trade::friction::friction_band;

/// A fall, in the rough.
pub(super) struct RoughFall {
    /// How deep before the rope is taut, m.
    pub drop_m: f64,
    /// The whole rope, m.
    pub rope_m: f64,
    /// Who falls, kg.
    pub faller_kg: f64,
    /// A belayer who can be lifted, kg, and how high, m.
    pub lifts: Option<(f64, f64)>,
}

impl RoughFall {
    /// The keys on top of its file.
    pub fn keys(&self) -> String {
        format!(
            "friction = {:?}  # rope over metal where a connector gives none; the report shows a band around it\n\
             until_s = {:?}  # how long the fall is followed; left out: 3.0\n",
            friction_band().nominal,
            self.followed_s()
        )
    }

    /// To the next half second: free fall, a whole period of the faller on the whole rope (half of it is enough where
    /// nothing else moves), and the way up of a belayer who is outweighed.
    fn followed_s(&self) -> f64 {
        // sqrt(2 h / g) and 2 pi sqrt(e L / g) with the static elongation e, from the force of gravity: any textbook.
        let sag_m = example().rope_static_elongation_pct / 100.0 * self.rope_m;
        let ends_s = (2.0 * self.drop_m / GRAVITY).sqrt() + 2.0 * PI * (sag_m / GRAVITY).sqrt() + self.lift_s();
        ((2.0 * ends_s).ceil() / 2.0).clamp(example().until_s, example().until_most_s)
    }

    /// The slowest way up over the band of friction; 0 for a belayer who stays down.
    fn lift_s(&self) -> f64 {
        let Some((belayer_kg, height_m)) = self.lifts else { return 0.0 };
        let band = friction_band();
        let seconds = |friction: f64| {
            let pull = self.outweighs(belayer_kg, friction);
            if pull > 0.0 { (2.0 * height_m / (pull * GRAVITY)).sqrt() } else { 0.0 }
        };
        [band.low, band.nominal, band.high].map(seconds).into_iter().fold(0.0, f64::max)
    }

    /// Acceleration, in g, of two weights on one rope that turns by half a turn: Atwood's machine with the capstan
    /// ratio r = exp(pi friction), (M - r m) / (M + r m).
    fn outweighs(&self, belayer_kg: f64, friction: f64) -> f64 {
        let held_kg = (PI * friction).exp() * belayer_kg;
        (self.faller_kg - held_kg) / (self.faller_kg + held_kg)
    }
}
