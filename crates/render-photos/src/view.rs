//! The camera that looks at the scene: a pinhole with a bent lens. Space is x right, y down on the sheet, z up from it.

/// A camera.
#[derive(Debug, Clone)]
pub struct View {
    /// Pixels across and down.
    pub size: [usize; 2],
    /// Focal length, pixels.
    pub focal: f64,
    /// Where the axis meets the picture, pixels.
    pub middle: [f64; 2],
    /// Radial lens terms.
    pub lens: [f64; 2],
    /// Where it is.
    pub eye: [f64; 3],
    ahead: [f64; 3],
    right: [f64; 3],
    down: [f64; 3],
}

/// How a camera is held.
#[derive(Debug, Clone, Copy)]
pub struct Pose {
    /// From straight down, degrees.
    pub tilt_deg: f64,
    /// To which side it leans, radians.
    pub side: f64,
    /// Turned about its axis, radians.
    pub roll: f64,
    /// What it looks at on the sheet, mm.
    pub target: [f64; 2],
    /// Distance to there, mm.
    pub distance: f64,
}

impl View {
    /// A camera of a size, focal length in parts of the long edge, lens and pose.
    #[must_use]
    pub fn new(size: [usize; 2], focal_share: f64, lens: [f64; 2], pose: &Pose) -> Self {
        let lean = pose.tilt_deg.to_radians();
        let back = [lean.sin() * pose.side.cos(), lean.sin() * pose.side.sin(), lean.cos()];
        let eye = [
            pose.target[0] + pose.distance * back[0],
            pose.target[1] + pose.distance * back[1],
            pose.distance * back[2],
        ];
        let ahead = back.map(|value| -value);
        let level = [pose.roll.cos(), pose.roll.sin(), 0.0];
        let along = dot(level, ahead);
        let right = unit(std::array::from_fn(|i| level[i] - along * ahead[i]));
        let down = cross(right, ahead);
        let focal = focal_share * size[0].max(size[1]) as f64;
        let middle = [(size[0] as f64 - 1.0) / 2.0, (size[1] as f64 - 1.0) / 2.0];
        Self { size, focal, middle, lens, eye, ahead, right, down }
    }

    /// The direction in which a pixel looks.
    #[must_use]
    pub fn way(&self, pixel: [f64; 2]) -> [f64; 3] {
        let bent = [(pixel[0] - self.middle[0]) / self.focal, (pixel[1] - self.middle[1]) / self.focal];
        let mut flat = bent;
        for _ in 0..6 {
            let square = flat[0] * flat[0] + flat[1] * flat[1];
            let factor = 1.0 + self.lens[0] * square + self.lens[1] * square * square;
            flat = [bent[0] / factor, bent[1] / factor];
        }
        std::array::from_fn(|i| self.ahead[i] + flat[0] * self.right[i] + flat[1] * self.down[i])
    }

    /// The pixel at which a point in space is seen.
    #[must_use]
    pub fn pixel(&self, point: [f64; 3]) -> [f64; 2] {
        let way: [f64; 3] = std::array::from_fn(|i| point[i] - self.eye[i]);
        let far = dot(way, self.ahead);
        let flat = [dot(way, self.right) / far, dot(way, self.down) / far];
        let square = flat[0] * flat[0] + flat[1] * flat[1];
        let factor = 1.0 + self.lens[0] * square + self.lens[1] * square * square;
        [self.middle[0] + self.focal * factor * flat[0], self.middle[1] + self.focal * factor * flat[1]]
    }

    /// How far the axis leans from straight down, degrees.
    #[must_use]
    pub fn tilt_deg(&self) -> f64 {
        (-self.ahead[2]).acos().to_degrees()
    }

    /// The largest share of the half picture that any of the points of the paper reaches: 1 is the edge.
    #[must_use]
    pub fn reach(&self, points: &[[f64; 2]]) -> f64 {
        let share = |point: &[f64; 2]| {
            let pixel = self.pixel([point[0], point[1], 0.0]);
            let across = (pixel[0] - self.middle[0]).abs() / self.middle[0];
            across.max((pixel[1] - self.middle[1]).abs() / self.middle[1])
        };
        points.iter().map(share).fold(0.0, f64::max)
    }
}

pub(crate) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(crate) fn unit(a: [f64; 3]) -> [f64; 3] {
    let long = dot(a, a).sqrt();
    a.map(|value| value / long)
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
