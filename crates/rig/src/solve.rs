//! From a rig to forces: the rig in the numbers of mechanics, solved once for each variation of what is not known.

use crate::falling::falls;
use crate::ground::Meeting;
use crate::model::{Case, Line, LineLength, PointId, PointKind, Rig, Rope, RopeKind, RopeResponse, Seat, Stance};
use crate::tension::{Untensioned, tensioned};
use mechanics::GRAVITY;
use mechanics::fall;
use mechanics::number::Number;
use mechanics::rest::{self, Net};
use mechanics::rope::Response;
use mechanics::sheet::{self, DataSheet, DropTest, Unfit};
use mechanics::vector::Vector;
use rayon::prelude::*;
use terms::Force;
use trade::position::PullOn;
use trade::rope::drop_masses;

/// Newtons in a kilonewton.
pub(crate) const KN: f64 = 1e3;
/// The mass (kg) between the two loads under which a low-stretch rope is measured: 50 and 150 kg.
const LOW_STRETCH_MASS: f64 = 100.0;

/// Why a rig could not be solved. Every name is one of the rig's.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Failure {
    /// A data sheet whose impact force no sensible response meets.
    #[error("rope `{rope}`: with its static elongation the impact force is at least {least_kn} kN")]
    ImpactForce {
        /// The rope.
        rope: String,
        /// The least impact force that goes with the static elongation, kN.
        least_kn: f64,
    },
    /// A data sheet whose dynamic elongation no sensible response meets.
    #[error("rope `{rope}`: with its other figures the dynamic elongation lies from {least_pct} to {most_pct} %")]
    DynamicElongation {
        /// The rope.
        rope: String,
        /// The least that goes with the other figures, in percent.
        least_pct: f64,
        /// The most that goes with the other figures, in percent.
        most_pct: f64,
    },
    /// Nothing holds the load on a point.
    #[error("nothing holds the load on `{point}`")]
    NotHeld {
        /// The point.
        point: String,
    },
    /// The forces on a point do not come to balance.
    #[error("the forces on `{point}` do not come to balance")]
    NotBalanced {
        /// The point.
        point: String,
    },
    /// A number became infinite or undefined in the course of a fall.
    #[error("{element} is not finite at {time_s:.4} s")]
    NotFinite {
        /// The element, in words.
        element: String,
        /// When, in s.
        time_s: f64,
    },
    /// No length gives a line the pull that it is to be tensioned with.
    #[error("rope `{rope}` cannot be tensioned as asked")]
    NotTensioned {
        /// The rope.
        rope: String,
    },
    /// Turns and forces of a rope on the move do not come to agree.
    #[error("the turns of rope `{rope}` and the forces on them do not come to agree")]
    Unsteady {
        /// The rope.
        rope: String,
    },
    /// The friction law could not be met.
    #[error("rope `{rope}` finds no state that obeys the friction law at {time_s:.4} s")]
    NotSettled {
        /// The rope.
        rope: String,
        /// When, in s.
        time_s: f64,
    },
}

/// Which end of a range a number that is not known exactly is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Taken {
    /// As the file has it.
    AsTyped,
    /// The least it may be.
    Low,
    /// The most it may be.
    High,
}

/// What the brake does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Brake {
    /// As the file has it.
    AsTyped,
    /// It holds whatever comes.
    Grips,
    /// It pays rope out at the typed tension; where none is typed, a belayer's does at this one, kN.
    SlipsAt(f64),
}

/// One choice for everything that is not known exactly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// The factor on every friction coefficient.
    pub friction_factor: f64,
    /// What brakes do.
    pub brake: Brake,
    /// The stiffness of slings and ropes that are given as a range.
    pub stiffness: Taken,
    /// Which end of their bands devices are taken from: `Low` the least drag.
    pub devices: Taken,
    /// How ropes are on the move.
    pub motion: Motion,
}

/// How ropes are on the move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Motion {
    /// As the file has it.
    AsTyped,
    /// The other way.
    Back,
    /// As the file has it, with no friction anywhere.
    Ideal,
}

