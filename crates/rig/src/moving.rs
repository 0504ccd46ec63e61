//! What it takes to move the load of a rig: pull and advantage, what hands give, what comes of a jam or an abrupt stop.

mod descent;
mod drag;
mod hands;
mod textile;

use crate::band::{Bands, corners, variation};
use crate::check::Check;
use crate::model::{Case, Line, PointId, PointKind, Rig, Runs, Stance};
use crate::solve::{Failure, History, KN, Loads, Motion, Prepared, Task, Variation, solve_all};
pub use descent::Descended;
pub use drag::Dragged;
pub use hands::{Grasp, Held, Party};
pub use textile::Textile;
use trade::policy::Policy;

/// A number as typed, and its band over the corners.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// With the numbers as typed.
    pub typed: f64,
    /// The least over all corners.
    pub least: f64,
    /// The most over all corners.
    pub most: f64,
}

/// What it takes to move the load by one line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moved {
    /// Place in [`Rig::lines`].
    pub line: usize,
    /// How it is on the move.
    pub runs: Runs,
    /// The pull at the hand, kN.
    pub pull_kn: Spread,
    /// The pull at the hand if the rope ran the other way, kN; between the two nothing moves. `None` where it cannot.
    pub back_kn: Option<Spread>,
    /// The pull with no friction anywhere, kN; `None` where nothing comes to rest so.
    pub ideal_kn: Option<f64>,
    /// What the rope that hangs below the hand weighs, kN: so much less the hand has to hold.
    pub tail_kn: f64,
    /// How much rope is wanting for the load to reach the height asked for, m; 0 where it is long enough.
    pub short_m: f64,
}

/// What it takes to move the load of a rig.
#[derive(Debug, Clone, PartialEq)]
pub struct Moving {
    /// Each line that runs, in the order of the file.
    pub lines: Vec<Moved>,
    /// The resultant of weights and pulls on all that can move, kN.
    pub load_kn: f64,
    /// Who stands and is pulled up beyond their weight, and by how much at the most, kN.
    pub lifted: Vec<(PointId, f64)>,
    /// What hands are asked for, beside what they give: each once, however many lines they hold.
    pub hands: Vec<Held>,
    /// What those who haul put on the rig if the load jams.
    pub party: Option<Party>,
    /// What comes of an abrupt stop, where somebody comes down on a rope.
    pub descent: Option<Descended>,
    /// Where rope runs over cloth.
    pub textiles: Vec<Textile>,
    /// The pull of the rope that a leader takes along, clip by clip, where the rig asks for it.
    pub drag: Vec<Dragged>,
}

impl Moving {
    /// Load over the sum of the pulls, as typed.
    #[must_use]
    pub fn advantage(&self) -> f64 {
        self.load_kn / self.lines.iter().map(|line| line.pull_kn.typed).sum::<f64>()
    }

    /// Load over the sum of the pulls with no friction.
    #[must_use]
    pub fn ideal_advantage(&self) -> Option<f64> {
        let pulls: Option<f64> = self.lines.iter().map(|line| line.ideal_kn).sum();
        pulls.map(|pulls| self.load_kn / pulls)
    }

    /// Whether what is asked cannot be done: a rope too short, or a pull beyond the strongest hands.
    #[must_use]
    pub fn cannot_be(&self) -> bool {
        let short = self.lines.iter().any(|line| line.short_m > 0.0);
        short || self.hands.iter().any(|held| held.grasp == Grasp::TooWeak)
    }
}

/// What it takes to move the load of a rig that was solved and checked; `None` where no rope is on the move.
#[must_use]
pub fn moving(prepared: &Prepared<'_>, bands: &Bands, check: &Check, policy: &Policy) -> Option<Moving> {
    let rig = prepared.rig();
    if rig.case != Case::Running {
        return None;
    }
    let near = Some(&bands.history);
    let frictionless = Variation { motion: Motion::Ideal, ..Variation::TYPED };
    let ideal = solve_all(&[Task { near, ..Task::of(prepared, frictionless) }]).remove(0).ok().map(|ideal| ideal.loads);
    let back = back(prepared, near).ok();
    let forth: Vec<&Loads> = bands.cases.iter().map(|(_, loads)| loads).collect();
    let load_kn = rig.moved_load_kn();
    let held = |runs: &Runs| runs.is_held;
    let running = rig.lines.iter().enumerate().filter_map(|(line, of)| Some((line, of, of.runs.filter(held)?)));
    let ideal_of = |line: usize, runs: &Runs| ideal.as_ref().map(|loads| hand_kn(loads, line, runs));
    let ideal_kn: Option<f64> = running.clone().map(|(line, _, runs)| ideal_of(line, &runs)).sum();
    // Metre for metre at the least: on a device of one's own, and where the rope's own weight hides the advantage.
    let metres = ideal_kn.map_or(1.0, |pulls| (load_kn / pulls).max(1.0));
    let lowest = lowest_load_m(rig);
    let moved = |(line, of, runs): (usize, &Line, Runs)| Moved {
        line,
        runs,
        pull_kn: spread(forth.iter().map(|loads| hand_kn(loads, line, &runs))),
        back_kn: back.as_ref().map(|back| spread(back.iter().map(|loads| hand_kn(loads, line, &runs)))),
        ideal_kn: ideal_of(line, &runs),
        tail_kn: rig.tail_n(of, &runs) / KN,
        short_m: short_m(rig, of, &runs, lowest, metres),
    };
    let lines: Vec<Moved> = running.map(moved).collect();
    let hands = hands::held(&lines);
    Some(Moving {
        party: hands::party(prepared, &lines, &hands, check, policy),
        hands,
        descent: descent::descent(rig, check, policy),
        textiles: textile::textiles(rig),
        drag: drag::drag(prepared),
        lines,
        load_kn,
        lifted: lifted(rig, bands),
    })
}

