//! Hands on a moving rope: what they are asked for, and what they put on the rig if the load jams.

use super::{Moved, Spread};
use crate::band::bands;
use crate::check::{Check, Link, check};
use crate::model::{PointId, PointKind, Rig, Stance};
use crate::running::Way;
use crate::solve::Prepared;
use terms::{Force, coded};
use trade::hand::grip;
use trade::policy::Policy;

coded!(
    /// How a pull compares with what hands give.
    Grasp {
        /// The weakest hand that was tested gives it, at the worst.
        Within = "hand-within",
        /// Some hands do, some do not.
        InDoubt = "hand-in-doubt",
        /// The strongest does not, even as typed.
        TooWeak = "hand-too-weak",
    }
);

/// What the hands at one point are asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// Where they are.
    pub hand: PointId,
    /// Which way the rope runs there.
    pub way: Way,
    /// How many there are.
    pub hands: u8,
    /// The pull of all lines that they hold, kN.
    pub pull_kn: Spread,
    /// How that compares.
    pub grasp: Grasp,
}

/// The hands of a rig, by point; lines that no hand holds left out.
pub(super) fn held(rig: &Rig, lines: &[Moved]) -> Vec<Held> {
    let mut held: Vec<Held> = Vec::new();
    for moved in lines.iter().filter(|moved| moved.runs.hands > 0) {
        match held.iter_mut().find(|held| held.hand == moved.runs.hand) {
            Some(same) => {
                same.hands = same.hands.max(moved.runs.hands);
                same.pull_kn = sum(same.pull_kn, moved.pull_kn);
            }
            None => held.push(Held {
                hand: moved.runs.hand,
                way: moved.runs.way,
                hands: moved.runs.hands,
                pull_kn: moved.pull_kn,
                grasp: Grasp::Within,
            }),
        }
    }
    held.iter_mut().for_each(|held| held.grasp = grasp(held.pull_kn, f64::from(held.hands)));
    debug_assert!(held.iter().all(|held| held.hand.0 < rig.points.len()));
    held
}

fn sum(a: Spread, b: Spread) -> Spread {
    Spread { typed: a.typed + b.typed, least: a.least + b.least, most: a.most + b.most }
}

fn grasp(pull_kn: Spread, hands: f64) -> Grasp {
    let grip = grip();
    if pull_kn.typed > hands * grip.most.kn() {
        Grasp::TooWeak
    } else if pull_kn.most > hands * grip.least.kn() {
        Grasp::InDoubt
    } else {
        Grasp::Within
    }
}

/// What those who haul put on the rig if the load jams and they pull as hard as the strongest hands do.
#[derive(Debug, Clone, PartialEq)]
pub struct Party {
    /// How many hands pull.
    pub hands: u32,
    /// Their pull together, kN.
    pub pull_kn: f64,
    /// What each link of the rig then sees.
    pub links: Vec<Link>,
}

impl Party {
    /// The rated link with the least margin.
    #[must_use]
    pub fn weakest(&self) -> Option<&Link> {
        let rated = self.links.iter().filter(|link| link.margin.is_some());
        rated.min_by(|a, b| a.margin.unwrap_or(f64::INFINITY).total_cmp(&b.margin.unwrap_or(f64::INFINITY)))
    }
}

/// The rig with its load held fast and every hauled line pulled as hard as its hands can; `None` unless several hands haul
/// all lines that run, or where that has no rest.
pub(super) fn party(prepared: &Prepared<'_>, before: &Check, policy: &Policy) -> Option<Party> {
    let rig = prepared.rig();
    let hauled = |rig: &Rig| {
        let runs: Vec<_> = rig.lines.iter().filter_map(|line| line.runs).filter(|runs| runs.is_held).collect();
        runs.iter().all(|runs| runs.way == Way::In && runs.pull.is_none() && runs.hands > 0).then_some(runs)
    };
    let hands: u32 = hauled(rig)?.iter().map(|runs| u32::from(runs.hands)).sum();
    if hands < 2 || rig.moved_load_kn() == 0.0 {
        return None;
    }
    let jammed = jammed(rig);
    let bands = bands(&prepared.with_ropes_of(&jammed)).ok()?;
    let is_of_the_rig = |link: &Link| before.links.iter().any(|old| old.name == link.name && old.kind == link.kind);
    let links = check(&jammed, &bands, policy).links.into_iter().filter(is_of_the_rig).collect();
    Some(Party { hands, pull_kn: f64::from(hands) * grip().most.kn(), links })
}

fn jammed(rig: &Rig) -> Rig {
    let mut jammed = rig.clone();
    for place in 0..jammed.points.len() {
        let is_pulled = rig.pulls.iter().any(|pull| pull.at == PointId(place));
        jammed.points[place].kind = match jammed.points[place].kind {
            PointKind::Person { mass, stance: Stance::Falls } => PointKind::Person { mass, stance: Stance::Anchored },
            PointKind::Joint { .. } if is_pulled => PointKind::Anchor { holds: None },
            kind => kind,
        };
    }
    jammed.pulls.clear();
    for runs in jammed.lines.iter_mut().filter_map(|line| line.runs.as_mut()).filter(|runs| runs.is_held) {
        runs.pull = Some(Force::from_kn(f64::from(runs.hands) * grip().most.kn()));
    }
    jammed
}