impl Variation {
    /// The numbers as typed.
    pub const TYPED: Self = Self {
        friction_factor: 1.0,
        brake: Brake::AsTyped,
        stiffness: Taken::AsTyped,
        devices: Taken::AsTyped,
        motion: Motion::AsTyped,
    };
}

/// What one point takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointLoad {
    /// Largest load, kN: of an anchor the resultant of all that pulls on it; of a joint that of the ropes that run
    /// through it (at rest, of the loads on it); of a person the tension of their rope.
    pub peak_kn: f64,
    /// Unit vector of that load; zero where there is none.
    pub direction: [f64; 3],
    /// When, in s; 0 at rest.
    pub time_s: f64,
    /// Lowest height over the run, m.
    pub lowest_m: f64,
    /// Highest height over the run, m.
    pub highest_m: f64,
    /// When, in s, a belayer who was lifted was stopped at the first piece.
    pub stopped_at_s: Option<f64>,
    /// Whether somebody on whom a load acts still goes down when the time of a fall ends, and was never stopped before.
    pub falls_on: bool,
    /// By how much, kN, a rope on the move pulls up somebody who stands beyond their weight; 0 where it does not.
    pub lifts_kn: f64,
    /// When, in s, an anchor pulled out.
    pub out_at_s: Option<f64>,
}

/// What everything in a rig takes; the order is that of the rig's own lists.
#[derive(Debug, Clone, PartialEq)]
pub struct Loads {
    /// By point.
    pub points: Vec<PointLoad>,
    /// Largest tension of each leg, all strands together, kN.
    pub legs: Vec<f64>,
    /// Largest tension of each segment of each line, kN.
    pub lines: Vec<Vec<f64>>,
    /// Resultant of the ropes that run through each device, kN; empty unless ropes are on the move.
    pub devices: Vec<f64>,
    /// By how much each leg has torn open, m.
    pub torn_m: Vec<f64>,
    /// The ledges and walls that those who fall came to, in the order of time.
    pub meetings: Vec<Meeting>,
}

/// A rope between two points of its line, at rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Hanging {
    /// Height of its lowest place, m.
    pub lowest_m: f64,
    /// Unstretched length, m.
    pub length_m: f64,
    /// Places along it, ends included, m.
    pub shape: Vec<[f64; 3]>,
}

/// A rig at one moment after another. At rest there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Time of each moment, s.
    pub times_s: Vec<f64>,
    /// At rest, each segment of each line as it hangs; empty in a fall.
    pub hanging: Vec<Vec<Hanging>>,
    values: Vec<f64>,
    points: usize,
    legs: usize,
    /// Where each line's segments begin among the values of a moment.
    lines: Vec<usize>,
    width: usize,
}

/// A rig ready to be solved: its ropes' responses known.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared<'r> {
    rig: &'r Rig,
    responses: Vec<Response<f64>>,
}

/// In what steps a fall is followed.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Step {
    /// The default one over this.
    Default { refinement: u32 },
    /// The one that follows persons but not the ringing of light ends, for heights; where pieces pull out the default one, for
    /// they do so by their loads. A test compares the heights of both.
    ForPersons,
}

/// Which moments of a fall are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Keeps {
    /// None.
    Nothing,
    /// The first, and those at which a point with a connector takes its largest load: what a check looks at.
    Peaks,
    /// All.
    All,
}

/// Something to solve: a rig under one variation.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Task<'t> {
    pub prepared: &'t Prepared<'t>,
    pub variation: Variation,
    pub step: Step,
    /// Which moments of a fall are kept.
    pub keeps: Keeps,
    /// Where ropes on the move were found under other numbers: a first guess.
    pub near: Option<&'t History>,
}

/// What was solved.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Solved {
    pub loads: Loads,
    /// Of a fall, what its task keeps.
    pub history: History,
}

impl<'t> Task<'t> {
    /// In default steps, without the moments.
    pub fn of(prepared: &'t Prepared<'t>, variation: Variation) -> Self {
        Self { prepared, variation, step: Step::Default { refinement: 1 }, keeps: Keeps::Nothing, near: None }
    }

