//! Bands: the corners of what nobody knows exactly, all solved, beside the numbers as typed.

use crate::model::{Band, Case, Rig};
use crate::solve::{Brake, Failure, History, Keeps, Loads, Prepared, Solved, Step, Taken, Task, Variation, solve_all};
use trade::friction::{BrakeBand, brake_band};

/// The device that is taken where no brake is typed, by its name in the table of brakes.
const COMMON_BRAKE: &str = "tube";

/// One corner: an end of the range for each thing that is not known exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Corner {
    /// Friction of rope over metal.
    pub friction: Taken,
    /// Whether the brake slips: `Low` it slips, `High` it holds whatever comes.
    pub brake: Taken,
    /// Stiffness of slings that are given as a range.
    pub stiffness: Taken,
}

impl Corner {
    /// The numbers as typed.
    pub const TYPED: Self = Self { friction: Taken::AsTyped, brake: Taken::AsTyped, stiffness: Taken::AsTyped };

    /// Its parts as codes, `as-typed` where there are none.
    #[must_use]
    pub fn code(&self) -> String {
        let part = |taken, low: &'static str, high: &'static str| match taken {
            Taken::AsTyped => None,
            Taken::Low => Some(low),
            Taken::High => Some(high),
        };
        let parts = [
            part(self.friction, "friction-low", "friction-high"),
            part(self.brake, "brake-slips", "brake-holds"),
            part(self.stiffness, "slings-soft", "slings-stiff"),
        ];
        let parts: Vec<_> = parts.into_iter().flatten().collect();
        if parts.is_empty() { "as-typed".to_owned() } else { parts.join(" ") }
    }
}

/// Everything that was solved for one rig.
#[derive(Debug, Clone, PartialEq)]
pub struct Bands {
    /// The numbers as typed first, then every corner.
    pub cases: Vec<(Corner, Loads)>,
    /// The numbers as typed, at half the step, where the error is to be stated.
    pub refined: Option<Loads>,
    /// The moments of the run with the numbers as typed.
    pub history: History,
}

impl Bands {
    /// The numbers as typed with no corners beside them.
    pub(crate) fn typed_alone(Solved { loads, history }: Solved) -> Self {
        Self { cases: vec![(Corner::TYPED, loads)], refined: None, history }
    }

    fn with_corners(
        mut self,
        corners: Vec<Corner>,
        solved: impl IntoIterator<Item = Result<Solved, Failure>>,
    ) -> Result<Self, Failure> {
        for (corner, solved) in corners.into_iter().zip(solved) {
            self.cases.push((corner, solved?.loads));
        }
        Ok(self)
    }

    /// The loads with the numbers as typed.
    #[must_use]
    pub fn typed(&self) -> &Loads {
        &self.cases[0].1
    }

    /// The largest of a load over all cases, kN, and the case it comes from.
    #[must_use]
    pub fn worst(&self, load_kn: impl Fn(&Loads) -> f64) -> (Corner, f64) {
        let loads = self.cases.iter().map(|(corner, loads)| (*corner, load_kn(loads)));
        loads.fold((Corner::TYPED, 0.0), |worst, next| if next.1 > worst.1 { next } else { worst })
    }

    /// The least of a load over all cases, kN.
    #[must_use]
    pub fn least(&self, load_kn: impl Fn(&Loads) -> f64) -> f64 {
        self.cases.iter().map(|(_, loads)| load_kn(loads)).fold(f64::INFINITY, f64::min)
    }

    /// How far a load moves when the step is halved, kN: its numerical error. Zero where that was not asked for.
    #[must_use]
    pub fn error(&self, load_kn: impl Fn(&Loads) -> f64) -> f64 {
        self.refined.as_ref().map_or(0.0, |refined| (load_kn(self.typed()) - load_kn(refined)).abs())
    }
}

/// Solves a rig with the numbers as typed, at half the step, and at every corner of what is not known; in parallel.
///
/// # Errors
/// The first [`Failure`] in that order.
pub fn bands(prepared: &Prepared<'_>) -> Result<Bands, Failure> {
    let rig = prepared.rig();
    if rig.case != Case::Fall {
        // There are no steps, so none can be halved.
        let typed = Bands::typed_alone(solve_all(&[Task::typed(prepared, Keeps::All)]).remove(0)?);
        let refined = Some(typed.typed().clone());
        return Ok(Bands { refined, ..bands_around(vec![(prepared, typed)], |_| true).remove(0)? });
    }
    let refined = Task { step: Step::Default { refinement: 2 }, ..Task::of(prepared, Variation::TYPED) };
    let corners = corners(rig);
    let tasks: Vec<Task<'_>> = [Task::typed(prepared, Keeps::All), refined]
        .into_iter()
        .chain(corner_tasks(prepared, &corners, None))
        .collect();
    let mut solved = solve_all(&tasks).into_iter();
    let mut next = || solved.next().expect("as many as tasks");
    let (typed, refined) = (next()?, next()?);
    let refined = Some(refined.loads);
    Bands { refined, ..Bands::typed_alone(typed) }.with_corners(corners, solved)
}

