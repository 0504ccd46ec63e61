//! The state of a fall and its steps.

use super::legs::Legs;
use super::peaks::Peaks;
use super::piece::Holding;
use super::{Element, Fall, Fault, Kind, NEAREST, Watch};
use crate::GRAVITY;
use crate::capstan;
use crate::flow::Running;
use crate::number::{Mask, Number};
use crate::vector::Vector;

/// Stands for the mass of what does not move, in kg: no force in a rig stirs it.
const IMMOVABLE: f64 = 1e15;

/// A fall as it goes.
pub(super) struct Motion<'a, N: Number> {
    fall: &'a Fall<N>,
    step: f64,
    time: f64,
    steps_done: usize,
    at: Vec<Vector<N>>,
    /// Half a step behind or ahead of the positions.
    velocity: Vec<Vector<N>>,
    change: Vec<Vector<N>>,
    ropes_force: Vec<Vector<N>>,
    force: Vec<Vector<N>>,
    mass: Vec<N>,
    /// The mass, or [`IMMOVABLE`] for whom the floor holds.
    inertia: Vec<N>,
    moving: Vec<usize>,
    /// Moving points that no leg ties to others.
    alone: Vec<usize>,
    standing: Vec<Standing<N>>,
    pieces: Vec<Holding<'a, N>>,
    legs: Legs<N>,
    ropes: Vec<Rope<'a, N>>,
}

/// A person who stands until lifted.
struct Standing<N: Number> {
    node: usize,
    mass: N,
    floor: N,
    grounded: N::Mask,
    /// The next point of their line, and how near they may come to it.
    next: Option<(usize, N)>,
    next_is_fixed: bool,
    held: N::Mask,
    stopped_at: N,
}

/// A rope with its geometry.
struct Rope<'a, N: Number> {
    through: &'a [usize],
    friction: &'a [N],
    direction: Vec<Vector<N>>,
    running: Running<N>,
    /// Segments with an end that moves, and points where the rope can turn otherwise than before.
    moving_segments: Vec<usize>,
    moving_turns: Vec<usize>,
}

/// A moment of a run: positions, velocities and forces that belong together.
pub struct Moment<'m, N: Number> {
    motion: &'m Motion<'m, N>,
}

impl<'a, N: Number> Motion<'a, N> {
    pub fn start(fall: &'a Fall<N>, step: f64) -> Result<Self, Fault> {
        refuse_undefined(fall)?;
        let count = fall.nodes.len();
        let moves = |node: &usize| fall.moves(*node);
        let mut mass: Vec<_> = fall.nodes.iter().map(|node| mass_of(node.kind)).collect();
        let inertia = mass.clone();
        fall.pieces.iter().for_each(|piece| mass[piece.node] = piece.mass);
        let legs = Legs::new(fall);
        let grouped: Vec<usize> = legs.grouped().collect();
        let at: Vec<_> = fall.nodes.iter().map(|node| node.at).collect();
        let mut motion = Self {
            fall,
            step,
            time: 0.0,
            steps_done: 0,
            velocity: vec![Vector::zero(); count],
            change: vec![Vector::zero(); count],
            ropes_force: vec![Vector::zero(); count],
            force: vec![Vector::zero(); count],
            inertia,
            mass,
            moving: (0..count).filter(moves).collect(),
            alone: (0..count).filter(moves).filter(|node| !grouped.contains(node)).collect(),
            standing: standing(fall),
            pieces: Holding::all(fall),
            ropes: fall.lines.iter().map(|line| Rope::new(line, fall, step)).collect(),
            legs,
            at,
        };
        motion.ropes.iter_mut().for_each(|rope| rope.measure(&motion.at, true));
        motion.check()?;
        Ok(motion)
    }

    /// Forces as things stand change the velocities: by a whole step, or by half a step to set out.
    pub fn kick(&mut self) {
        self.gather_forces();
        let span = N::splat(if self.steps_done == 0 { self.step / 2.0 } else { self.step });
        for person in &mut self.standing {
            person.stand_firm(&mut self.force, &mut self.inertia);
        }
        for piece in &mut self.pieces {
            piece.hold(&mut self.force, &mut self.inertia, IMMOVABLE, self.time);
        }
        for &node in &self.alone {
            self.change[node] = self.force[node] * (span / self.inertia[node]);
        }
        self.legs.kick(self.step, span, &self.inertia, &self.force, &mut self.change);
        for &node in &self.moving {
            self.velocity[node] += self.change[node];
        }
    }

