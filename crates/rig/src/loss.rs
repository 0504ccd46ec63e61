//! Losses: each leg and anchor taken away in turn, at rest and as the drop that follows.
//!
//! A loss is a rig without the piece, solved and checked like any other. What hung on a lost anchor goes with it: its
//! legs and draws. A rope runs on past it. A sling that runs between two anchors stays on the point before the lost end
//! (a twist or its connector holds it there); a rope that was fast at the lost anchor holds nothing any more.

use crate::band::{Bands, bands};
use crate::check::{Check, check};
use crate::model::{Case, Leg, LegId, Line, LineLength, PointId, PointKind, Rig, Seat, distance};
use crate::solve::{Failure, History, Prepared};
use mechanics::GRAVITY;
use rayon::prelude::*;
use terms::{Length, Mass};
use trade::policy::Policy;

/// What is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lost {
    /// An anchor with all that hangs on it.
    Anchor(PointId),
    /// A leg.
    Leg(LegId),
}

/// What is looked at after a loss.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Where the rest of the rig comes to rest.
    AtRest,
    /// The drop from where the whole rig was at rest.
    Drop,
    /// The fall of the rig without it from the beginning.
    Fall,
}

/// A loss and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Loss {
    /// What is lost.
    pub lost: Lost,
    /// What is looked at.
    pub stage: Stage,
    /// What comes of it.
    pub outcome: Outcome,
}

/// What comes of a loss.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// The rest of the rig holds, or breaks: its links say.
    Held(Box<Held>),
    /// Nothing holds the load on this point any more.
    NotHeld(PointId),
    /// It could not be solved.
    Failed(Failure),
}

/// The rest of a rig, solved and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The rig without what is lost. Points keep their places.
    pub rig: Rig,
    /// What was solved.
    pub bands: Bands,
    /// What that means for each link.
    pub check: Check,
    /// How far the load that sinks most comes down at the worst, m.
    pub sinks_m: f64,
}

impl Loss {
    /// Whether a link is over its rating in a way that counts, or nothing holds.
    #[must_use]
    pub fn counts(&self) -> bool {
        match &self.outcome {
            Outcome::Held(held) => held.check.counts,
            Outcome::NotHeld(_) => true,
            Outcome::Failed(_) => false,
        }
    }
}

/// All losses of a rig: at rest and as a drop, or as a fall, each in the order of its anchors and legs.
#[must_use]
pub fn losses(whole: &Prepared<'_>, history: &History, policy: &Policy) -> Vec<Loss> {
    let stages: &[Stage] = match whole.rig().case {
        Case::Rest => &[Stage::AtRest, Stage::Drop],
        Case::Fall => &[Stage::Fall],
        // Refused where the file is read.
        Case::Running => &[],
    };
    let tries: Vec<(Lost, Stage)> =
        whole.rig().losable().into_iter().flat_map(|lost| stages.iter().map(move |&stage| (lost, stage))).collect();
    tries.into_par_iter().map(|(lost, stage)| loss(whole, history, policy, lost, stage)).collect()
}

fn loss(whole: &Prepared<'_>, history: &History, policy: &Policy, lost: Lost, stage: Stage) -> Loss {
    let rig = whole.rig().after(history, lost, stage);
    let outcome = match bands(&whole.with_ropes_of(&rig)) {
        Ok(bands) => match rig.free_faller(&bands) {
            Some(point) => Outcome::NotHeld(point),
            None => {
                let check = check(&rig, &bands, policy);
                let sinks_m = sinks(whole.rig(), history, &bands);
                Outcome::Held(Box::new(Held { bands, check, sinks_m, rig }))
            }
        },
        Err(Failure::NotHeld { point }) => Outcome::NotHeld(rig.named(&point)),
        Err(failure) => Outcome::Failed(failure),
    };
    Loss { lost, stage, outcome }
}

/// How far the loaded point that sinks most comes down from where it was at first.
fn sinks(whole: &Rig, history: &History, bands: &Bands) -> f64 {
    let loaded = (0..whole.points.len()).map(PointId).filter(|&point| whole.is_loaded(point));
    let lowest = |point: PointId| {
        bands.cases.iter().map(|(_, loads)| loads.points[point.0].lowest_m).fold(f64::INFINITY, f64::min)
    };
    loaded.map(|point| history.at(0, point)[2] - lowest(point)).fold(0.0, f64::max)
}

