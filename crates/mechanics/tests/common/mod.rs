//! Falls that several tests use, and a small generator of random ones.
#![allow(dead_code, reason = "each test file uses its part")]

use mechanics::fall::{Fall, Kind, Leg, Line, Node};
use mechanics::rope::Response;
use mechanics::vector::Vector;

pub const DYNAMIC: Response<f64> = Response { slow: 10e3, fast: 18e3, relax: 0.15 };
pub const ELASTIC: Response<f64> = Response { slow: 24e3, fast: 0.0, relax: 1.0 };

pub fn node(at: [f64; 3], kind: Kind<f64>) -> Node<f64> {
    Node { at: Vector(at), kind }
}

pub fn distance(nodes: &[Node<f64>], a: usize, b: usize) -> f64 {
    (nodes[a].at - nodes[b].at).norm()
}

/// A line as drawn, with slack in its last segment and one friction everywhere.
pub fn line(nodes: &[Node<f64>], through: &[usize], response: Response<f64>, slack: f64, friction: f64) -> Line<f64> {
    let mut lengths: Vec<f64> = through.windows(2).map(|pair| distance(nodes, pair[0], pair[1])).collect();
    *lengths.last_mut().expect("a segment") += slack;
    Line { response, through: through.to_vec(), lengths, friction: vec![friction; through.len()], brake: f64::INFINITY }
}

/// The lead fall of the contract past four clips: nodes 0 to 3 the clips, 4 the leader, 5 the belayer.
pub fn four_clips() -> Fall<f64> {
    let clips = [[0.0, 0.0, 3.0], [0.3, 0.0, 6.0], [-0.2, 0.0, 9.0], [0.2, 0.0, 12.0]];
    let mut nodes: Vec<_> = clips.iter().map(|&at| node(at, Kind::Fixed)).collect();
    nodes.push(node([0.5, 0.0, 15.0], Kind::Free(80.0)));
    nodes.push(node([1.0, 0.0, 1.0], Kind::Stands(70.0)));
    let rope = Line { brake: 3e3, ..line(&nodes, &[5, 0, 1, 2, 3, 4], DYNAMIC, 0.5, 0.25) };
    Fall { nodes, lines: vec![rope], until: 2.5, ..Fall::default() }
}

/// A fall straight down on a rope that is fast at the belay: node 0 the belay, 1 who falls.
pub fn straight(response: Response<f64>, mass: f64, height: f64) -> Fall<f64> {
    let nodes = vec![node([0.0; 3], Kind::Fixed), node([0.0, 0.0, height], Kind::Free(mass))];
    let rope = line(&nodes, &[0, 1], response, 0.0, 0.0);
    Fall { nodes, lines: vec![rope], until: 2.0, ..Fall::default() }
}

/// xorshift64*: S. Vigna, An experimental exploration of Marsaglia's xorshift generators, scrambled, 2016.
pub struct Random(pub u64);

impl Random {
    pub fn unit(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    pub fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }
}

/// A lead fall with one to seven clips anywhere near a wall, on draws or not, with or without brake, slack and a
/// belayer who can be lifted.
pub fn random_lead(random: &mut Random) -> Fall<f64> {
    let clips = 1 + (random.unit() * 7.0) as usize;
    let (mut nodes, mut legs, mut through) = (Vec::new(), Vec::new(), Vec::new());
    let belayer = if random.chance(0.7) { Kind::Stands(random.between(45.0, 110.0)) } else { Kind::Fixed };
    nodes.push(node([random.between(-1.0, 1.5), random.between(-0.5, 1.0), 0.0], belayer));
    through.push(0);
    let mut height = random.between(1.0, 4.0);
    for _ in 0..clips {
        let at = [random.between(-0.8, 0.8), random.between(-0.3, 0.3), height];
        nodes.push(node(at, Kind::Fixed));
        if random.chance(0.4) {
            let length = random.between(0.1, 0.6);
            nodes.push(node([at[0], at[1], at[2] - length], Kind::Free(0.1)));
            let stiffness = random.between(60e3, 500e3) / length;
            legs.push(Leg { ends: [nodes.len() - 2, nodes.len() - 1], stiffness, length });
        }
        through.push(nodes.len() - 1);
        height += random.between(0.8, 3.0);
    }
    let leader = [random.between(-0.6, 0.6), random.between(-0.2, 0.6), height];
    nodes.push(node(leader, Kind::Free(random.between(45.0, 110.0))));
    through.push(nodes.len() - 1);
    let response =
        Response { slow: random.between(7e3, 14e3), fast: random.between(0.0, 25e3), relax: random.between(0.03, 1.5) };
    let mut rope = line(&nodes, &through, response, random.between(0.0, 1.5), 0.0);
    rope.friction.iter_mut().for_each(|friction| *friction = random.between(0.0, 0.5));
    if random.chance(0.5) {
        rope.brake = random.between(1e3, 4e3);
    }
    Fall { nodes, legs, lines: vec![rope], until: 2.0, ..Fall::default() }
}
