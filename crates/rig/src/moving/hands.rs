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
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// Where they are.
    pub hand: PointId,
    /// Which way the rope runs there.
    pub way: Way,
    /// How many there are; of lines that tell different numbers the most.
    pub hands: u8,
    /// The lines that they hold: places in [`Rig::lines`].
    pub lines: Vec<usize>,
    /// The pull of all lines that they hold, kN.
    pub pull_kn: Spread,
    /// How that compares.
    pub grasp: Grasp,
}

/// The hands of a rig, by point; lines that no hand holds left out.
pub(super) fn held(lines: &[Moved]) -> Vec<Held> {
    let mut held: Vec<Held> = Vec::new();
    for moved in lines.iter().filter(|moved| moved.runs.hands > 0) {
        match held.iter_mut().find(|held| held.hand == moved.runs.hand) {
            Some(same) => {
                same.hands = same.hands.max(moved.runs.hands);
                same.lines.push(moved.line);
                same.pull_kn = sum(same.pull_kn, moved.pull_kn);
            }
            None => held.push(Held {
                hand: moved.runs.hand,
                way: moved.runs.way,
                hands: moved.runs.hands,
                lines: vec![moved.line],
                pull_kn: moved.pull_kn,
                grasp: Grasp::Within,
            }),
        }
    }
    held.iter_mut().for_each(|held| held.grasp = grasp(held.pull_kn, f64::from(held.hands)));
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

/// The rig with its load held fast and pulled by all hands as hard as they can; `None` unless several hands haul all lines
/// that run, or where that has no rest.
pub(super) fn party(
    prepared: &Prepared<'_>,
    lines: &[Moved],
    held: &[Held],
    before: &Check,
    policy: &Policy,
) -> Option<Party> {
    let rig = prepared.rig();
    let is_hauled = |moved: &Moved| moved.runs.way == Way::In && moved.runs.pull.is_none() && moved.runs.hands > 0;
    let hands: u32 = held.iter().map(|held| u32::from(held.hands)).sum();
    if hands < 2 || rig.moved_load_kn() == 0.0 || !lines.iter().all(is_hauled) {
        return None;
    }
    let jammed = jammed(rig, lines, held);
    let bands = bands(&prepared.with_ropes_of(&jammed)).ok()?;
    let is_of_the_rig = |link: &Link| before.links.iter().any(|old| old.name == link.name && old.kind == link.kind);
    let links = check(&jammed, &bands, policy).links.into_iter().filter(is_of_the_rig).collect();
    Some(Party { hands, pull_kn: f64::from(hands) * grip().most.kn(), links })
}

fn jammed(rig: &Rig, lines: &[Moved], held: &[Held]) -> Rig {
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
    for held in held {
        for moved in lines.iter().filter(|moved| held.lines.contains(&moved.line)) {
            let pull_kn = held.most_kn() * held.share_of(moved);
            if let Some(runs) = &mut jammed.lines[moved.line].runs {
                runs.pull = Some(Force::from_kn(pull_kn));
            }
        }
    }
    jammed
}

impl Held {
    /// What the strongest of such hands give together, kN.
    fn most_kn(&self) -> f64 {
        f64::from(self.hands) * grip().most.kn()
    }

    /// What one of their lines takes of their pull: as the load on them is shared out; evenly where there is none.
    fn share_of(&self, moved: &Moved) -> f64 {
        if self.pull_kn.typed > 0.0 { moved.pull_kn.typed / self.pull_kn.typed } else { 1.0 / self.lines.len() as f64 }
    }
}
