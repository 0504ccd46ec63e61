//! Rigs made from code: the pieces they are built of, a few by name, and random ones by seed.

use mechanics::fall::{Fall, Kind, Leg, Line, Node};
use mechanics::rope::Response;
use mechanics::vector::Vector;

/// Force of 1 kN in N.
pub const KILO: f64 = 1e3;

/// A rope without viscosity.
pub fn elastic(slow: f64) -> Response<f64> {
    Response { slow, fast: 0.0, relax: 1.0 }
}

/// A rope with an ordinary viscous share.
pub fn ordinary() -> Response<f64> {
    Response { slow: 10.0 * KILO, fast: 18.0 * KILO, relax: 0.15 }
}

/// A fall without anything in it, followed for `until` seconds.
pub fn empty(until: f64) -> Fall<f64> {
    Fall { nodes: Vec::new(), until, ..Fall::default() }
}

/// Adds a point; returns its place.
pub fn point(fall: &mut Fall<f64>, kind: Kind<f64>, at: [f64; 3]) -> usize {
    fall.nodes.push(Node { at: Vector(at), kind });
    fall.nodes.len() - 1
}

/// The distance between two points as drawn.
pub fn drawn(fall: &Fall<f64>, from: usize, to: usize) -> f64 {
    (fall.nodes[to].at - fall.nodes[from].at).norm()
}

/// Adds a strand of sling of the given unstretched length; `modulus` is its force per unit strain.
pub fn leg(fall: &mut Fall<f64>, ends: [usize; 2], modulus: f64, length: f64) {
    fall.legs.push(Leg { ends, stiffness: modulus / length, length });
}

/// Adds a quickdraw that hangs straight down from a new fixed point; returns its joint.
pub fn draw(fall: &mut Fall<f64>, bolt: [f64; 3], modulus: f64, length: f64, mass: f64) -> usize {
    let anchor = point(fall, Kind::Fixed, bolt);
    let joint = point(fall, Kind::Free(mass), [bolt[0], bolt[1], bolt[2] - length]);
    leg(fall, [anchor, joint], modulus, length);
    joint
}

/// Adds a rope as long as drawn, its slack in the last segment; it never runs out at the first point.
pub fn line(fall: &mut Fall<f64>, response: Response<f64>, through: &[usize], friction: f64, slack: f64) {
    let mut lengths: Vec<f64> = through.windows(2).map(|pair| drawn(fall, pair[0], pair[1])).collect();
    *lengths.last_mut().expect("a segment") += slack;
    let friction = vec![friction; through.len()];
    fall.lines.push(Line { response, through: through.to_vec(), lengths, friction, brake: f64::INFINITY });
}

/// A leader of 80 kg above `clips` fixed pieces 3 m apart, a belayer of 70 kg who stands, a brake that slips at 3 kN.
/// With four clips this is the contract's lead fall.
pub fn lead(clips: usize) -> Fall<f64> {
    let mut fall = empty(2.5);
    let aside = [0.0, 0.3, -0.2, 0.2];
    let belayer = point(&mut fall, Kind::Stands(70.0), [1.0, 0.0, 1.0]);
    let pieces: Vec<usize> = (0..clips)
        .map(|piece| point(&mut fall, Kind::Fixed, [aside[piece % 4], 0.0, 3.0 * (piece + 1) as f64]))
        .collect();
    let leader = point(&mut fall, Kind::Free(80.0), [0.5, 0.0, 3.0 * clips as f64 + 3.0]);
    let through: Vec<usize> = [belayer].into_iter().chain(pieces).chain([leader]).collect();
    line(&mut fall, ordinary(), &through, 0.25, 0.5);
    fall.lines[0].brake = 3.0 * KILO;
    fall
}

/// A leader of 75 kg above `count` draws that swing. With three draws this is the contract's fall on swinging draws,
/// but for the rope, whose three numbers here are round ones near those that its data sheet gives.
pub fn swinging_draws(count: usize) -> Fall<f64> {
    let mut fall = empty(1.6);
    let aside = [0.0, 1.0, -0.6];
    let length = [0.18, 0.60, 0.18];
    let belayer = point(&mut fall, Kind::Stands(65.0), [0.5, 0.3, 1.0]);
    let joints: Vec<usize> = (0..count)
        .map(|place| {
            let bolt = [aside[place % 3], 0.0, 3.0 * (place + 1) as f64];
            draw(&mut fall, bolt, 400.0 * KILO, length[place % 3], 0.1)
        })
        .collect();
    let leader = point(&mut fall, Kind::Free(75.0), [-0.4, 0.0, 3.0 * count as f64 + 2.5]);
    let through: Vec<usize> = [belayer].into_iter().chain(joints).chain([leader]).collect();
    let response = Response { slow: 9.2 * KILO, fast: 15.0 * KILO, relax: 0.2 };
    line(&mut fall, response, &through, 0.25, 0.8);
    fall
}

/// A mass that falls on a rope with nothing between: `slack` metres before the rope of `length` metres comes taut.
pub fn straight_drop(response: Response<f64>, mass: f64, length: f64, slack: f64) -> Fall<f64> {
    let mut fall = empty(2.0);
    let anchor = point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let below = point(&mut fall, Kind::Free(mass), [0.0, 0.0, slack - length]);
    line(&mut fall, response, &[anchor, below], 0.0, 0.0);
    fall.lines[0].lengths[0] = length;
    fall
}

/// Random numbers from a seed: SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, 2014).
pub struct Dice(pub u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    /// Evenly between two bounds.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number from 0, below `bound`.
    pub fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound as u64) as usize
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.between(0.0, 1.0) < probability
    }

    /// One of several.
    pub fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.below(choices.len())]
    }
}

