//! One span of rope that hangs by its own weight: the elastic catenary (H. M. Irvine, Cable Structures, 1981, ch. 1.4).
//!
//! The span is found from its dual: of all pairs of end forces (H, V) the right one minimises the convex function
//! ∫ (T + T² / 2EA) ds − H d − V z, with T² = H² + (V − w s)² along the rope, s from its far end.

/// A uniform rope between two places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Catenary {
    /// Horizontal distance of its ends, m, positive.
    pub distance: f64,
    /// How much higher its far end is, m.
    pub rise: f64,
    /// Unstretched length, m.
    pub length: f64,
    /// Weight per unstretched metre, N/m, positive.
    pub weight: f64,
    /// Force per unit strain, N.
    pub stiffness: f64,
}

/// A span in balance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hanging {
    /// The rope and its places.
    pub span: Catenary,
    /// Horizontal part of the tension, N.
    pub horizontal: f64,
    /// Upward part of the tension, going from the near end to the far one, at the near and the far end, N.
    pub upward: [f64; 2],
    /// Tension at the near and the far end, N.
    pub tension: [f64; 2],
}

/// How the energy of a span bends: its second derivatives by distance and rise, by these and length, by length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Curvature {
    pub by_place: [[f64; 2]; 2],
    pub by_place_and_length: [f64; 2],
    pub by_length: f64,
}

/// Rounds that nothing ordinary needs.
const MOST_ROUNDS: usize = 100;
/// What the Newton steps may still change, as a share of the forces.
const CLOSENESS: f64 = 1e-15;
/// The horizontal force keeps this share of itself in one round.
const LEAST_SHARE: f64 = 0.1;
/// The deepest sag that the first guess allows for: its parameter λ.
const DEEPEST_GUESS: f64 = 20.0;

impl Catenary {
    /// The span in balance, by Newton's method on the dual.
    pub fn hang(self) -> Hanging {
        let [mut horizontal, mut far] = self.guess();
        let mut error = self.error(horizontal, far);
        for _ in 0..MOST_ROUNDS {
            let [step_horizontal, step_far] = solve(self.flexibility(horizontal, far), error);
            if step_horizontal.abs() + step_far.abs() <= CLOSENESS * (horizontal + far.abs()) {
                break;
            }
            let mut share =
                if step_horizontal > 0.0 { (horizontal * (1.0 - LEAST_SHARE) / step_horizontal).min(1.0) } else { 1.0 };
            let better = loop {
                let tried = [horizontal - share * step_horizontal, far - share * step_far];
                let next = self.error(tried[0], tried[1]);
                if size(next) < size(error) {
                    break Some((tried, next));
                }
                share *= 0.5;
                if share < 1e-6 {
                    break None;
                }
            };
            let Some((tried, next)) = better else { break };
            ([horizontal, far], error) = (tried, next);
        }
        self.with_forces(horizontal, far)
    }

    fn with_forces(self, horizontal: f64, far: f64) -> Hanging {
        let upward = [far - self.weight * self.length, far];
        Hanging { span: self, horizontal, upward, tension: upward.map(|upward| horizontal.hypot(upward)) }
    }

    /// A first guess of horizontal and far upward force: H. B. Jayaraman, W. C. Knudson, A curved element for the
    /// analysis of cable structures, Computers & Structures 14 (1981) 325; or the straight stretched rope.
    fn guess(&self) -> [f64; 2] {
        let chord = self.distance.hypot(self.rise);
        let taut = (self.stiffness * (chord / self.length - 1.0)).max(0.0);
        let excess = 3.0 * ((self.length.powi(2) - self.rise.powi(2)) / self.distance.powi(2) - 1.0);
        let depth = if excess > 0.0 { excess.sqrt().clamp(1e-3, DEEPEST_GUESS) } else { 0.2 };
        let hung = self.weight * self.distance / (2.0 * depth);
        let far = 0.5 * self.weight * (self.rise / depth.tanh() + self.length);
        if taut * self.distance / chord > hung {
            [taut * self.distance / chord, taut * self.rise / chord + 0.5 * self.weight * self.length]
        } else {
            [hung, far]
        }
    }

