//! Falls: the rig as mechanics has it, and several falls followed at once.

use crate::ground::Meetings;
use crate::model::{Line, PointId, PointKind, Rig, Stance};
use crate::solve::{Brake, Failure, History, KN, Keeps, Loads, PointLoad, Prepared, Solved, Step, Task, Variation};
use crate::stops::Stops;
use mechanics::GRAVITY;
use mechanics::fall::{self, Element, Fall, MOST_LANES, Moment, Peaks, WatchLane};
use mechanics::number::Number;
use mechanics::vector::Vector;
use rayon::prelude::*;

/// A fall that is to be followed.
struct Falling<'q> {
    task: &'q Task<'q>,
    fall: Fall<f64>,
    /// In s.
    step: f64,
}

/// What is watched while a fall is followed.
struct Watching<'r> {
    meetings: Meetings<'r>,
    stops: Stops,
    keeps: Keeps,
    history: History,
    peaks: Vec<AtPeak>,
}

/// The moment at which a point takes its largest load.
struct AtPeak {
    point: PointId,
    by_ropes: bool,
    most: f64,
    moment: History,
}

impl WatchLane for Watching<'_> {
    fn see<N: Number>(&mut self, moment: &Moment<'_, N>, lane: usize) {
        self.meetings.see(moment, lane);
        self.stops.see(moment, lane);
        match self.keeps {
            Keeps::Nothing => {}
            Keeps::All => self.history.record(moment, lane),
            Keeps::Peaks if moment.time() == 0.0 => self.history.record(moment, lane),
            Keeps::Peaks => self.peaks.iter_mut().for_each(|peak| peak.see(moment, lane)),
        }
    }
}

impl<'r> Watching<'r> {
    fn of(rig: &'r Rig, keeps: Keeps) -> Self {
        let at_peak =
            |point| AtPeak { point, by_ropes: rig.is_loaded_by_ropes(point), most: 0.0, moment: History::of(rig) };
        let watched = if keeps == Keeps::Peaks { &rig.connectors[..] } else { &[] };
        let peaks = watched.iter().map(|seated| at_peak(rig.point_of(seated.seat))).collect();
        Self { meetings: Meetings::of(rig), stops: Stops::of(rig), keeps, history: History::of(rig), peaks }
    }

    fn history(self) -> History {
        let peaks = self.peaks.into_iter().map(|peak| peak.moment);
        self.history.join(peaks.filter(|moment| !moment.times_s.is_empty()).collect())
    }
}

impl AtPeak {
    /// Compares as mechanics does, so that the moment is that of the peak.
    fn see<N: Number>(&mut self, moment: &Moment<'_, N>, lane: usize) {
        let point = self.point.0;
        let pull = if self.by_ropes { moment.ropes_on(point) } else { moment.pull_on(point) }.lane(lane);
        let square = pull.dot(pull);
        if square > self.most * self.most {
            self.most = square.sqrt();
            self.moment.clear();
            self.moment.record(moment, lane);
        }
    }
}