/// A random fall: a lead fall or one on a top rope, some on two ropes, some with what is rare or awkward.
pub fn random(seed: u64) -> Fall<f64> {
    let mut dice = Dice(seed);
    let mut fall = empty(2.0);
    if dice.chance(0.25) {
        top_rope(&mut fall, &mut dice)
    } else {
        random_lead(&mut fall, &mut dice)
    }
    fall
}

fn response(dice: &mut Dice) -> Response<f64> {
    let slow = dice.between(6.0, 30.0) * KILO;
    let fast = if dice.chance(0.15) { 0.0 } else { slow * dice.between(0.2, 4.0) };
    Response { slow, fast, relax: dice.between(0.01, 2.0) }
}

fn random_friction(dice: &mut Dice) -> f64 {
    if dice.chance(0.3) { dice.one_of(&[0.0, 1.0]) } else { dice.between(0.05, 0.5) }
}

fn random_brake(dice: &mut Dice) -> f64 {
    if dice.chance(0.5) { f64::INFINITY } else { dice.between(0.5, 6.0) * KILO }
}

/// A belayer who stands or is anchored, at times right under the first piece.
fn random_belayer(fall: &mut Fall<f64>, dice: &mut Dice, first_piece: [f64; 3]) -> usize {
    let kind = if dice.chance(0.75) { Kind::Stands(dice.between(45.0, 95.0)) } else { Kind::Fixed };
    let below = if dice.chance(0.3) { dice.between(0.2, 1.0) } else { dice.between(1.0, 3.0) };
    let aside = below * dice.between(-0.8, 0.8);
    point(fall, kind, [first_piece[0] + aside, first_piece[1] + dice.between(-0.2, 0.2), first_piece[2] - below])
}

fn random_piece(fall: &mut Fall<f64>, dice: &mut Dice, at: [f64; 3]) -> usize {
    if dice.chance(0.5) {
        return point(fall, Kind::Fixed, at);
    }
    let modulus = dice.one_of(&[20.0, 100.0, 400.0, 1e4]) * KILO;
    let (length, mass) = (dice.between(0.1, 0.7), dice.between(0.05, 0.4));
    draw(fall, at, modulus, length, mass)
}

fn random_lead(fall: &mut Fall<f64>, dice: &mut Dice) {
    let clips = 1 + dice.below(8);
    let mut height = 0.0;
    let places: Vec<[f64; 3]> = (0..clips)
        .map(|_| {
            height += dice.between(0.7, 3.5);
            [dice.between(-1.0, 1.0), dice.between(-1.0, 1.0), height]
        })
        .collect();
    let belayer = random_belayer(fall, dice, places[0]);
    let pieces: Vec<usize> = places.iter().map(|&at| random_piece(fall, dice, at)).collect();
    let top = places[clips - 1];
    let above = dice.between(0.1, 4.0);
    let leader_at = [top[0] + dice.between(-1.0, 1.0), top[1] + dice.between(-1.0, 1.0), top[2] + above];
    let leader = point(fall, Kind::Free(dice.between(45.0, 110.0)), leader_at);
    let ropes = if dice.chance(0.25) { 2 } else { 1 };
    for rope in 0..ropes {
        let through = random_way(dice, belayer, &pieces, leader, rope, ropes);
        random_rope(fall, dice, &through);
    }
}

/// Through all pieces, or every second one where there are two ropes; at times back to the piece before.
fn random_way(
    dice: &mut Dice,
    belayer: usize,
    pieces: &[usize],
    leader: usize,
    rope: usize,
    ropes: usize,
) -> Vec<usize> {
    let mut through = vec![belayer];
    through.extend(pieces.iter().skip(rope).step_by(ropes));
    if through.len() > 2 && dice.chance(0.15) {
        through.push(through[through.len() - 2]);
    }
    through.push(leader);
    through
}

fn random_rope(fall: &mut Fall<f64>, dice: &mut Dice, through: &[usize]) {
    let slack = if dice.chance(0.2) { 0.0 } else { dice.between(0.0, 3.0) };
    line(fall, response(dice), through, 0.0, slack);
    let short = if dice.chance(0.2) { dice.between(0.97, 1.0) } else { 1.0 };
    let brake = random_brake(dice);
    let line = fall.lines.last_mut().expect("the rope");
    line.friction.iter_mut().for_each(|friction| *friction = random_friction(dice));
    if short < 1.0 {
        *line.lengths.last_mut().expect("a segment") -= slack;
        line.lengths.iter_mut().for_each(|length| *length *= short);
    }
    line.brake = brake;
}

/// A climber below a master point on two or three legs.
fn top_rope(fall: &mut Fall<f64>, dice: &mut Dice) {
    let master = point(fall, Kind::Free(dice.between(0.05, 0.5)), [0.0, 0.0, 10.0]);
    for _ in 0..2 + dice.below(2) {
        let at = [dice.between(-1.0, 1.0), dice.between(-0.5, 0.5), 10.0 + dice.between(0.3, 1.5)];
        let anchor = point(fall, Kind::Fixed, at);
        let length = drawn(fall, anchor, master) * dice.between(0.97, 1.1);
        let modulus = dice.one_of(&[30.0, 200.0, 2e3]) * KILO;
        leg(fall, [anchor, master], modulus, length);
    }
    let belayer = random_belayer(fall, dice, [0.0, 0.0, 3.0]);
    let at = [dice.between(-1.5, 1.5), dice.between(-1.0, 1.0), dice.between(3.0, 9.0)];
    let climber = point(fall, Kind::Free(dice.between(45.0, 110.0)), at);
    random_rope(fall, dice, &[belayer, master, climber]);
}
