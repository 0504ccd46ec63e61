//! Ropes on the move, and what they run through.

use super::{Band, PointId};
use mechanics::running::Way;
use terms::{Force, Length};

/// How a line is on the move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Runs {
    /// The end where a hand holds it; of a line that is not held, the end that its rope runs towards.
    pub hand: PointId,
    /// Whether a hand holds it; if not, other ropes move it along.
    pub is_held: bool,
    /// Whether that is the last of its points, not the first.
    pub hand_is_last: bool,
    /// Which way it runs there.
    pub way: Way,
    /// The pull at the hand, where it is given.
    pub pull: Option<Force>,
    /// How much rope there is, tail included.
    pub rope: Option<Length>,
    /// The height that the load has to be able to reach, m.
    pub reaches_m: Option<f64>,
    /// How many hands hold it there; 0 where no hand does.
    pub hands: u8,
}

/// A number, and the range it may lie in where the file gives one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranged {
    /// As typed.
    pub typed: f64,
    /// The range.
    pub band: Option<Band>,
}

/// What a device does to a rope that runs through it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drag {
    /// The share of the tension that it passes on over half a turn.
    Efficiency(Ranged),
    /// The tension on the side that the rope runs to over that on the other, whatever the angle.
    Ratio(Ranged),
    /// Turns round a bar: friction coefficient, and the whole contact in turns.
    Wraps {
        /// The coefficient.
        friction: Ranged,
        /// In turns; what is drawn does not come to it.
        turns: f64,
    },
}

/// A pulley, a belay device, a bar: what a rope runs through that is no connector.
#[derive(Debug, Clone, PartialEq)]
pub struct Device {
    /// Its name.
    pub name: String,
    /// Where it is.
    pub at: PointId,
    /// The ropes that run through it; empty for all there.
    pub joins: Vec<String>,
    /// What it does.
    pub drag: Drag,
    /// Rated strength.
    pub strength: Option<Force>,
}

/// A friction hitch or a clamp that holds a rope fast where one or two of its lines end.
#[derive(Debug, Clone, PartialEq)]
pub struct Grip {
    /// Its name.
    pub name: String,
    /// Where it is.
    pub at: PointId,
    /// The rope it grips.
    pub of: super::RopeId,
    /// The least at which it slips, where known.
    pub slips_at: Option<Force>,
    /// What it is made of, in the trade's word, where known.
    pub fibre: Option<String>,
}
