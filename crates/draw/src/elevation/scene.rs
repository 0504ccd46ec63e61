//! The rig on the vertical plane that shows it best.

use super::{Elevation, Emphasis, Strand};

/// A place on the plane in metres: along it, and up.
pub(super) type Flat = [f64; 2];

/// A tension below this is slack, in kN: half a newton.
const SLACK_KN: f64 = 0.0005;

/// The vertical plane through the points' principal horizontal direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plane {
    /// Unit vector along it: x, y.
    along: [f64; 2],
    /// How far apart points lie square to it, in metres.
    depth_m: f64,
}

impl Plane {
    /// The direction in which the points spread most: the eigenvector of the larger eigenvalue of their 2 x 2
    /// horizontal covariance, by square roots alone, so that it is the same on every machine. It runs towards larger
    /// x.
    pub fn through(points: &[[f64; 3]]) -> Plane {
        let mean = |axis: usize| points.iter().map(|at| at[axis]).sum::<f64>() / points.len().max(1) as f64;
        let (mx, my) = (mean(0), mean(1));
        let covariance = |a: fn(f64, f64) -> f64| points.iter().map(|at| a(at[0] - mx, at[1] - my)).sum::<f64>();
        let half = (covariance(|x, _| x * x) - covariance(|_, y| y * y)) / 2.0;
        let mixed = covariance(|x, y| x * y);
        let root = (half * half + mixed * mixed).sqrt();
        let (x, y) = if half >= 0.0 { (half + root, mixed) } else { (mixed.abs(), (root - half) * mixed.signum()) };
        let length = (x * x + y * y).sqrt();
        let along = if length > 0.0 { along_an_axis([x / length, y / length]) } else { [1.0, 0.0] };
        let across = points.iter().map(|at| at[1] * along[0] - at[0] * along[1]);
        let (low, high) = across.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        Plane { along, depth_m: (high - low).max(0.0) }
    }

    pub fn along(&self) -> [f64; 2] {
        self.along
    }

    fn flat(&self, at: [f64; 3]) -> Flat {
        [at[0] * self.along[0] + at[1] * self.along[1], at[2]]
    }

    /// What is seen and what is not.
    pub fn caption(&self) -> String {
        let degrees = self.along[1].atan2(self.along[0]).to_degrees().round() + 0.0;
        let view = if degrees == 0.0 {
            "Side view to scale along x, z up.".to_owned()
        } else {
            format!("Side view to scale along the direction {degrees:.0}° from x towards y, z up.").replace('-', "−")
        };
        let hidden = format!(" Points lie up to {:.2} m apart in depth, which is not seen here.", self.depth_m);
        if self.depth_m >= 0.01 { view + &hidden } else { view }
    }
}

/// The axis itself where a direction is within some six degrees of it: a view along x or y is read more easily.
fn along_an_axis(direction: [f64; 2]) -> [f64; 2] {
    match direction.map(|part| part.abs() < 0.1) {
        [_, true] => [1.0, 0.0],
        [true, _] => [0.0, 1.0],
        _ => direction,
    }
}

/// The drawing with all of its points on the plane.
pub(super) struct Scene<'a> {
    pub drawing: &'a Elevation,
    pub plane: Plane,
    /// The points.
    pub at: Vec<Flat>,
    /// The places between of each strand.
    pub via: Vec<Vec<Flat>>,
    /// The strands whose ends exist.
    pub strands: Vec<&'a Strand>,
    /// The other places: point and place, with its name.
    pub ghosts: Vec<(usize, Flat, &'a str)>,
    /// The greatest tension in kN; 1 where nothing is under tension.
    pub most_kn: f64,
}

