//! Ropes on the move: the rig as mechanics has it.

use crate::model::{Device, Drag, Line, PointId, PointKind, Ranged, Rig, Runs, Stance};
use crate::solve::{Failure, History, KN, Loads, Motion, Prepared, Solved, Taken, Variation};
use mechanics::GRAVITY;
use mechanics::rest::{Hold, Net, Unrest};
pub use mechanics::running::Way;
use mechanics::running::{self, Rope, Running, Turn, Unsteady};
use mechanics::vector::Vector;
use std::f64::consts::{PI, TAU};

impl Prepared<'_> {
    /// `near` is where everything was found under other numbers, as a first guess.
    pub(crate) fn running(&self, variation: &Variation, near: Option<&History>) -> Result<Solved, Failure> {
        let rig = self.rig();
        let mut net = self.as_running_net(variation);
        for (place, node) in net.nodes.iter_mut().enumerate().filter(|(_, node)| node.hold == Hold::Free) {
            node.at = near.map_or(node.at, |near| Vector(near.at(0, PointId(place))));
        }
        let ropes = self.ropes(variation);
        let mut running = self.moving_steadily(&net, &ropes)?;
        // Who is lifted and tied down by a leg is let up to it; who is not stays, and the lift is told.
        let lifted: Vec<usize> = (0..net.nodes.len())
            .filter(|&point| rig.stands(PointId(point)) && lift(&net, &running, point) > 0.0)
            .filter(|&point| rig.legs.iter().any(|leg| leg.from.0 == point || leg.to.0 == point))
            .collect();
        if !lifted.is_empty() {
            let mut let_up = net.clone();
            lifted.iter().for_each(|&point| let_up.nodes[point].hold = Hold::Free);
            if let Ok(tied_down) = self.moving_steadily(&let_up, &ropes) {
                (net, running) = (let_up, tied_down);
            }
        }
        let loads = self.running_loads(&net, &running);
        let mut history = History::of(rig);
        history.record_still(&running.rest.at, &loads.legs, &loads.lines);
        Ok(Solved { loads, history })
    }

    pub(crate) fn runs_alike(&self, other: &Prepared<'_>) -> bool {
        let typed = &Variation::TYPED;
        self.as_running_net(typed) == other.as_running_net(typed) && self.ropes(typed) == other.ropes(typed)
    }

    fn moving_steadily(&self, net: &Net, ropes: &[Rope]) -> Result<Running, Failure> {
        let rig = self.rig();
        let name = |node: usize| rig.points[node].name.clone();
        running::solve(net, ropes).map_err(|fault| match fault {
            Unsteady::Unrest(Unrest::NotHeld { node }) => Failure::NotHeld { point: name(node) },
            Unsteady::Unrest(Unrest::NotBalanced { node }) => Failure::NotBalanced { point: name(node) },
            Unsteady::NotSettled { rope } => {
                let line = rig.lines.iter().filter(|line| line.runs.is_some()).nth(rope);
                Failure::Unsteady { rope: line.map_or_else(String::new, |line| rig.ropes[line.of.0].name.clone()) }
            }
        })
    }

    /// The rig without the ropes that run; who stands is held until it is known whether they are lifted.
    fn as_running_net(&self, variation: &Variation) -> Net {
        let rig = self.rig();
        let mut net = self.as_net(variation);
        let still = |place: &usize| rig.lines[*place].runs.is_none();
        net.lines = (0..rig.lines.len()).filter(still).map(|place| net.lines[place].clone()).collect();
        for node in net.nodes.iter_mut().filter(|node| node.hold == Hold::Stands) {
            node.hold = Hold::Fixed;
        }
        // A draw that a straight rope leaves slack hangs by its own weight; without it, anywhere along the rope would do.
        for draw in &rig.draws {
            if let PointKind::Joint { mass } = rig.points[draw.joint.0].kind {
                net.nodes[draw.joint.0].load += Vector([0.0, 0.0, -mass.kg() * GRAVITY]);
            }
        }
        for line in &rig.lines {
            if let Some(runs) = line.runs {
                net.nodes[runs.hand.0].load += Vector([0.0, 0.0, -rig.tail_n(line, &runs)]);
            }
        }
        net
    }

    fn ropes(&self, variation: &Variation) -> Vec<Rope> {
        self.rig().lines.iter().filter_map(|line| Some(self.rope(line, &line.runs?, variation))).collect()
    }

    fn rope(&self, line: &Line, runs: &Runs, variation: &Variation) -> Rope {
        let rig = self.rig();
        let mut through = line.through.clone();
        if runs.hand_is_last {
            through.reverse();
        }
        Rope {
            stiffness: self.response(line, variation.stiffness).slow,
            turns: through.iter().map(|&point| rig.turn_at(point, line, variation)).collect(),
            through: through.iter().map(|point| point.0).collect(),
            length: rig.segment_lengths(line).iter().sum(),
            weight: rig.ropes[line.of.0].weight_n_per_m(),
            way: if variation.motion == Motion::Back { runs.way.back() } else { runs.way },
            pull: runs.pull.map(terms::Force::newtons),
        }
    }

    fn running_loads(&self, net: &Net, running: &Running) -> Loads {
        let rig = self.rig();
        let (mut still, mut moved) = (running.rest.strands.iter(), running.tensions.iter());
        let mut tensions = |line: &Line| -> Vec<f64> {
            let mut tensions = match line.runs {
                Some(_) => moved.next().cloned().unwrap_or_default(),
                None => still
                    .next()
                    .map(|strands| strands.iter().map(|strand| strand.tension).collect())
                    .unwrap_or_default(),
            };
            if line.runs.is_some_and(|runs| runs.hand_is_last) {
                tensions.reverse();
            }
            tensions.iter().map(|tension| tension / KN).collect()
        };
        let lines: Vec<Vec<f64>> = rig.lines.iter().map(&mut tensions).collect();
        let point = |point: usize| {
            let mut load = self.point_at_rest(point, &running.net, &running.rest);
            if matches!(rig.points[point].kind, PointKind::Anchor { .. }) {
                let (size, direction) = running.resultants[point].length_and_direction();
                (load.peak_kn, load.direction) = (size / KN, direction.0);
            }
            if rig.stands(PointId(point)) && net.nodes[point].hold == Hold::Fixed {
                load.lifts_kn = lift(net, running, point).max(0.0) / KN;
            }
            load
        };
        Loads {
            points: (0..rig.points.len()).map(point).collect(),
            legs: running.rest.legs.iter().map(|tension| tension / KN).collect(),
            devices: rig.devices.iter().map(|device| device_kn(rig, device, &lines, &running.rest.at)).collect(),
            lines,
            torn_m: vec![0.0; rig.legs.len()],
            meetings: Vec::new(),
        }
    }
}

