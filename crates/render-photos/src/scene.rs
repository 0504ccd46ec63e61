//! What is to be seen: sheet, piece, light, shadows, fingers; and what colour a ray finds.

use crate::ink::Ink;
use crate::piece::{Piece, ramp};
use crate::view::{dot, unit};

/// How the piece lies on the sheet.
#[derive(Debug, Clone, Copy)]
pub struct Lay {
    /// Where its own origin is, mm.
    pub at: [f64; 2],
    /// How far it is turned, radians.
    pub turn: f64,
}

/// Light, shadow and surface.
#[derive(Debug, Clone)]
pub struct Look {
    /// Light of the paper per channel, linear.
    pub paper: [f64; 3],
    /// Change of light over the sheet, per 100 mm in x and y.
    pub gradient: [f64; 2],
    /// Share that the metal throws back per channel.
    pub metal: [f64; 3],
    /// Brightness of the stripe of glare on the metal.
    pub glare: f64,
    /// Direction to the lamp: x and y per unit of height.
    pub lamp: [f64; 2],
    /// How much the shadow darkens, 0 to 1.
    pub shadow: f64,
    /// Half the width of the shadow's soft edge, mm.
    pub softness: f64,
    /// How much the paper is darker right beside the metal.
    pub corner: f64,
}

/// A finger: from a point to a point, and its radius; mm.
pub type Finger = ([f64; 2], [f64; 2], f64);

/// Everything in front of the camera.
pub struct Scene<'a> {
    /// The printed sheet.
    pub ink: &'a Ink,
    /// The connector, if any.
    pub piece: Option<&'a Piece>,
    /// Where it lies.
    pub lay: Lay,
    /// Light and surface.
    pub look: Look,
    /// Fingers.
    pub fingers: Vec<Finger>,
    /// How high the paper's left and right edges stand up at 84 mm from the middle, mm.
    pub curl: f64,
}

/// What a ray meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The sheet, or the desk beside it.
    Paper,
    /// The connector.
    Metal,
    /// A finger.
    Skin,
}

const DESK: [f64; 3] = [0.20, 0.15, 0.10];
const SKIN: [f64; 3] = [0.45, 0.28, 0.20];

impl Scene<'_> {
    /// The linear colour seen from `eye` along `way`, and what it is of.
    #[must_use]
    pub fn colour(&self, eye: [f64; 3], way: [f64; 3]) -> ([f64; 3], Kind) {
        if let Some(colour) = self.piece.and_then(|piece| self.metal(piece, eye, way)) {
            return (colour, Kind::Metal);
        }
        let share = -eye[2] / way[2];
        let ground = [eye[0] + share * way[0], eye[1] + share * way[1]];
        if self.fingers.iter().any(|finger| in_finger(finger, ground)) {
            return (SKIN, Kind::Skin);
        }
        (self.paper(ground, eye), Kind::Paper)
    }

    fn paper(&self, ground: [f64; 2], eye: [f64; 3]) -> [f64; 3] {
        let lift = self.curl * (ground[0] / 84.0).powi(2);
        let point: [f64; 2] = std::array::from_fn(|i| ground[i] + lift * (eye[i] - ground[i]) / eye[2]);
        let brightness = self.brightness(point) * self.shade(point);
        if point[0].abs() > self.ink.paper_half[0] || point[1].abs() > self.ink.paper_half[1] {
            return DESK.map(|value| value * brightness);
        }
        let white = 1.0 - 0.95 * self.ink.at(point);
        self.look.paper.map(|value| value * white * brightness)
    }

    fn brightness(&self, point: [f64; 2]) -> f64 {
        1.0 + (point[0] * self.look.gradient[0] + point[1] * self.look.gradient[1]) / 100.0
    }

    /// What the piece leaves of the light on the paper.
    fn shade(&self, point: [f64; 2]) -> f64 {
        let Some(piece) = self.piece else { return 1.0 };
        let away = piece.off_line(self.own(point));
        if away > 50.0 {
            return 1.0;
        }
        let middle = piece.height() / 2.0;
        let towards = std::array::from_fn(|i| point[i] + middle * self.look.lamp[i]);
        let inside = middle - piece.off_line(self.own(towards));
        let cast = self.look.shadow * ramp(-self.look.softness, self.look.softness, inside);
        let beside = (away - 0.5 * middle).max(0.0);
        (1.0 - cast) * (1.0 - self.look.corner * (-beside / 2.5).exp())
    }

    /// A point of the sheet in the piece's own coordinates.
    fn own(&self, point: [f64; 2]) -> [f64; 2] {
        let (x, y) = (point[0] - self.lay.at[0], point[1] - self.lay.at[1]);
        let (sine, cosine) = self.lay.turn.sin_cos();
        [cosine * x + sine * y, -sine * x + cosine * y]
    }

    /// The colour of the metal where a ray meets it: steps of the distance to the surface (Hart J., Sphere tracing, 1996).
    fn metal(&self, piece: &Piece, eye: [f64; 3], way: [f64; 3]) -> Option<[f64; 3]> {
        let way = unit(way);
        let mut gone = (piece.height() + 0.05 - eye[2]) / way[2];
        for _ in 0..MOST_STEPS {
            let spot: [f64; 3] = std::array::from_fn(|i| eye[i] + gone * way[i]);
            if spot[2] < 0.0 {
                return None;
            }
            let own = self.own([spot[0], spot[1]]);
            let away = piece.distance([own[0], own[1], spot[2]]);
            if away < 5e-4 {
                return Some(self.shine(piece, [own[0], own[1], spot[2]], [spot[0], spot[1]], way));
            }
            gone += 0.9 * away;
        }
        None
    }

    fn shine(&self, piece: &Piece, own: [f64; 3], spot: [f64; 2], way: [f64; 3]) -> [f64; 3] {
        let [x, y, up] = piece.facing(own);
        let (sine, cosine) = self.lay.turn.sin_cos();
        let facing = [cosine * x - sine * y, sine * x + cosine * y, up];
        let lamp = unit([self.look.lamp[0], self.look.lamp[1], 1.0]);
        let half = unit(std::array::from_fn(|i| lamp[i] - way[i]));
        let matte = 0.4 + 0.6 * dot(facing, lamp).max(0.0);
        let glare = self.look.glare * dot(facing, half).max(0.0).powi(80);
        let brightness = self.brightness(spot);
        self.look.metal.map(|value| (value * matte + glare) * brightness)
    }
}

/// Steps of a ray: one that only just touches a bar needs so many to come within 0.002 mm of it.
const MOST_STEPS: usize = 100;

fn in_finger((from, to, radius): &Finger, point: [f64; 2]) -> bool {
    let (side, way) = ([to[0] - from[0], to[1] - from[1]], [point[0] - from[0], point[1] - from[1]]);
    let share = ((way[0] * side[0] + way[1] * side[1]) / (side[0] * side[0] + side[1] * side[1])).clamp(0.0, 1.0);
    (way[0] - share * side[0]).hypot(way[1] - share * side[1]) < *radius
}