impl Rig {
    /// Anchors that something hangs on, then legs that are no draws.
    fn losable(&self) -> Vec<Lost> {
        let carries = |point: PointId| {
            self.legs.iter().any(|leg| leg.from == point || leg.to == point)
                || self.lines.iter().any(|line| line.through.contains(&point))
        };
        let is_anchor = |point: &PointId| matches!(self.points[point.0].kind, PointKind::Anchor { .. });
        let anchors = (0..self.points.len()).map(PointId).filter(is_anchor).filter(|&point| carries(point));
        let is_draw = |leg: usize| self.draws.iter().any(|draw| draw.leg.0 == leg);
        let legs = (0..self.legs.len()).filter(|&leg| !is_draw(leg)).map(LegId);
        anchors.map(Lost::Anchor).chain(legs.map(Lost::Leg)).collect()
    }

    fn named(&self, name: &str) -> PointId {
        PointId(self.points.iter().position(|point| point.name == name).unwrap_or(0))
    }

    /// Whether a load acts on a point: a pull, or the weight of somebody who hangs or falls.
    pub(crate) fn is_loaded(&self, point: PointId) -> bool {
        self.falls(point) || self.pulls.iter().any(|pull| pull.at == point)
    }

    /// Somebody or something that falls free in the numbers as typed: no rope and no leg ever pulls.
    fn free_faller(&self, bands: &Bands) -> Option<PointId> {
        let pulled = |point: PointId| {
            let legs = self.legs.iter().zip(&bands.typed().legs);
            let by_leg = legs.filter(|(leg, _)| leg.from == point || leg.to == point).any(|(_, &load)| load > 0.0);
            let lines = self.lines.iter().zip(&bands.typed().lines);
            by_leg
                || lines
                    .filter(|(line, _)| line.through.contains(&point))
                    .any(|(_, loads)| loads.iter().any(|&load| load > 0.0))
        };
        (0..self.points.len()).map(PointId).find(|&point| self.is_loaded(point) && !pulled(point))
    }

    /// The rig after a loss, as that stage begins.
    fn after(&self, history: &History, lost: Lost, stage: Stage) -> Rig {
        let mut rig = self.clone();
        rig.losses = false;
        rig.clip_table = None;
        if stage != Stage::Fall {
            rig.begin_at_rest(history);
        }
        let lengths = self.whole_lengths(history, stage);
        match lost {
            Lost::Leg(leg) => rig.remove_legs(&[leg.0]),
            Lost::Anchor(anchor) => rig.remove_anchor(anchor),
        }
        rig.remove_from_lines(self, lost, &lengths);
        if stage == Stage::Drop {
            rig.case = Case::Fall;
            rig.weigh_pulls();
        }
        rig
    }

    fn begin_at_rest(&mut self, history: &History) {
        for (place, point) in self.points.iter_mut().enumerate() {
            point.at = history.at(0, PointId(place));
        }
    }

    /// Unstretched length of each line, m.
    fn whole_lengths(&self, history: &History, stage: Stage) -> Vec<f64> {
        match stage {
            Stage::Fall => self.lines.iter().map(|line| self.segment_lengths(line).iter().sum()).collect(),
            _ => history.hanging.iter().map(|line| line.iter().map(|segment| segment.length_m).sum()).collect(),
        }
    }

    pub(crate) fn remove_anchor(&mut self, anchor: PointId) {
        let hangs = |leg: &Leg| leg.from == anchor || leg.to == anchor;
        let gone: Vec<usize> = (0..self.legs.len()).filter(|&leg| hangs(&self.legs[leg])).collect();
        let draws: Vec<usize> = (0..self.draws.len()).filter(|&draw| self.draws[draw].on == anchor).collect();
        let later = |draw: usize| draws.iter().filter(|&&gone| gone < draw).count();
        let kept = |seat: Seat| match seat {
            Seat::At(point) => point != anchor,
            Seat::BoltEnd(draw) | Seat::RopeEnd(draw) => !draws.contains(&draw),
        };
        self.connectors.retain(|seated| kept(seated.seat));
        for seated in &mut self.connectors {
            seated.seat = match seated.seat {
                Seat::BoltEnd(draw) => Seat::BoltEnd(draw - later(draw)),
                Seat::RopeEnd(draw) => Seat::RopeEnd(draw - later(draw)),
                at @ Seat::At(_) => at,
            };
        }
        self.draws.retain(|draw| draw.on != anchor);
        self.remove_legs(&gone);
    }