/// By how much what pulls on a point exceeds the load on it, N.
fn lift(net: &Net, running: &Running, point: usize) -> f64 {
    running.resultants[point].0[2] + net.nodes[point].load.0[2]
}

/// The largest resultant of a rope on a device over the times that it runs through.
fn device_kn(rig: &Rig, device: &Device, lines: &[Vec<f64>], at: &[Vector<f64>]) -> f64 {
    let mut most: f64 = 0.0;
    for (line, tensions) in rig.lines.iter().zip(lines) {
        if !device.takes(&rig.ropes[line.of.0].name) {
            continue;
        }
        for (triple, pair) in line.through.windows(3).zip(tensions.windows(2)) {
            if triple[1] == device.at {
                let toward = |other: PointId| (at[other.0] - at[triple[1].0]).length_and_direction().1;
                most = most.max((toward(triple[0]) * pair[0] + toward(triple[2]) * pair[1]).norm());
            }
        }
    }
    most
}

impl Device {
    /// Whether a rope runs through it where it comes by.
    #[must_use]
    pub fn takes(&self, rope: &str) -> bool {
        self.joins.is_empty() || self.joins.iter().any(|name| name == rope)
    }
}

impl Ranged {
    fn taken(&self, taken: Taken) -> f64 {
        match (taken, self.band) {
            (Taken::Low, Some(band)) => band.low,
            (Taken::High, Some(band)) => band.high,
            _ => self.typed,
        }
    }
}

/// An efficiency is stated for half a turn: e = exp(-friction π).
fn friction_of(efficiency: f64) -> f64 {
    -efficiency.min(1.0).ln() / PI
}

impl Drag {
    fn turn(&self, taken: Taken) -> Turn {
        match self {
            Self::Efficiency(efficiency) => {
                let efficiency = efficiency.taken(match taken {
                    Taken::Low => Taken::High,
                    Taken::High => Taken::Low,
                    Taken::AsTyped => Taken::AsTyped,
                });
                Turn { friction: friction_of(efficiency), factor: 1.0 }
            }
            Self::Ratio(ratio) => Turn { friction: 0.0, factor: ratio.taken(taken) },
            Self::Wraps { friction, turns } => {
                Turn { friction: 0.0, factor: (friction.taken(taken) * TAU * turns).exp() }
            }
        }
    }
}

impl Rig {
    pub(crate) fn device_at(&self, point: PointId, rope: &str) -> Option<&Device> {
        self.devices.iter().find(|device| device.at == point && device.takes(rope))
    }

    /// The capstan coefficient that an efficiency stands for, where a pulley is.
    pub(crate) fn efficiency_friction(&self, point: PointId, rope: &str) -> Option<f64> {
        match self.device_at(point, rope)?.drag {
            Drag::Efficiency(efficiency) => Some(friction_of(efficiency.typed)),
            Drag::Ratio(_) | Drag::Wraps { .. } => None,
        }
    }

    fn turn_at(&self, point: PointId, line: &Line, variation: &Variation) -> Turn {
        if variation.motion == Motion::Ideal {
            return Turn { friction: 0.0, factor: 1.0 };
        }
        match self.device_at(point, &self.ropes[line.of.0].name) {
            Some(device) => device.drag.turn(variation.devices),
            None => Turn { friction: variation.friction_factor * self.friction_at(point, line), factor: 1.0 },
        }
    }

    /// What the rope that hangs free below the hand weighs, N: down to the height that the load has to reach.
    pub(crate) fn tail_n(&self, line: &Line, runs: &Runs) -> f64 {
        let (Some(rope), Some(reaches)) = (runs.rope, runs.reaches_m) else { return 0.0 };
        let tail = rope.m() - self.segment_lengths(line).iter().sum::<f64>();
        let hangs = tail.min(self.points[runs.hand.0].at[2] - reaches).max(0.0);
        hangs * self.ropes[line.of.0].weight_n_per_m()
    }

    /// Weights of those who hang and pulls, together, kN.
    pub(crate) fn moved_load_kn(&self) -> f64 {
        let weight = |point: &crate::model::Point| match point.kind {
            PointKind::Person { mass, stance: Stance::Falls } => mass.kg() * GRAVITY / KN,
            _ => 0.0,
        };
        let weights: f64 = self.points.iter().map(weight).sum();
        let pulls = self.pulls.iter().fold(Vector([0.0, 0.0, -weights]), |sum, pull| sum + Vector(pull.force_kn));
        pulls.norm()
    }
}

/// The way a rope runs at the hand, as a word.
#[must_use]
pub const fn way_code(way: Way) -> &'static str {
    match way {
        Way::In => "taken-in",
        Way::Out => "paid-out",
    }
}
