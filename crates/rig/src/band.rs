//! Bands: the corners of what nobody knows exactly, all solved, beside the numbers as typed.

use crate::model::{Band, Case, Rig};
use crate::solve::{Brake, Failure, History, Loads, Prepared, Taken, Variation};
use rayon::prelude::*;
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
    let (typed, (refined, corners)) = rayon::join(
        || prepared.loads_and_history(),
        || rayon::join(|| prepared.loads(&Variation::TYPED, 2), || corner_loads(prepared)),
    );
    let (typed, history) = typed?;
    Ok(Bands { refined: Some(refined?), cases: with_typed(typed, corners?), history })
}

/// The same from what was solved as typed, without a run at half the step: the error is not stated.
///
/// # Errors
/// The first [`Failure`] in the order of the corners.
pub fn bands_around(prepared: &Prepared<'_>, typed: Loads, history: History) -> Result<Bands, Failure> {
    Ok(Bands { refined: None, cases: with_typed(typed, corner_loads(prepared)?), history })
}

fn corner_loads(prepared: &Prepared<'_>) -> Result<Vec<(Corner, Loads)>, Failure> {
    let solve = |corner: Corner| Ok((corner, prepared.loads(&variation(prepared.rig(), corner), 1)?));
    corners(prepared.rig()).into_par_iter().map(solve).collect()
}

fn with_typed(typed: Loads, corners: Vec<(Corner, Loads)>) -> Vec<(Corner, Loads)> {
    std::iter::once((Corner::TYPED, typed)).chain(corners).collect()
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