    /// The numbers as typed.
    pub fn typed(prepared: &'t Prepared<'t>, keeps: Keeps) -> Self {
        Self { keeps, ..Self::of(prepared, Variation::TYPED) }
    }

    fn solve(&self) -> Result<Solved, Failure> {
        match self.prepared.rig.case {
            Case::Rest => self.prepared.rest(&self.variation),
            Case::Running => self.prepared.running(&self.variation, self.near),
            Case::Fall => falls(std::slice::from_ref(self)).remove(0),
        }
    }
}

/// Solves several tasks at once, all falls or none, in their order.
pub(crate) fn solve_all(tasks: &[Task<'_>]) -> Vec<Result<Solved, Failure>> {
    if tasks.iter().all(|task| task.prepared.rig.case == Case::Fall) {
        return falls(tasks);
    }
    tasks.par_iter().map(Task::solve).collect()
}

/// The loads of a rig with the numbers as typed.
///
/// # Errors
/// [`Failure`] names what is at fault.
pub fn typed(rig: &Rig) -> Result<Loads, Failure> {
    Prepared::new(rig)?.loads(&Variation::TYPED, 1)
}

impl<'r> Prepared<'r> {
    /// Finds the response of every rope of the rig.
    ///
    /// # Errors
    /// [`Failure`] where a data sheet cannot be met.
    pub fn new(rig: &'r Rig) -> Result<Self, Failure> {
        let mut responses: Vec<Response<f64>> = Vec::new();
        for (place, rope) in rig.ropes.iter().enumerate() {
            let alike = rig.ropes[..place].iter().position(|other| other.answers_like(rope));
            responses.push(alike.map_or_else(|| response(rope), |other| Ok(responses[other]))?);
        }
        Ok(Self { rig, responses })
    }

    /// Another rig with the same ropes, ready to be solved.
    pub(crate) fn with_ropes_of<'o>(&self, other: &'o Rig) -> Prepared<'o> {
        debug_assert!(other.ropes == self.rig.ropes, "the same ropes");
        Prepared { rig: other, responses: self.responses.clone() }
    }

    /// A changed rig, ready to be solved.
    ///
    /// # Errors
    /// As [`Prepared::new`].
    pub(crate) fn changed<'o>(&self, rig: &'o Rig) -> Result<Prepared<'o>, Failure> {
        if rig.ropes == self.rig.ropes { Ok(self.with_ropes_of(rig)) } else { Prepared::new(rig) }
    }

    /// The loads under one variation, with each default step divided by `refinement`.
    ///
    /// # Errors
    /// [`Failure`] names what is at fault.
    pub fn loads(&self, variation: &Variation, refinement: u32) -> Result<Loads, Failure> {
        let step = Step::Default { refinement };
        Ok(Task { step, ..Task::of(self, *variation) }.solve()?.loads)
    }

    /// The loads as typed, and the moments that led to them.
    ///
    /// # Errors
    /// [`Failure`] names what is at fault.
    pub fn loads_and_history(&self) -> Result<(Loads, History), Failure> {
        let solved = Task::typed(self, Keeps::All).solve()?;
        Ok((solved.loads, solved.history))
    }

    /// Whether mechanics cannot tell this rig from another: the same numbers go in, so the same come out.
    #[must_use]
    pub fn is_same_to_mechanics(&self, other: &Prepared<'_>) -> bool {
        self.rig.case == other.rig.case
            && match self.rig.case {
                Case::Running => self.runs_alike(other),
                Case::Rest => self.as_net(&Variation::TYPED) == other.as_net(&Variation::TYPED),
                Case::Fall => self.as_fall(&Variation::TYPED) == other.as_fall(&Variation::TYPED),
            }
    }

    /// The rig.
    #[must_use]
    pub fn rig(&self) -> &'r Rig {
        self.rig
    }

    /// The response of a line's rope in its state.
    pub(crate) fn response(&self, line: &Line, taken: Taken) -> Response<f64> {
        let response = self.responses[line.of.0];
        let Some(state) = self.rig.ropes[line.of.0].state else { return response };
        let factor = match taken {
            Taken::AsTyped => f64::midpoint(state.low, state.high),
            Taken::Low => state.low,
            Taken::High => state.high,
        };
        Response { slow: factor * response.slow, fast: factor * response.fast, relax: response.relax }
    }

    pub(crate) fn legs(&self, stiffness: Taken) -> Vec<fall::Leg<f64>> {
        let leg = |leg: &crate::model::Leg| {
            let sling = &self.rig.slings[leg.of.0];
            let modulus = match (stiffness, sling.stiffness_band_kn) {
                (Taken::Low, Some(band)) => band.low * KN,
                (Taken::High, Some(band)) => band.high * KN,
                _ => sling.stiffness.newtons(),
            };
            let length = leg.length.m();
            fall::Leg { ends: [leg.from.0, leg.to.0], stiffness: modulus * leg.strands / length, length }
        };
        self.rig.legs.iter().map(leg).collect()
    }

    fn rest(&self, variation: &Variation) -> Result<Solved, Failure> {
        let net = tensioned(self.rig, self.as_net(variation)).map_err(|fault| match fault {
            Untensioned::Unrest(unrest) => self.name_unrest(unrest),
            Untensioned::NotMet { line } => {
                Failure::NotTensioned { rope: self.rig.ropes[self.rig.lines[line].of.0].name.clone() }
            }
        })?;
        let rest = rest::solve(&net).map_err(|unrest| self.name_unrest(unrest))?;
        let mut history = History::of(self.rig);
        history.record_rest(&rest);
        let loads = Loads {
            points: (0..net.nodes.len()).map(|point| self.point_at_rest(point, &net, &rest)).collect(),
            legs: rest.legs.iter().map(|tension| tension / KN).collect(),
            lines: rest.strands.iter().map(|line| line.iter().map(|strand| strand.tension / KN).collect()).collect(),
            devices: Vec::new(),
            torn_m: vec![0.0; self.rig.legs.len()],
            meetings: Vec::new(),
        };
        Ok(Solved { loads, history })
    }

    fn name_unrest(&self, unrest: rest::Unrest) -> Failure {
        let name = |node: usize| self.rig.points[node].name.clone();
        match unrest {
            rest::Unrest::NotHeld { node } => Failure::NotHeld { point: name(node) },
            rest::Unrest::NotBalanced { node } => Failure::NotBalanced { point: name(node) },
        }
    }

    pub(crate) fn as_net(&self, variation: &Variation) -> Net {
        let node = |(index, point): (usize, &crate::model::Point)| {
            let (hold, weight) = match point.kind {
                PointKind::Anchor { .. } => (rest::Hold::Fixed, 0.0),
                PointKind::Joint { .. } => (rest::Hold::Free, 0.0),
                PointKind::Person { mass, stance } => {
                    let hold = match stance {
                        Stance::Falls => rest::Hold::Free,
                        Stance::Stands => rest::Hold::Stands,
                        Stance::Anchored => rest::Hold::Fixed,
                    };
                    (hold, mass.kg() * GRAVITY)
                }
            };
            rest::Node { at: Vector(point.at), hold, load: self.rig.typed_load(index) - Vector([0.0, 0.0, weight]) }
        };
        let line = |line: &Line| rest::Line {
            stiffness: self.response(line, variation.stiffness).slow,
            weight: self.rig.ropes[line.of.0].weight_n_per_m(),
            through: line.through.iter().map(|point| point.0).collect(),
            length: self.rig.segment_lengths(line).iter().sum(),
        };
        Net {
            nodes: self.rig.points.iter().enumerate().map(node).collect(),
            legs: self.legs(variation.stiffness),
            lines: self.rig.lines.iter().map(line).collect(),
            runs: Vec::new(),
        }
    }

    pub(crate) fn point_at_rest(&self, point: usize, net: &Net, rest: &rest::Rest) -> PointLoad {
        let mut strands = Vec::new();
        net.each_pull(rest, |place, _, pull| {
            if place == point {
                strands.push(pull);
            }
        });
        let typed = self.rig.typed_load(point);
        let load = match self.rig.points[point].kind {
            PointKind::Joint { .. } if typed.norm() > 0.0 => typed,
            PointKind::Joint { .. } => largest_part(&strands),
            PointKind::Anchor { .. } => strands.iter().fold(Vector::zero(), |sum, &pull| sum + pull),
            PointKind::Person { .. } => {
                strands.iter().copied().max_by(|a, b| a.norm().total_cmp(&b.norm())).unwrap_or(Vector::zero())
            }
        };
        let (size, direction) = load.length_and_direction();
        let height = rest.at[point].0[2];
        PointLoad {
            peak_kn: size / KN,
            direction: direction.0,
            time_s: 0.0,
            lowest_m: height,
            highest_m: height,
            stopped_at_s: None,
            falls_on: false,
            lifts_kn: 0.0,
            out_at_s: None,
        }
    }
}