    /// Distance and rise that go with two forces.
    fn extent(&self, horizontal: f64, far: f64) -> [f64; 2] {
        let Self { length, weight, stiffness, .. } = *self;
        let near = far - weight * length;
        let sum = horizontal.hypot(near) + horizontal.hypot(far);
        let bend = arc(horizontal, near, far, sum) / (0.5 * weight * length);
        [horizontal * length * (1.0 / stiffness + bend), 0.5 * (near + far) * length * (1.0 / stiffness + 2.0 / sum)]
    }

    fn error(&self, horizontal: f64, far: f64) -> [f64; 2] {
        let [distance, rise] = self.extent(horizontal, far);
        [distance - self.distance, rise - self.rise]
    }

    /// The derivative of distance and rise by the two forces; symmetric and positive definite.
    fn flexibility(&self, horizontal: f64, far: f64) -> [[f64; 2]; 2] {
        let Self { length, weight, stiffness, .. } = *self;
        let near = far - weight * length;
        let [tension_near, tension_far] = [near, far].map(|upward| horizontal.hypot(upward));
        let turn = far / tension_far - near / tension_near;
        let arc = 2.0 * arc(horizontal, near, far, tension_near + tension_far);
        let mixed = -horizontal * length * (near + far) / ((tension_near + tension_far) * tension_near * tension_far);
        [[length / stiffness + (arc - turn) / weight, mixed], [mixed, length / stiffness + turn / weight]]
    }
}

impl Hanging {
    /// What the span stores, J: stretch and height, counted from the near end.
    pub fn energy(&self) -> f64 {
        let Catenary { distance, rise, length, weight, stiffness } = self.span;
        let [near, far] = self.upward;
        let sum = self.tension[0] + self.tension[1];
        let bend = arc(self.horizontal, near, far, sum) / (0.5 * weight * length);
        let tension =
            0.25 * length * (sum + (near + far).powi(2) / sum) + 0.5 * self.horizontal.powi(2) * length * bend;
        let square = length * (self.horizontal.powi(2) + (near * near + near * far + far * far) / 3.0);
        self.horizontal * distance + far * rise - tension - 0.5 * square / stiffness
    }

    /// The derivative of the energy by the length: what a metre of rope more at the near end is worth, N.
    pub fn worth(&self) -> f64 {
        -self.tension[0] * (1.0 + 0.5 * self.tension[0] / self.span.stiffness)
    }

    pub fn curvature(&self) -> Curvature {
        let span = &self.span;
        let by_place = inverse(span.flexibility(self.horizontal, self.upward[1]));
        let give = 1.0 / span.stiffness + 1.0 / self.tension[0];
        let run = [self.horizontal * give, self.upward[0] * give];
        let by_place_and_length: [f64; 2] =
            std::array::from_fn(|row| -(by_place[row][0] * run[0] + by_place[row][1] * run[1]));
        let steepening = span.weight * self.upward[0] * give;
        let by_length = steepening - (run[0] * by_place_and_length[0] + run[1] * by_place_and_length[1]);
        Curvature { by_place, by_place_and_length, by_length }
    }

    /// How far the rope has come, along and up, at an unstretched length from its near end.
    pub fn at(&self, length: f64) -> [f64; 2] {
        if length <= 0.0 {
            return [0.0; 2];
        }
        let part = Catenary { length, ..self.span };
        part.extent(self.horizontal, self.upward[0] + self.span.weight * length)
    }

    /// Where the rope is lowest: unstretched length from its near end, m.
    pub fn lowest(&self) -> f64 {
        (-self.upward[0] / self.span.weight).clamp(0.0, self.span.length)
    }
}