    fn gather_forces(&mut self) {
        self.ropes_force.fill(Vector::zero());
        for rope in &self.ropes {
            rope.pull(&mut self.ropes_force);
        }
        self.force.copy_from_slice(&self.ropes_force);
        for &node in &self.moving {
            self.force[node].0[2] -= self.mass[node] * N::splat(GRAVITY);
        }
        for steady in &self.fall.steady {
            self.force[steady.node] += steady.force;
        }
        self.legs.pull(&self.at, &self.velocity, &mut self.force);
    }

    /// Takes the lowest heights.
    pub fn sink(&self, lowest: &mut [N]) {
        for &node in &self.moving {
            lowest[node] = lowest[node].min(self.at[node].0[2]);
        }
    }

    /// Takes the peaks. Forces and positions belong to this moment; what a leg adds is recomputed with its tension
    /// at this moment.
    pub fn look(&mut self, peaks: &mut Peaks<N>, watch: &mut impl Watch<N>) {
        self.legs.centre(&self.change, N::splat(if self.steps_done == 0 { 0.0 } else { 0.5 }));
        self.force.copy_from_slice(&self.ropes_force);
        self.legs.add_pulls(&mut self.force);
        for (node, peak) in peaks.nodes.iter_mut().enumerate() {
            peak.see(self.time, self.at[node].0[2], self.ropes_force[node], self.force[node]);
        }
        for (peak, leg) in peaks.legs.iter_mut().zip(&self.legs.state) {
            *peak = peak.max(leg.tension);
        }
        for (peaks, rope) in peaks.segments.iter_mut().zip(&self.ropes) {
            for (peak, &tension) in peaks.iter_mut().zip(&rope.running.tension) {
                *peak = peak.max(tension);
            }
        }
        for person in &self.standing {
            peaks.nodes[person.node].stopped_at = person.stopped_at;
        }
        for (out_at, piece) in peaks.out_at.iter_mut().zip(&self.pieces) {
            *out_at = piece.out_at;
        }
        for (torn, tear) in peaks.torn.iter_mut().zip(&self.fall.tears) {
            *torn = tear.most - self.legs.state[tear.leg].tears.left;
        }
        watch.see(&Moment { motion: self });
    }

    /// Velocities change the positions; who lands or is stopped, stops.
    pub fn drift(&mut self) {
        self.steps_done += 1;
        self.time = self.step * self.steps_done as f64;
        let step = N::splat(self.step);
        for &node in &self.moving {
            self.at[node] += self.velocity[node] * step;
        }
        for person in &mut self.standing {
            person.land(&mut self.at, &mut self.velocity);
            person.stop_short(&mut self.at, &mut self.velocity, self.step, self.time);
        }
    }

    /// Rope runs through its points until the friction law holds.
    pub fn run_ropes(&mut self) -> Result<(), Fault> {
        for tear in &self.fall.tears {
            self.legs.state[tear.leg].tear(&self.at, self.step);
        }
        for (line, rope) in self.ropes.iter_mut().enumerate() {
            rope.measure(&self.at, false);
            if rope.running.settle().is_err() {
                self.check()?;
                return Err(Fault::NotSettled { line, time: self.time });
            }
        }
        self.check()
    }

    /// Names the first element that is not finite.
    fn check(&self) -> Result<(), Fault> {
        let fault = |element| Err(Fault::NotFinite { element, time: self.time });
        if let Some(&node) = self.moving.iter().find(|&&node| !self.at[node].0.iter().all(|x| x.is_finite())) {
            return fault(Element::Node(node));
        }
        if let Some(leg) = self.legs.state.iter().position(|leg| !leg.tension.is_finite()) {
            return fault(Element::Leg(leg));
        }
        for (line, rope) in self.ropes.iter().enumerate() {
            if let Some(segment) = rope.running.tension.iter().position(|tension| !tension.is_finite()) {
                return fault(Element::Segment { line, segment });
            }
        }
        Ok(())
    }
}

/// Names the first element whose own numbers are not finite: a comparison would take them for slack.
fn refuse_undefined<N: Number>(fall: &Fall<N>) -> Result<(), Fault> {
    let fault = |element| Err(Fault::NotFinite { element, time: 0.0 });
    let is_point_defined = |node: &super::Node<N>| node.at.norm().is_finite() && mass_of(node.kind).is_finite();
    if let Some(node) = fall.nodes.iter().position(|node| !is_point_defined(node)) {
        return fault(Element::Node(node));
    }
    if let Some(leg) = fall.legs.iter().position(|leg| !(leg.stiffness.is_finite() && leg.length.is_finite())) {
        return fault(Element::Leg(leg));
    }
    for (line, rope) in fall.lines.iter().enumerate() {
        let response = [rope.response.slow, rope.response.fast, rope.response.relax];
        let segment = if response.iter().all(|number| number.is_finite()) {
            let is_defined = |segment: usize| rope.lengths[segment].is_finite() && rope.friction[segment].is_finite();
            (0..rope.lengths.len()).find(|&segment| !is_defined(segment))
        } else {
            Some(0)
        };
        if let Some(segment) = segment {
            return fault(Element::Segment { line, segment });
        }
    }
    Ok(())
}