/// What a joint in balance passes on: the largest resultant of any part of what pulls on it. Of two opposite pulls
/// that is one of them, of three legs and a load the load. Joints with more than sixteen strands count the largest.
fn largest_part(strands: &[Vector<f64>]) -> Vector<f64> {
    let longer = |a: Vector<f64>, b: Vector<f64>| if b.norm() > a.norm() { b } else { a };
    if strands.len() > 16 {
        return strands.iter().copied().fold(Vector::zero(), longer);
    }
    let part = |chosen: u32| {
        let strands = strands.iter().enumerate().filter(|(index, _)| chosen >> index & 1 == 1);
        strands.fold(Vector::zero(), |sum, (_, &pull)| sum + pull)
    };
    (0..1_u32 << strands.len()).map(part).fold(Vector::zero(), longer)
}

impl Rope {
    /// Whether the same figures are declared of both.
    fn answers_like(&self, other: &Self) -> bool {
        self.kind == other.kind && self.response == other.response
    }
}

fn response(rope: &Rope) -> Result<Response<f64>, Failure> {
    match rope.response {
        RopeResponse::LowStretch { elongation_pct } => {
            Ok(Response { slow: LOW_STRETCH_MASS * GRAVITY / (elongation_pct / 100.0), fast: 0.0, relax: 1.0 })
        }
        RopeResponse::Given { slow, fast, relax_s } => {
            Ok(Response { slow: slow.newtons(), fast: fast.newtons(), relax: relax_s })
        }
        RopeResponse::DataSheet { impact_force, static_elongation_pct, dynamic_elongation_pct } => {
            let sheet = DataSheet {
                impact_force: impact_force.newtons(),
                static_elongation: static_elongation_pct / 100.0,
                dynamic_elongation: dynamic_elongation_pct / 100.0,
            };
            sheet::fit(&drop_test(rope.kind), &sheet).map_err(|unfit| match unfit {
                Unfit::ImpactForce { least } => Failure::ImpactForce { rope: rope.name.clone(), least_kn: least / KN },
                Unfit::DynamicElongation { least, most } => Failure::DynamicElongation {
                    rope: rope.name.clone(),
                    least_pct: least * 100.0,
                    most_pct: most * 100.0,
                },
            })
        }
    }
}