impl Scene<'_> {
    pub fn of(drawing: &Elevation) -> Scene<'_> {
        let count = drawing.points.len();
        let places: Vec<_> = drawing.points.iter().map(|point| point.at).collect();
        let plane = Plane::through(&places);
        let strands: Vec<_> = drawing.strands.iter().filter(|strand| strand.from.max(strand.to) < count).collect();
        let most_kn = strands.iter().filter_map(|strand| strand.tension_kn).fold(0.0, f64::max);
        let ghosts = drawing.also.iter().filter(|ghost| ghost.point < count);
        Scene {
            drawing,
            plane,
            at: places.iter().map(|at| plane.flat(*at)).collect(),
            via: strands.iter().map(|strand| strand.via.iter().map(|at| plane.flat(*at)).collect()).collect(),
            strands,
            ghosts: ghosts.map(|ghost| (ghost.point, plane.flat(ghost.at), ghost.name.as_str())).collect(),
            most_kn: if most_kn > SLACK_KN { most_kn } else { 1.0 },
        }
    }

    /// Width in pixels of a strand that carries so many kN.
    pub fn stroke(&self, tension_kn: f64) -> f64 {
        1.2 + 6.0 * tension_kn / self.most_kn
    }

    /// How the links at a point ask to be looked at, the greatest of them.
    pub fn rank(&self, point: usize) -> Emphasis {
        let links = self.drawing.links.iter().filter(|link| link.point == point);
        links.map(|link| link.rank).min().unwrap_or(Emphasis::Within)
    }

    /// Sideways places of a strand among those between the same two points, from -1, 0, 1 and so on about the middle.
    pub fn lane(&self, index: usize) -> f64 {
        let ends = |strand: &Strand| (strand.from.min(strand.to), strand.from.max(strand.to));
        let same = |strand: &&&Strand| ends(strand) == ends(self.strands[index]);
        let before = self.strands[..index].iter().filter(same).count() as f64;
        let lane = before - (self.strands.iter().filter(same).count() as f64 - 1.0) / 2.0;
        if self.strands[index].from <= self.strands[index].to { lane } else { -lane }
    }
}

/// What a strand does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Carries {
    /// So many kN.
    Tension(f64),
    /// Nothing.
    Nothing,
    /// What was not computed.
    Unknown,
}

impl Carries {
    pub fn of(strand: &Strand) -> Carries {
        match strand.tension_kn {
            Some(kn) if kn > SLACK_KN => Carries::Tension(kn),
            Some(_) => Carries::Nothing,
            None => Carries::Unknown,
        }
    }
}

/// Lowest and highest corner of some places; the origin where there are none.
pub(super) fn extent(places: impl Iterator<Item = Flat>) -> (Flat, Flat) {
    let corners = places.map(|at| (at, at)).reduce(|(low, high), (at, _)| {
        ([low[0].min(at[0]), low[1].min(at[1])], [high[0].max(at[0]), high[1].max(at[1])])
    });
    corners.unwrap_or(([0.0; 2], [0.0; 2]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_plane_follows_the_greatest_spread() {
        let along = |points: &[[f64; 3]]| Plane::through(points).along;
        assert_eq!(along(&[[0.0, 1.0, 0.0], [2.0, 1.0, 9.0]]), [1.0, 0.0]);
        assert_eq!(along(&[[1.0, 0.0, 0.0], [1.0, 3.0, 9.0]]), [0.0, 1.0]);
        assert_eq!(along(&[]), [1.0, 0.0]);
        let diagonal = along(&[[0.0, 0.0, 0.0], [2.0, -2.0, 0.0], [1.0, -1.1, 4.0]]);
        assert!((diagonal[0] - 0.7).abs() < 0.05 && (diagonal[1] + 0.7).abs() < 0.05, "{diagonal:?}");
    }

    #[test]
    fn depth_is_told() {
        let plane = Plane::through(&[[0.0, 0.0, 0.0], [4.0, 0.3, 0.0], [8.0, 0.0, 0.0]]);
        assert_eq!(
            plane.caption(),
            "Side view to scale along x, z up. Points lie up to 0.30 m apart in depth, which is not seen here."
        );
    }
}