fn mass_of<N: Number>(kind: Kind<N>) -> N {
    match kind {
        Kind::Fixed => N::splat(IMMOVABLE),
        Kind::Free(mass) | Kind::Stands(mass) => mass,
    }
}

fn standing<N: Number>(fall: &Fall<N>) -> Vec<Standing<N>> {
    let stands = |(node, description): (usize, &super::Node<N>)| match description.kind {
        Kind::Stands(mass) => Some(Standing::new(node, mass, fall)),
        _ => None,
    };
    fall.nodes.iter().enumerate().filter_map(stands).collect()
}

impl<N: Number> Standing<N> {
    fn new(node: usize, mass: N, fall: &Fall<N>) -> Self {
        let at = fall.nodes[node].at;
        let nearest = |next: usize| (next, (fall.nodes[next].at - at).norm().min(N::splat(NEAREST)));
        Self {
            node,
            mass,
            floor: at.0[2],
            grounded: N::Mask::splat(true),
            next: next_on_line(fall, node).map(nearest),
            next_is_fixed: next_on_line(fall, node).is_some_and(|next| matches!(fall.nodes[next].kind, Kind::Fixed)),
            held: N::Mask::splat(false),
            stopped_at: N::splat(f64::INFINITY),
        }
    }

    /// Whom the pull does not lift stays put: their weight and the floor take up all of it.
    #[inline]
    fn stand_firm(&mut self, force: &mut [Vector<N>], inertia: &mut [N]) {
        let lifted = force[self.node].0[2].gt(N::zero());
        self.grounded = self.grounded & !lifted;
        force[self.node] = Vector::select(self.grounded, Vector::zero(), force[self.node]);
        inertia[self.node] = N::select(self.grounded, N::splat(IMMOVABLE), self.mass);
    }

    /// Loses all speed on landing.
    #[inline]
    fn land(&mut self, at: &mut [Vector<N>], velocity: &mut [Vector<N>]) {
        let landed = at[self.node].0[2].lt(self.floor);
        at[self.node].0[2] = at[self.node].0[2].max(self.floor);
        velocity[self.node] = Vector::select(landed, Vector::zero(), velocity[self.node]);
        self.grounded = self.grounded | landed;
    }

    /// Cannot come nearer than [`NEAREST`] to the next point of the line: stopped there on arrival, held there while
    /// pulled against it. Before a point that moves they go back by no more than they came: it does not push them.
    #[inline]
    fn stop_short(&mut self, at: &mut [Vector<N>], velocity: &mut [Vector<N>], step: f64, time: f64) {
        let Some((next, nearest)) = self.next else { return };
        let (distance, outward) = (at[self.node] - at[next]).length_and_direction();
        let inside = distance.lt(nearest) & !self.grounded;
        if inside.any() {
            let inward_speed = velocity[self.node].dot(outward).min(N::zero());
            let sliding = velocity[self.node] - outward * inward_speed;
            let stopped = Vector::select(self.held, sliding, Vector::zero());
            let all_of_it = nearest - distance;
            let own_part = all_of_it.min(-inward_speed * N::splat(step));
            let back = if self.next_is_fixed { all_of_it } else { own_part };
            at[self.node] += outward * N::select(inside, back, N::zero());
            velocity[self.node] = Vector::select(inside, stopped, velocity[self.node]);
            self.stopped_at = N::select(inside, self.stopped_at.min(N::splat(time)), self.stopped_at);
        }
        self.held = inside;
    }
}

/// The point that comes after the person at an end of a line.
fn next_on_line<N: Number>(fall: &Fall<N>, node: usize) -> Option<usize> {
    fall.lines.iter().find_map(|line| match line.through.as_slice() {
        [first, next, ..] if *first == node => Some(*next),
        [.., next, last] if *last == node => Some(*next),
        _ => None,
    })
}