/// The drop test of EN 892 for a kind of rope.
#[must_use]
pub fn drop_test(kind: RopeKind) -> DropTest {
    let masses = drop_masses();
    let asked = match kind {
        RopeKind::Single => masses.single,
        RopeKind::Half => masses.half,
        RopeKind::Twin => masses.twin,
    };
    DropTest::en_892(asked.mass.kg())
}

impl Rig {
    /// Unstretched lengths of a line's segments, m.
    #[must_use]
    pub fn segment_lengths(&self, line: &Line) -> Vec<f64> {
        let at = |point: PointId| Vector(self.points[point.0].at);
        let mut lengths: Vec<f64> = line.through.windows(2).map(|pair| (at(pair[1]) - at(pair[0])).norm()).collect();
        match line.length {
            LineLength::Slack(slack) => {
                if let Some(last) = lengths.last_mut() {
                    *last += slack.m();
                }
            }
            LineLength::Given(length) => {
                let drawn: f64 = lengths.iter().sum();
                lengths.iter_mut().for_each(|segment| *segment *= length.m() / drawn);
            }
        }
        lengths
    }

    /// The sum of the pulls at a point, N.
    pub(crate) fn typed_load(&self, point: usize) -> Vector<f64> {
        let pulls = self.pulls.iter().filter(|pull| pull.at == PointId(point));
        pulls.fold(Vector::zero(), |sum, pull| sum + Vector(pull.force_kn) * KN)
    }