    fn remove_legs(&mut self, gone: &[usize]) {
        let mut place = 0;
        self.legs.retain(|_| {
            place += 1;
            !gone.contains(&(place - 1))
        });
        for draw in &mut self.draws {
            draw.leg.0 -= gone.iter().filter(|&&leg| leg < draw.leg.0).count();
        }
    }

    /// Leads the lines past what is lost; `whole` is the rig before.
    fn remove_from_lines(&mut self, whole: &Rig, lost: Lost, lengths: &[f64]) {
        let Lost::Anchor(anchor) = lost else {
            self.keep_lengths(lengths);
            return;
        };
        let gone: Vec<PointId> =
            whole.draws.iter().filter(|draw| draw.on == anchor).map(|draw| draw.joint).chain([anchor]).collect();
        self.keep_lengths(lengths);
        let places: Vec<[f64; 3]> = self.points.iter().map(|point| point.at).collect();
        let is_sling = |line: &Line| {
            let ends = [line.through[0], line.through[line.through.len() - 1]];
            ends.iter().all(|end| matches!(whole.points[end.0].kind, PointKind::Anchor { .. }))
        };
        let shortened = |line: &Line| {
            if !line.through.iter().any(|point| gone.contains(point)) {
                return Some(line.clone());
            }
            let ends = [line.through[0], line.through[line.through.len() - 1]];
            let through = past(&line.through, &gone);
            let is_fast = is_sling(line) || !ends.iter().any(|end| gone.contains(end));
            (is_fast && through.len() > 1).then(|| led(line, through, &places))
        };
        self.lines = self.lines.iter().filter_map(shortened).collect();
    }

    fn keep_lengths(&mut self, lengths: &[f64]) {
        let places: Vec<[f64; 3]> = self.points.iter().map(|point| point.at).collect();
        for (line, &length) in self.lines.iter_mut().zip(lengths) {
            line.tensioned = None;
            line.length = length_of(&line.through, length, &places);
        }
    }

    /// In a drop a steady load is the weight of something that hangs there.
    fn weigh_pulls(&mut self) {
        for place in 0..self.points.len() {
            let size_n = self.typed_load(place).norm();
            if let PointKind::Joint { mass } = &mut self.points[place].kind {
                *mass = Mass::from_kg(mass.kg().max(size_n / GRAVITY));
            }
        }
    }
}

/// The points of a line without those that are gone, none twice in a row.
fn past(through: &[PointId], gone: &[PointId]) -> Vec<PointId> {
    let mut left: Vec<PointId> = through.iter().copied().filter(|point| !gone.contains(point)).collect();
    left.dedup();
    left
}

/// A line led anew: with all of its rope, or with as much as its limiter knots let through.
fn led(line: &Line, through: Vec<PointId>, places: &[[f64; 3]]) -> Line {
    let whole = match line.length {
        LineLength::Slack(slack) => drawn(&line.through, places) + slack.m(),
        LineLength::Given(length) => length.m(),
    };
    let most = line.limiter.map_or(f64::INFINITY, |limiter| drawn(&through, places) + limiter.m());
    let length = whole.min(most);
    Line { length: length_of(&through, length, places), through, ..line.clone() }
}

/// A length as slack in the last segment, or spread where the line is shorter than drawn.
fn length_of(through: &[PointId], length: f64, places: &[[f64; 3]]) -> LineLength {
    let slack = length - drawn(through, places);
    if slack >= 0.0 { LineLength::Slack(Length::from_m(slack)) } else { LineLength::Given(Length::from_m(length)) }
}

fn drawn(through: &[PointId], places: &[[f64; 3]]) -> f64 {
    through.windows(2).map(|pair| distance(places[pair[0].0], places[pair[1].0])).sum()
}