impl<'a, N: Number> Rope<'a, N> {
    fn new(line: &'a super::Line<N>, fall: &Fall<N>, step: f64) -> Self {
        let moves = |place: usize| fall.moves(line.through[place]);
        let count = line.lengths.len();
        let measured: Vec<_> = line
            .through
            .windows(2)
            .map(|pair| (fall.nodes[pair[1]].at - fall.nodes[pair[0]].at).length_and_direction())
            .collect();
        let distances: Vec<_> = measured.iter().map(|&(distance, _)| distance).collect();
        Self {
            through: &line.through,
            friction: &line.friction,
            direction: measured.iter().map(|&(_, direction)| direction).collect(),
            running: Running::new(line.response, &line.lengths, &distances, line.brake, step),
            moving_segments: (0..count).filter(|&segment| moves(segment) || moves(segment + 1)).collect(),
            moving_turns: (1..count).filter(|&turn| moves(turn - 1) || moves(turn) || moves(turn + 1)).collect(),
        }
    }

    /// Distances, directions and capstan ratios at the positions given; of what cannot move only where `all` is set.
    #[inline]
    fn measure(&mut self, at: &[Vector<N>], all: bool) {
        for &segment in &self.moving_segments {
            let span = at[self.through[segment + 1]] - at[self.through[segment]];
            (self.running.distance[segment], self.direction[segment]) = span.length_and_direction();
        }
        if all {
            (1..self.direction.len()).for_each(|turn| self.measure_turn(turn));
        } else {
            (0..self.moving_turns.len()).for_each(|index| self.measure_turn(self.moving_turns[index]));
        }
    }

    #[inline]
    fn measure_turn(&mut self, turn: usize) {
        let angle = self.direction[turn - 1].angle_to(self.direction[turn]);
        self.running.ratio[turn] = capstan::ratio(self.friction[turn], angle);
    }

    /// Adds the pull of every segment to the points at its ends.
    #[inline]
    fn pull(&self, force: &mut [Vector<N>]) {
        for (segment, (&direction, &tension)) in self.direction.iter().zip(&self.running.tension).enumerate() {
            let pull = direction * tension;
            force[self.through[segment]] += pull;
            force[self.through[segment + 1]] -= pull;
        }
    }
}

impl<N: Number> Moment<'_, N> {
    /// Time in s.
    #[must_use]
    pub fn time(&self) -> f64 {
        self.motion.time
    }

    /// Where a point is, in m.
    #[must_use]
    pub fn at(&self, node: usize) -> Vector<N> {
        self.motion.at[node]
    }

    /// How a point moves, in m/s: the mean of the velocities half a step before and after; at rest to begin with.
    #[must_use]
    pub fn velocity(&self, node: usize) -> Vector<N> {
        let motion = self.motion;
        let since = if motion.steps_done == 0 { 1.0 } else { 0.5 };
        motion.velocity[node] - motion.change[node] * N::splat(since)
    }

    /// The resultant of all that pulls on a point (its weight left out), N.
    #[must_use]
    pub fn pull_on(&self, node: usize) -> Vector<N> {
        self.motion.force[node]
    }

    /// The resultant of the ropes at a point, N.
    #[must_use]
    pub fn ropes_on(&self, node: usize) -> Vector<N> {
        self.motion.ropes_force[node]
    }

    /// Tension of a segment of a rope, N.
    #[must_use]
    pub fn tension(&self, line: usize, segment: usize) -> N {
        self.motion.ropes[line].running.tension[segment]
    }

    /// Unstretched length of a segment of a rope, m.
    #[must_use]
    pub fn length(&self, line: usize, segment: usize) -> N {
        self.motion.ropes[line].running.length[segment]
    }

    /// Unstretched length of a segment of a rope, m.
    #[must_use]
    pub fn rope_length(&self, line: usize, segment: usize) -> N {
        self.motion.ropes[line].running.length[segment]
    }

    /// By how much a strand of sling has torn open, m.
    #[must_use]
    pub fn torn(&self, tear: usize) -> N {
        let tear = self.motion.fall.tears[tear];
        tear.most - self.motion.legs.state[tear.leg].tears.left
    }

    /// Tension of a strand of sling, N.
    #[must_use]
    pub fn leg_tension(&self, leg: usize) -> N {
        self.motion.legs.state[leg].tension
    }

    /// Kinetic, potential (from z = 0) and stored energy together, J.
    ///
    /// A rope stores ½ slow ε² + q² / (2 fast) per metre, a leg ½ k (d − length)² while it is stretched.
    #[must_use]
    pub fn energy(&self) -> N {
        let motion = self.motion;
        let half = N::splat(0.5);
        let mut energy = N::zero();
        for &node in &motion.moving {
            let velocity = self.velocity(node);
            let mass = mass_of(motion.fall.nodes[node].kind);
            energy += mass * (half * velocity.dot(velocity) + N::splat(GRAVITY) * motion.at[node].0[2]);
        }
        for (rope, line) in motion.ropes.iter().zip(&motion.fall.lines) {
            energy += rope.running.stored(line.response);
        }
        energy + motion.legs.stored()
    }
}