    /// The capstan coefficient of a line's rope at a point: of the connector whose `joins` has the rope, else of the
    /// first there, else that of the file.
    #[must_use]
    pub fn friction_at(&self, point: PointId, line: &Line) -> f64 {
        let here = || self.connectors.iter().filter(|seated| self.rope_seat(seated.seat) == Some(point));
        let rope = &self.ropes[line.of.0].name;
        if let Some(friction) = self.efficiency_friction(point, rope) {
            return friction;
        }
        let chosen = here().find(|seated| seated.connector.joins.contains(rope)).or_else(|| here().next());
        chosen.and_then(|seated| seated.connector.friction).unwrap_or(self.friction)
    }

    /// The point where a rope can run through a connector.
    pub(crate) fn rope_seat(&self, seat: Seat) -> Option<PointId> {
        match seat {
            Seat::At(point) => Some(point),
            Seat::RopeEnd(draw) => Some(self.draws[draw].joint),
            Seat::BoltEnd(_) => None,
        }
    }

    /// Whether a line runs through or ends at a point.
    #[must_use]
    pub fn has_rope_at(&self, point: PointId) -> bool {
        self.lines.iter().any(|line| line.through.contains(&point))
    }

    /// Whether a person who does not fall holds the first end of a line.
    #[must_use]
    pub fn has_belayer(&self, line: &Line) -> bool {
        matches!(
            self.points[line.through[0].0].kind,
            PointKind::Person { stance: Stance::Stands | Stance::Anchored, .. }
        )
    }
}

impl Hanging {
    fn of(strand: &rest::Strand) -> Self {
        Self {
            lowest_m: strand.lowest,
            length_m: strand.length,
            shape: strand.shape.iter().map(|place| place.0).collect(),
        }
    }
}

impl History {
    pub(crate) fn of(rig: &Rig) -> Self {
        let (points, legs) = (rig.points.len(), rig.legs.len());
        let mut width = 3 * points + legs;
        let mut lines = Vec::new();
        for line in &rig.lines {
            lines.push(width);
            width += line.through.len() - 1;
        }
        Self { times_s: Vec::new(), hanging: Vec::new(), values: Vec::new(), points, legs, lines, width }
    }

    /// A moment of one of several falls side by side.
    pub(crate) fn record<N: Number>(&mut self, moment: &fall::Moment<'_, N>, lane: usize) {
        self.times_s.push(moment.time());
        for point in 0..self.points {
            self.values.extend(moment.at(point).lane(lane).0);
        }
        self.values.extend((0..self.legs).map(|leg| moment.leg_tension(leg).lane(lane) / KN));
        for line in 0..self.lines.len() {
            let end = self.lines.get(line + 1).copied().unwrap_or(self.width);
            let segments = 0..end - self.lines[line];
            self.values.extend(segments.map(|segment| moment.tension(line, segment).lane(lane) / KN));
        }
    }

    fn record_rest(&mut self, rest: &rest::Rest) {
        self.times_s.push(0.0);
        rest.at.iter().for_each(|at| self.values.extend(at.0));
        self.values.extend(rest.legs.iter().map(|tension| tension / KN));
        for line in &rest.strands {
            self.values.extend(line.iter().map(|strand| strand.tension / KN));
            self.hanging.push(line.iter().map(Hanging::of).collect());
        }
    }