/// Half the difference of the arguments whose hyperbolic sines are far / H and near / H: artanh (w L / (T₁ + T₂)),
/// with nothing lost where the rope is folded or nearly straight.
fn arc(horizontal: f64, near: f64, far: f64, sum: f64) -> f64 {
    let part = (far - near) / sum;
    if near < 0.0 && far > 0.0 {
        let rest = horizontal.powi(2) * (1.0 / (horizontal.hypot(far) + far) + 1.0 / (horizontal.hypot(near) - near));
        return 0.5 * ((1.0 + part) * sum / rest).ln();
    }
    part.atanh()
}

fn size([x, y]: [f64; 2]) -> f64 {
    x.hypot(y)
}

fn inverse([[a, b], [c, d]]: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let determinant = a * d - b * c;
    [[d / determinant, -b / determinant], [-c / determinant, a / determinant]]
}

fn solve(matrix: [[f64; 2]; 2], right: [f64; 2]) -> [f64; 2] {
    inverse(matrix).map(|row| row[0] * right[0] + row[1] * right[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(distance: f64, rise: f64, length: f64) -> Catenary {
        Catenary { distance, rise, length, weight: 6.0, stiffness: 4e4 }
    }

    const SPANS: [(f64, f64, f64); 7] = [
        (30.0, 0.0, 31.0),
        (30.0, 4.0, 29.0),
        (30.0, -12.0, 60.0),
        (0.01, 3.0, 20.0),
        (0.01, -9.0, 8.0),
        (1.0, 0.0, 1.0),
        (200.0, 50.0, 210.0),
    ];

    #[test]
    fn a_span_reaches_from_end_to_end() {
        for (distance, rise, length) in SPANS {
            let hanging = span(distance, rise, length).hang();
            let [along, up] = hanging.at(length);
            assert!((along - distance).abs() < 1e-10 * length, "{distance} {rise} {length}: {along}");
            assert!((up - rise).abs() < 1e-10 * length, "{distance} {rise} {length}: {up}");
        }
    }

    #[test]
    fn forces_are_the_slope_of_the_energy() {
        for (distance, rise, length) in SPANS {
            let hanging = span(distance, rise, length).hang();
            let share = 1e-5 * distance;
            let slope = |energy: &dyn Fn(f64) -> f64| (energy(share) - energy(-share)) / (2.0 * share);
            let found = [
                slope(&|by| span(distance + by, rise, length).hang().energy()),
                slope(&|by| span(distance, rise + by, length).hang().energy()),
                slope(&|by| span(distance, rise, length + by).hang().energy()),
            ];
            let expected = [hanging.horizontal, hanging.upward[1], hanging.worth()];
            for (found, expected) in found.into_iter().zip(expected) {
                let scale = hanging.tension[0] + hanging.tension[1];
                assert!((found - expected).abs() < 1e-5 * scale, "{distance} {rise} {length}: {found} {expected}");
            }
        }
    }

    #[test]
    fn the_curvature_is_the_slope_of_the_forces() {
        for (distance, rise, length) in SPANS {
            let curvature = span(distance, rise, length).hang().curvature();
            let forces = |distance, rise, length| {
                let hanging = span(distance, rise, length).hang();
                [hanging.horizontal, hanging.upward[1], hanging.worth()]
            };
            let by = 1e-5 * distance;
            let slope = |one: [f64; 3], other: [f64; 3]| -> [f64; 3] {
                std::array::from_fn(|index| (one[index] - other[index]) / (2.0 * by))
            };
            let rows = [
                slope(forces(distance + by, rise, length), forces(distance - by, rise, length)),
                slope(forces(distance, rise + by, length), forces(distance, rise - by, length)),
                slope(forces(distance, rise, length + by), forces(distance, rise, length - by)),
            ];
            let [[dd, dz], [_, zz]] = curvature.by_place;
            let [dl, zl] = curvature.by_place_and_length;
            let expected = [[dd, dz, dl], [dz, zz, zl], [dl, zl, curvature.by_length]];
            let scale = expected.iter().flatten().fold(0.0_f64, |most, entry| most.max(entry.abs()));
            for (row, expected) in rows.iter().flatten().zip(expected.iter().flatten()) {
                assert!((row - expected).abs() < 1e-4 * scale, "{distance} {rise} {length}: {row} {expected}");
            }
        }
    }
}
