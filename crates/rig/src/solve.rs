//! From a rig to forces: the rig in the numbers of mechanics, solved once for each variation of what is not known.

use crate::ground::{Meeting, Meetings};
use crate::model::{Case, Line, LineLength, PointId, PointKind, Rig, Rope, RopeKind, RopeResponse, Seat, Stance};
use crate::tension::{Untensioned, tensioned};
use mechanics::GRAVITY;
use mechanics::fall::{self, Element, Fall};
use mechanics::rest::{self, Net};
use mechanics::rope::Response;
use mechanics::sheet::{self, DataSheet, DropTest, Unfit};
use mechanics::vector::Vector;
use terms::Force;
use trade::position::PullOn;

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
#[derive(Clone, Copy)]
enum Step {
    /// The default one over this.
    Default { refinement: u32 },
    /// The one that follows persons.
    ForPersons,
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
        let responses = rig.ropes.iter().map(response).collect::<Result<_, _>>()?;
        Ok(Self { rig, responses })
    }

    /// Another rig with the same ropes, ready to be solved.
    pub(crate) fn with_ropes_of<'o>(&self, other: &'o Rig) -> Prepared<'o> {
        debug_assert!(other.ropes == self.rig.ropes, "the same ropes");
        Prepared { rig: other, responses: self.responses.clone() }
    }

    /// The loads under one variation, with each default step divided by `refinement`.
    ///
    /// # Errors
    /// [`Failure`] names what is at fault.
    pub fn loads(&self, variation: &Variation, refinement: u32) -> Result<Loads, Failure> {
        match self.rig.case {
            Case::Rest => self.rest(variation).map(|(loads, _)| loads),
            Case::Running => self.running(variation).map(|(loads, _)| loads),
            Case::Fall => self.fall(variation, Step::Default { refinement }, &mut ()),
        }
    }

    /// The loads as typed, and the moments that led to them.
    ///
    /// # Errors
    /// [`Failure`] names what is at fault.
    pub fn loads_and_history(&self) -> Result<(Loads, History), Failure> {
        match self.rig.case {
            Case::Rest => return self.rest(&Variation::TYPED),
            Case::Running => return self.running(&Variation::TYPED),
            Case::Fall => {}
        }
        let mut history = History::of(self.rig);
        let step = Step::Default { refinement: 1 };
        let loads = self.fall(&Variation::TYPED, step, &mut |moment: &fall::Moment<'_, f64>| history.record(moment))?;
        Ok((loads, history))
    }

    /// How low the points of a fall come, m: in a step that follows persons but not the ringing of light ends. Loads want
    /// the default step, and so does a piece that pulls out by them. A test compares the heights of both.
    pub(crate) fn lowest_m(&self, variation: &Variation) -> Result<Vec<f64>, Failure> {
        let step = if self.rig.pulls_out { Step::Default { refinement: 1 } } else { Step::ForPersons };
        let loads = self.fall(variation, step, &mut ())?;
        Ok(loads.points.iter().map(|point| point.lowest_m).collect())
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

    fn fall(&self, variation: &Variation, step: Step, watch: &mut impl fall::Watch<f64>) -> Result<Loads, Failure> {
        let fall = self.as_fall(variation);
        let step = match step {
            Step::Default { refinement } => fall::default_step(&fall) / f64::from(refinement),
            Step::ForPersons => fall::step_for_persons(&fall),
        };
        let mut meetings = Meetings::of(self.rig);
        let mut both = |moment: &fall::Moment<'_, f64>| {
            meetings.see(moment);
            watch.see(moment);
        };
        let peaks = fall::run(&fall, step, &mut both).map_err(|fault| self.name_fault(fault))?;
        Ok(Loads {
            points: (0..self.rig.points.len()).map(|point| self.point_load(point, &fall, &peaks)).collect(),
            torn_m: self.torn(&fall, &peaks),
            meetings: meetings.met,
            legs: peaks.legs.iter().map(|tension| tension / KN).collect(),
            lines: peaks.segments.iter().map(|line| line.iter().map(|tension| tension / KN).collect()).collect(),
            devices: Vec::new(),
        })
    }

    fn torn(&self, fall: &Fall<f64>, peaks: &fall::Peaks<f64>) -> Vec<f64> {
        let mut torn = vec![0.0; self.rig.legs.len()];
        fall.tears.iter().zip(&peaks.torn).for_each(|(tear, &by)| torn[tear.leg] = by);
        torn
    }

    fn point_load(&self, point: usize, fall: &Fall<f64>, peaks: &fall::Peaks<f64>) -> PointLoad {
        let pieces = fall.pieces.iter().zip(&peaks.out_at);
        let out_at = pieces.filter(|(piece, _)| piece.node == point).map(|(_, &time)| time).next();
        let peak = peaks.nodes[point];
        let (force, vector, time_s) = match self.rig.points[point].kind {
            PointKind::Joint { .. } if self.rig.has_rope_at(PointId(point)) => {
                (peak.ropes, peak.ropes_vector, peak.ropes_time)
            }
            PointKind::Joint { .. } => (self.largest_leg_at(point, peaks), peak.all_vector, peak.all_time),
            PointKind::Anchor { .. } => (peak.all, peak.all_vector, peak.all_time),
            PointKind::Person { .. } => (self.largest_tension_at(point, peaks), peak.ropes_vector, peak.ropes_time),
        };
        PointLoad {
            peak_kn: force / KN,
            direction: vector.length_and_direction().1.0,
            time_s,
            lowest_m: peak.lowest,
            highest_m: peak.highest,
            stopped_at_s: peak.stopped_at.is_finite().then_some(peak.stopped_at),
            lifts_kn: 0.0,
            out_at_s: out_at.filter(|time| time.is_finite()),
        }
    }

    fn largest_tension_at(&self, point: usize, peaks: &fall::Peaks<f64>) -> f64 {
        let touching = |(line, segments): (&Line, &Vec<f64>)| {
            let pairs = line.through.windows(2).zip(segments.clone());
            pairs.filter(|(pair, _)| pair.contains(&PointId(point))).map(|(_, tension)| tension).fold(0.0, f64::max)
        };
        self.rig.lines.iter().zip(&peaks.segments).map(touching).fold(0.0, f64::max)
    }

    fn largest_leg_at(&self, point: usize, peaks: &fall::Peaks<f64>) -> f64 {
        let at_point = |leg: &crate::model::Leg| leg.from == PointId(point) || leg.to == PointId(point);
        let legs = self.rig.legs.iter().zip(&peaks.legs);
        legs.filter(|(leg, _)| at_point(leg)).map(|(_, &tension)| tension).fold(0.0, f64::max)
    }

    fn as_fall(&self, variation: &Variation) -> Fall<f64> {
        let rig = self.rig;
        let kind = |kind: PointKind| match kind {
            PointKind::Anchor { .. } | PointKind::Person { stance: Stance::Anchored, .. } => fall::Kind::Fixed,
            PointKind::Joint { mass } | PointKind::Person { mass, stance: Stance::Falls } => {
                fall::Kind::Free(mass.kg())
            }
            PointKind::Person { mass, stance: Stance::Stands } => fall::Kind::Stands(mass.kg()),
        };
        Fall {
            nodes: rig.points.iter().map(|point| fall::Node { at: Vector(point.at), kind: kind(point.kind) }).collect(),
            legs: self.legs(variation.stiffness),
            lines: rig.lines.iter().map(|line| self.as_fall_line(line, variation)).collect(),
            tears: rig.tears(),
            pieces: if rig.pulls_out { rig.pieces() } else { Vec::new() },
            steady: self.steady(),
            until: rig.until_s,
        }
    }

    /// Pulls in a drop: where a joint bears the mass of its load, its weight is that pull already.
    fn steady(&self) -> Vec<fall::Steady<f64>> {
        let steady = |point: usize| {
            let load = self.rig.typed_load(point);
            let borne = match self.rig.points[point].kind {
                PointKind::Joint { mass } => mass.kg() * GRAVITY,
                _ => 0.0,
            };
            (load.norm() > 0.0).then(|| fall::Steady { node: point, force: load + Vector([0.0, 0.0, borne]) })
        };
        (0..self.rig.points.len()).filter_map(steady).collect()
    }

    fn as_fall_line(&self, line: &Line, variation: &Variation) -> fall::Line<f64> {
        let friction = |&point: &PointId| variation.friction_factor * self.rig.friction_at(point, line);
        let brake = match (variation.brake, line.brake_slips_at) {
            (Brake::AsTyped | Brake::SlipsAt(_), Some(typed)) => typed.newtons(),
            (Brake::SlipsAt(kn), None) if self.rig.has_belayer(line) => kn * KN,
            _ => f64::INFINITY,
        };
        fall::Line {
            response: self.response(line, variation.stiffness),
            through: line.through.iter().map(|point| point.0).collect(),
            lengths: self.rig.segment_lengths(line),
            friction: line.through.iter().map(friction).collect(),
            brake,
        }
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

    fn legs(&self, stiffness: Taken) -> Vec<fall::Leg<f64>> {
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

    fn name_fault(&self, fault: fall::Fault) -> Failure {
        let point = |node: usize| format!("point `{}`", self.rig.points[node].name);
        match fault {
            fall::Fault::NotSettled { line, time } => {
                Failure::NotSettled { rope: self.rig.ropes[self.rig.lines[line].of.0].name.clone(), time_s: time }
            }
            fall::Fault::NotFinite { element, time } => {
                let element = match element {
                    Element::Node(node) => point(node),
                    Element::Leg(leg) => {
                        let leg = self.rig.legs[leg];
                        format!("the leg from {} to {}", point(leg.from.0), point(leg.to.0))
                    }
                    Element::Segment { line, segment } => {
                        let through = &self.rig.lines[line].through;
                        format!("the rope from {} to {}", point(through[segment].0), point(through[segment + 1].0))
                    }
                };
                Failure::NotFinite { element, time_s: time }
            }
        }
    }

    fn rest(&self, variation: &Variation) -> Result<(Loads, History), Failure> {
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
        Ok((loads, history))
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

/// The drop test of EN 892 for a kind of rope: 80 kg, half ropes 55 kg.
#[must_use]
pub fn drop_test(kind: RopeKind) -> DropTest {
    DropTest::en_892(match kind {
        RopeKind::Single | RopeKind::Twin => 80.0,
        RopeKind::Half => 55.0,
    })
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

    fn record(&mut self, moment: &fall::Moment<'_, f64>) {
        self.times_s.push(moment.time());
        for point in 0..self.points {
            self.values.extend(moment.at(point).0);
        }
        self.values.extend((0..self.legs).map(|leg| moment.leg_tension(leg) / KN));
        for line in 0..self.lines.len() {
            let end = self.lines.get(line + 1).copied().unwrap_or(self.width);
            self.values.extend((0..end - self.lines[line]).map(|segment| moment.tension(line, segment) / KN));
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