    /// Forgets all moments.
    pub(crate) fn clear(&mut self) {
        self.times_s.clear();
        self.values.clear();
    }

    /// The moments of several falls of this rig's, in the order of time.
    pub(crate) fn join(mut self, mut others: Vec<Self>) -> Self {
        others.sort_by(|a, b| a.times_s[0].total_cmp(&b.times_s[0]));
        for other in others {
            self.times_s.extend(other.times_s);
            self.values.extend(other.values);
        }
        self
    }

    /// One moment of places in m, leg and line tensions in kN.
    pub(crate) fn record_still(&mut self, at: &[Vector<f64>], legs_kn: &[f64], lines_kn: &[Vec<f64>]) {
        self.times_s.push(0.0);
        at.iter().for_each(|at| self.values.extend(at.0));
        self.values.extend(legs_kn);
        lines_kn.iter().for_each(|line| self.values.extend(line));
    }

    /// The moment nearest to a time in s.
    #[must_use]
    pub fn moment_at(&self, time_s: f64) -> usize {
        let after = self.times_s.partition_point(|&time| time < time_s);
        let nearer = |a: usize, b: usize| (self.times_s[b] - time_s).abs() < (self.times_s[a] - time_s).abs();
        match after {
            0 => 0,
            after if after == self.times_s.len() => after - 1,
            after if nearer(after, after - 1) => after - 1,
            after => after,
        }
    }

    /// Where a point is at a moment, m.
    #[must_use]
    pub fn at(&self, moment: usize, point: PointId) -> [f64; 3] {
        let start = moment * self.width + 3 * point.0;
        [self.values[start], self.values[start + 1], self.values[start + 2]]
    }

    /// Tension of a leg at a moment, kN.
    #[must_use]
    pub fn leg_kn(&self, moment: usize, leg: usize) -> f64 {
        self.values[moment * self.width + 3 * self.points + leg]
    }

    /// Tension of a line's segment at a moment, kN.
    #[must_use]
    pub fn segment_kn(&self, moment: usize, line: usize, segment: usize) -> f64 {
        self.values[moment * self.width + self.lines[line] + segment]
    }

    /// What pulls on a point at a moment: legs, then lines, then typed loads.
    #[must_use]
    pub fn pulls_on<'r>(&self, rig: &'r Rig, point: PointId, moment: usize) -> Vec<PullOn<'r>> {
        let toward = |other: PointId| {
            let span = Vector(self.at(moment, other)) - Vector(self.at(moment, point));
            span.length_and_direction().1.0
        };
        let mut pulls = Vec::new();
        for (index, leg) in rig.legs.iter().enumerate() {
            for (here, other) in [(leg.from, leg.to), (leg.to, leg.from)] {
                if here == point {
                    let force = Force::from_kn(self.leg_kn(moment, index));
                    let name = rig.slings[leg.of.0].name.as_str();
                    pulls.push(PullOn { name, direction: toward(other), force, runs_through: false });
                }
            }
        }
        for (index, line) in rig.lines.iter().enumerate() {
            let name = rig.ropes[line.of.0].name.as_str();
            for (place, _) in line.through.iter().enumerate().filter(|(_, here)| **here == point) {
                let runs_through = place > 0 && place + 1 < line.through.len();
                let neighbours = [place.checked_sub(1), (place + 1 < line.through.len()).then_some(place + 1)];
                for other in neighbours.into_iter().flatten() {
                    let force = Force::from_kn(self.segment_kn(moment, index, place.min(other)));
                    pulls.push(PullOn { name, direction: toward(line.through[other]), force, runs_through });
                }
            }
        }
        for pull in rig.pulls.iter().filter(|pull| pull.at == point) {
            let (size, direction) = Vector(pull.force_kn).length_and_direction();
            pulls.push(PullOn {
                name: "load",
                direction: direction.0,
                force: Force::from_kn(size),
                runs_through: false,
            });
        }
        pulls
    }
}