/// Follows falls, in the order of the tasks.
pub(crate) fn falls(tasks: &[Task<'_>]) -> Vec<Result<Solved, Failure>> {
    side_by_side(tasks, |falling, falls| {
        let mut watching: Vec<Watching<'_>> = falling.iter().map(Falling::watching).collect();
        let peaks = fall::run_together(falls, falling[0].step, &mut watching)?;
        Ok(falling
            .iter()
            .zip(peaks)
            .zip(watching)
            .map(|((one, peaks), watching)| one.solved(&peaks, watching))
            .collect())
    })
}

/// Follows falls only for how low each point comes, in m, in the order of the tasks.
pub(crate) fn lowest(tasks: &[Task<'_>]) -> Vec<Result<Vec<f64>, Failure>> {
    side_by_side(tasks, |falling, falls| fall::lowest_together(falls, falling[0].step))
}

/// Those that differ in numbers alone run side by side, which changes none of them by a bit.
fn side_by_side<T: Send>(
    tasks: &[Task<'_>],
    follow: impl Fn(&[Falling<'_>], &[Fall<f64>]) -> Result<Vec<T>, fall::Fault> + Sync,
) -> Vec<Result<T, Failure>> {
    // A few fill the cores first and the lanes after.
    let lanes = tasks.len().div_ceil(rayon::current_num_threads()).min(MOST_LANES);
    let mut groups: Vec<Vec<(usize, Falling<'_>)>> = Vec::new();
    for (place, task) in tasks.iter().enumerate() {
        let falling = Falling::of(task);
        let room = |group: &&mut Vec<(usize, Falling<'_>)>| group.len() < lanes && group[0].1.is_like(&falling);
        match groups.iter_mut().find(room) {
            Some(group) => group.push((place, falling)),
            None => groups.push(vec![(place, falling)]),
        }
    }
    let followed = groups.into_par_iter().flat_map_iter(|group| {
        let (places, falling): (Vec<usize>, Vec<Falling<'_>>) = group.into_iter().unzip();
        places.into_iter().zip(each(&falling, &follow))
    });
    let mut solved: Vec<_> = followed.collect();
    solved.sort_by_key(|(place, _)| *place);
    solved.into_iter().map(|(_, solved)| solved).collect()
}

/// Follows a group; where one of it is at fault, one by one, which tells whose fault it is.
fn each<T>(
    falling: &[Falling<'_>],
    follow: &impl Fn(&[Falling<'_>], &[Fall<f64>]) -> Result<Vec<T>, fall::Fault>,
) -> Vec<Result<T, Failure>> {
    let falls: Vec<Fall<f64>> = falling.iter().map(|one| one.fall.clone()).collect();
    match (follow(falling, &falls), falling) {
        (Ok(followed), _) => followed.into_iter().map(Ok).collect(),
        (Err(fault), [one]) => vec![Err(one.task.prepared.name_fault(fault))],
        (Err(_), _) => falling.iter().flat_map(|one| each(std::slice::from_ref(one), follow)).collect(),
    }
}

impl<'q> Falling<'q> {
    fn of(task: &'q Task<'q>) -> Self {
        let prepared = task.prepared;
        let fall = prepared.as_fall(&task.variation);
        // A piece pulls out by its load, and loads want the default step.
        let step = match task.step {
            Step::ForPersons if !prepared.rig().pulls_out => fall::step_for_persons(&fall),
            Step::ForPersons => fall::default_step(&fall),
            Step::Default { refinement } => fall::default_step(&fall) / f64::from(refinement),
        };
        Self { task, fall, step }
    }

    fn is_like(&self, other: &Self) -> bool {
        self.step == other.step && self.fall.is_shaped_like(&other.fall)
    }

    fn watching(&self) -> Watching<'q> {
        Watching::of(self.task.prepared.rig(), self.task.keeps)
    }

    fn solved(&self, peaks: &Peaks<f64>, watching: Watching<'_>) -> Solved {
        let (prepared, rig) = (self.task.prepared, self.task.prepared.rig());
        let point = |point: usize| PointLoad {
            falls_on: watching.stops.falls_on(PointId(point)),
            ..prepared.point_load(point, &self.fall, peaks)
        };
        let loads = Loads {
            points: (0..rig.points.len()).map(point).collect(),
            torn_m: prepared.torn(&self.fall, peaks),
            meetings: watching.meetings.met.clone(),
            legs: peaks.legs.iter().map(|tension| tension / KN).collect(),
            lines: peaks.segments.iter().map(|line| line.iter().map(|tension| tension / KN).collect()).collect(),
            devices: Vec::new(),
        };
        Solved { loads, history: watching.history() }
    }
}

impl Prepared<'_> {
    fn torn(&self, fall: &Fall<f64>, peaks: &Peaks<f64>) -> Vec<f64> {
        let mut torn = vec![0.0; self.rig().legs.len()];
        fall.tears.iter().zip(&peaks.torn).for_each(|(tear, &by)| torn[tear.leg] = by);
        torn
    }

    fn point_load(&self, point: usize, fall: &Fall<f64>, peaks: &Peaks<f64>) -> PointLoad {
        let pieces = fall.pieces.iter().zip(&peaks.out_at);
        let out_at = pieces.filter(|(piece, _)| piece.node == point).map(|(_, &time)| time).next();
        let peak = peaks.nodes[point];
        let (force, vector, time_s) = match self.rig().points[point].kind {
            PointKind::Joint { .. } if self.rig().is_loaded_by_ropes(PointId(point)) => {
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
            falls_on: false,
            lifts_kn: 0.0,
            out_at_s: out_at.filter(|time| time.is_finite()),
        }
    }

    fn largest_tension_at(&self, point: usize, peaks: &Peaks<f64>) -> f64 {
        let touching = |(line, segments): (&Line, &Vec<f64>)| {
            let pairs = line.through.windows(2).zip(segments.clone());
            pairs.filter(|(pair, _)| pair.contains(&PointId(point))).map(|(_, tension)| tension).fold(0.0, f64::max)
        };
        self.rig().lines.iter().zip(&peaks.segments).map(touching).fold(0.0, f64::max)
    }

    fn largest_leg_at(&self, point: usize, peaks: &Peaks<f64>) -> f64 {
        let at_point = |leg: &crate::model::Leg| leg.from == PointId(point) || leg.to == PointId(point);
        let legs = self.rig().legs.iter().zip(&peaks.legs);
        legs.filter(|(leg, _)| at_point(leg)).map(|(_, &tension)| tension).fold(0.0, f64::max)
    }

    pub(crate) fn as_fall(&self, variation: &Variation) -> Fall<f64> {
        let rig = self.rig();
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
            let load = self.rig().typed_load(point);
            let borne = match self.rig().points[point].kind {
                PointKind::Joint { mass } => mass.kg() * GRAVITY,
                _ => 0.0,
            };
            (load.norm() > 0.0).then(|| fall::Steady { node: point, force: load + Vector([0.0, 0.0, borne]) })
        };
        (0..self.rig().points.len()).filter_map(steady).collect()
    }

    fn as_fall_line(&self, line: &Line, variation: &Variation) -> fall::Line<f64> {
        let friction = |&point: &PointId| variation.friction_factor * self.rig().friction_at(point, line);
        let brake = match (variation.brake, line.brake_slips_at) {
            (Brake::AsTyped | Brake::SlipsAt(_), Some(typed)) => typed.newtons(),
            (Brake::SlipsAt(kn), None) if self.rig().has_belayer(line) => kn * KN,
            _ => f64::INFINITY,
        };
        fall::Line {
            response: self.response(line, variation.stiffness),
            through: line.through.iter().map(|point| point.0).collect(),
            lengths: self.rig().segment_lengths(line),
            friction: line.through.iter().map(friction).collect(),
            brake,
        }
    }

    fn name_fault(&self, fault: fall::Fault) -> Failure {
        let point = |node: usize| format!("point `{}`", self.rig().points[node].name);
        match fault {
            fall::Fault::NotSettled { line, time } => {
                Failure::NotSettled { rope: self.rig().ropes[self.rig().lines[line].of.0].name.clone(), time_s: time }
            }
            fall::Fault::NotFinite { element, time } => {
                let element = match element {
                    Element::Node(node) => point(node),
                    Element::Leg(leg) => {
                        let leg = self.rig().legs[leg];
                        format!("the leg from {} to {}", point(leg.from.0), point(leg.to.0))
                    }
                    Element::Segment { line, segment } => {
                        let through = &self.rig().lines[line].through;
                        format!("the rope from {} to {}", point(through[segment].0), point(through[segment + 1].0))
                    }
                };
                Failure::NotFinite { element, time_s: time }
            }
        }
    }
}

impl Rig {
    /// Whether the load of a point in a fall is that of the ropes there: of a person, and of a joint that a rope comes to.
    fn is_loaded_by_ropes(&self, point: PointId) -> bool {
        match self.points[point.0].kind {
            PointKind::Anchor { .. } => false,
            PointKind::Joint { .. } => self.has_rope_at(point),
            PointKind::Person { .. } => true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::Bands;
    use crate::check::check;
    use crate::scene::{Answers, Scene, write};
    use crate::solve::solve_all;
    use trade::policy::Policy;

    /// Offers are checked with the moments of peaks alone.
    #[test]
    fn a_check_sees_in_the_moments_of_peaks_what_it_sees_in_all() {
        for scene in [Scene::Lead, Scene::Ground, Scene::TwoStrands, Scene::FixedPoint] {
            let text = write(scene, &Answers::default()).expect("a scene");
            let rig = crate::read(&text, "scene").expect("a rig");
            let prepared = Prepared::new(&rig).expect("ropes that fit");
            let checked = |keeps| {
                let solved = solve_all(&[Task::typed(&prepared, keeps)]).remove(0).expect("it falls");
                let moments = solved.history.times_s.len();
                (moments, check(&rig, &Bands::typed_alone(solved), &Policy::default()))
            };
            let ((all, by_all), (few, by_few)) = (checked(Keeps::All), checked(Keeps::Peaks));
            assert_eq!(by_all, by_few, "{scene:?}");
            assert!(by_all.links.len() > 1 && few < 10 && all > 1000, "{scene:?}: {few} of {all} moments");
        }
    }
}