/// Adds some corners to what was solved of several rigs, as typed at least; their errors are not stated. In their order.
pub(crate) fn bands_around(
    typed: Vec<(&Prepared<'_>, Bands)>,
    which: impl Fn(&Corner) -> bool,
) -> Vec<Result<Bands, Failure>> {
    let chosen = |rig: &Rig| corners(rig).into_iter().filter(|corner| which(corner)).collect();
    let cases: Vec<Vec<Corner>> = typed.iter().map(|(prepared, _)| chosen(prepared.rig())).collect();
    let each = typed.iter().zip(&cases);
    let tasks = each.flat_map(|((prepared, typed), corners)| corner_tasks(prepared, corners, Some(&typed.history)));
    let tasks: Vec<Task<'_>> = tasks.collect();
    let mut solved = solve_all(&tasks).into_iter();
    let mut with_corners = |((_, alone), corners): ((_, Bands), Vec<Corner>)| {
        let own: Vec<_> = solved.by_ref().take(corners.len()).collect();
        alone.with_corners(corners, own)
    };
    typed.into_iter().zip(cases).map(&mut with_corners).collect()
}

fn corner_tasks<'t>(
    prepared: &'t Prepared<'t>,
    corners: &'t [Corner],
    near: Option<&'t History>,
) -> impl Iterator<Item = Task<'t>> {
    corners.iter().map(move |corner| Task { near, ..Task::of(prepared, variation(prepared.rig(), *corner)) })
}

/// The corners that make a difference to a rig.
#[must_use]
pub fn corners(rig: &Rig) -> Vec<Corner> {
    let falls = rig.case == Case::Fall;
    let rubs = rig.case != Case::Rest;
    let turns = rig.lines.iter().any(|line| line.through.len() > 2);
    let brakes = rig.lines.iter().any(|line| line.brake_slips_at.is_some() || rig.has_belayer(line));
    let stretches = rig.slings.iter().any(|sling| sling.stiffness_band_kn.is_some())
        || rig.ropes.iter().any(|rope| rope.state.is_some());
    let ends = |varies: bool| if varies { vec![Taken::Low, Taken::High] } else { vec![Taken::AsTyped] };
    let mut corners = Vec::new();
    for friction in ends(rubs && turns) {
        for brake in ends(falls && brakes) {
            for stiffness in ends(stretches) {
                corners.push(Corner { friction, brake, stiffness });
            }
        }
    }
    corners.retain(|corner| *corner != Corner::TYPED);
    corners
}

/// The range that the default friction of a rig is taken over: the file's own, or else that of the table, which every
/// typed coefficient shares in proportion.
#[must_use]
pub fn friction_span(rig: &Rig) -> Band {
    let known = trade::friction::friction_band();
    let share = rig.friction / known.nominal;
    rig.friction_band.unwrap_or(Band { low: known.low * share, high: known.high * share })
}

/// The numbers of a corner.
pub(crate) fn variation(rig: &Rig, corner: Corner) -> Variation {
    let span = friction_span(rig);
    Variation {
        friction_factor: match corner.friction {
            Taken::Low if rig.friction > 0.0 => span.low / rig.friction,
            Taken::High if rig.friction > 0.0 => span.high / rig.friction,
            _ => 1.0,
        },
        brake: match corner.brake {
            Taken::AsTyped => Brake::AsTyped,
            Taken::Low => Brake::SlipsAt(least_slip().low.kn()),
            Taken::High => Brake::Grips,
        },
        stiffness: corner.stiffness,
        devices: corner.friction,
        ..Variation::TYPED
    }
}

/// The brake that is taken where none is typed: a common device at its least.
///
/// # Panics
/// Where the table of brakes lacks it, which a test rules out.
#[must_use]
pub fn least_slip() -> BrakeBand {
    brake_band(COMMON_BRAKE).unwrap_or_else(|| panic!("no brake `{COMMON_BRAKE}` in the table"))
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_brake_that_is_taken_where_none_is_typed_is_in_the_table() {
        assert!(super::least_slip().low.kn() > 0.0);
    }
}