/// The pull that is a question, with its band over the corners, kN: line by line. Of a line that is pulled with a given
/// force it is the tension at the other end, where that is held.
pub(crate) fn pulls(rig: &Rig, bands: &Bands) -> Vec<(usize, Spread)> {
    let asked = |(line, of): (usize, &Line)| {
        let runs = of.runs.filter(|runs| runs.is_held)?;
        let far_end = of.through[if runs.hand_is_last { 0 } else { of.through.len() - 1 }];
        let at_last = match runs.pull {
            None => runs.hand_is_last,
            Some(_) => rig.is_still(far_end).then_some(!runs.hand_is_last)?,
        };
        Some((line, at_last))
    };
    let end_kn = |loads: &Loads, line: usize, at_last: bool| {
        let segments = &loads.lines[line];
        if at_last { segments[segments.len() - 1] } else { segments[0] }
    };
    let lines = rig.lines.iter().enumerate().filter_map(asked);
    let cases = || bands.cases.iter().map(|(_, loads)| loads);
    lines.map(|(line, at_last)| (line, spread(cases().map(|loads| end_kn(loads, line, at_last))))).collect()
}

impl Rig {
    /// Whether a point stays where it is while ropes run.
    fn is_still(&self, point: PointId) -> bool {
        match self.points[point.0].kind {
            PointKind::Anchor { .. } => true,
            PointKind::Joint { .. } => false,
            PointKind::Person { stance, .. } => stance != Stance::Falls,
        }
    }
}

fn back(prepared: &Prepared<'_>, near: Option<&History>) -> Result<Vec<Loads>, Failure> {
    let typed = std::iter::once(Variation::TYPED);
    let all = typed.chain(corners(prepared.rig()).into_iter().map(|corner| variation(prepared.rig(), corner)));
    let back = all.map(|variation| Variation { motion: Motion::Back, ..variation });
    let tasks: Vec<Task<'_>> = back.map(|variation| Task { near, ..Task::of(prepared, variation) }).collect();
    solve_all(&tasks).into_iter().map(|solved| Ok(solved?.loads)).collect()
}

/// The first is as typed.
fn spread(values: impl Iterator<Item = f64>) -> Spread {
    let start = Spread { typed: f64::NAN, least: f64::INFINITY, most: f64::NEG_INFINITY };
    values.fold(start, |spread, value| Spread {
        typed: if spread.typed.is_nan() { value } else { spread.typed },
        least: spread.least.min(value),
        most: spread.most.max(value),
    })
}

fn hand_kn(loads: &Loads, line: usize, runs: &Runs) -> f64 {
    let segments = &loads.lines[line];
    if runs.hand_is_last { segments[segments.len() - 1] } else { segments[0] }
}

fn lifted(rig: &Rig, bands: &Bands) -> Vec<(PointId, f64)> {
    let most = |point: usize| bands.cases.iter().map(|(_, loads)| loads.points[point].lifts_kn).fold(0.0, f64::max);
    let points = (0..rig.points.len()).map(|point| (PointId(point), most(point)));
    points.filter(|(_, lifts)| *lifts > 0.0).collect()
}

/// The lowest of those who hang, m, as drawn: what the rope stretches is no rope to count on.
fn lowest_load_m(rig: &Rig) -> Option<f64> {
    let hanging = (0..rig.points.len()).map(PointId).filter(|&point| rig.falls(point));
    hanging.map(|point| rig.points[point.0].at[2]).reduce(f64::min)
}

/// The way as drawn, and what is paid out until the load is where it has to get to: so many metres of rope for one of
/// the load as the ideal advantage says (virtual work).
fn short_m(rig: &Rig, line: &Line, runs: &Runs, lowest_m: Option<f64>, metres: f64) -> f64 {
    let Some(rope) = runs.rope else { return 0.0 };
    let way: f64 = rig.segment_lengths(line).iter().sum();
    let further = match (runs.reaches_m, lowest_m) {
        (Some(reaches), Some(lowest)) => (lowest - reaches).max(0.0) * metres,
        _ => 0.0,
    };
    (way + further - rope.m()).max(0.0)
}
