//! What a groove does to the stress in a bent bar: a curved beam of the section that remains, after Winkler and Bach.
//!
//! With the section's area A, its centroid at the radius c from the centre of curvature and n = A / ∫dA/r, the radius of
//! the neutral axis, a moment M about the centroid (opening the bend: positive) and a force F through it give at the
//! radius r (Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., section 3-18, eq. 3-64 and example
//! 3-15)
//!
//! ```text
//! stress(r) = F / A + M (n - r) / (A e r),   e = c - n
//! ```
//!
//! What comes out is a ratio of stresses, grooved to sound, under the same load. It is no strength: metal yields before
//! it breaks, and what is worn hardens, cracks or is notched in ways that no such ratio knows ([`RatioLimit`]).

use std::f64::consts::{FRAC_PI_2, PI};
use terms::{Force, Length, coded};

/// The shape of a bar's section, seen along the bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// As wide at the inside of the bend as at the outside.
    Rectangle {
        /// Along the axis of the bend.
        width: Length,
        /// From the inside of the bend to the outside.
        depth: Length,
    },
    /// Two parallel sides at the inside and the outside of the bend.
    Trapezium {
        /// Width at the inside.
        inner_width: Length,
        /// Width at the outside.
        outer_width: Length,
        /// From the inside to the outside.
        depth: Length,
    },
    /// Round.
    Circle {
        /// Its diameter.
        diameter: Length,
    },
}

/// Where moments are taken: sources differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// About the centroid, where the force F / A acts as one (Shigley): what is used here.
    Centroid,
    /// About the neutral axis (Hibbeler): less by the share e / c.
    Neutral,
}

/// How the bend is loaded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loading {
    /// The pull goes through the centre of curvature, across the section: the side of the basket.
    Hook,
    /// A moment alone: the crown of the basket, under the rope.
    Bending,
}

/// A section of a curved beam: lengths in m, as radii from the centre of curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Radius of the inner face.
    pub inner: f64,
    /// Radius of the outer face.
    pub outer: f64,
    /// Area, m².
    pub area: f64,
    /// Radius of the centroid.
    pub centroid: f64,
    /// ∫dA/r, m.
    pub integral: f64,
}

impl Section {
    /// What a groove as deep as `groove` leaves of the section of a bar bent to `inner` at its inside. Wear goes the way of
    /// the pull: the inner face stands where it stood, further out by the depth of the groove, and ends where it meets the
    /// rest. On a flat face that is a flat cut, on a round bar a crescent. `None` where bar, bend and groove do not go
    /// together.
    #[must_use]
    pub fn grooved(shape: Shape, inner: Length, groove: Length) -> Option<Self> {
        let sides = shape.depth().m();
        let makes_sense = inner.m() > 0.0 && groove.m() >= 0.0 && groove.m() < sides && shape.is_solid();
        let face = inner.m() + groove.m();
        let [area, moment, integral] = match shape {
            Shape::Rectangle { width, .. } => trapezium(face, inner.m() + sides, width.m(), width.m()),
            Shape::Trapezium { inner_width, outer_width, .. } => {
                let cut = inner_width.m() + (outer_width.m() - inner_width.m()) * groove.m() / sides;
                trapezium(face, inner.m() + sides, cut, outer_width.m())
            }
            Shape::Circle { .. } => worn_circle(inner.m() + 0.5 * sides, 0.5 * sides, groove.m()),
        };
        let section = Self { inner: face, outer: inner.m() + sides, area, centroid: moment / area, integral };
        (makes_sense && section.eccentricity() > 0.0).then_some(section)
    }

    /// The sound section.
    #[must_use]
    pub fn sound(shape: Shape, inner: Length) -> Option<Self> {
        Self::grooved(shape, inner, Length::default())
    }

    /// Radius of the neutral axis, m.
    #[must_use]
    pub fn neutral(&self) -> f64 {
        self.area / self.integral
    }

    /// From the neutral axis out to the centroid, m.
    #[must_use]
    pub fn eccentricity(&self) -> f64 {
        self.centroid - self.neutral()
    }

    /// Moment of a pull through the centre of curvature, N m.
    #[must_use]
    pub fn moment(&self, pull: Force, axis: Axis) -> f64 {
        pull.newtons()
            * match axis {
                Axis::Centroid => self.centroid,
                Axis::Neutral => self.neutral(),
            }
    }

    /// Stress in Pa at a radius in m under a moment in N m, tension positive.
    #[must_use]
    pub fn bending(&self, moment: f64, radius: f64) -> f64 {
        moment * (self.neutral() - radius) / (self.area * self.eccentricity() * radius)
    }

    /// Stress in Pa at a radius in m under a pull through the centre of curvature, tension positive.
    #[must_use]
    pub fn hook(&self, pull: Force, axis: Axis, radius: f64) -> f64 {
        pull.newtons() / self.area + self.bending(self.moment(pull, axis), radius)
    }

    /// The largest stress on either face, without sign, under 1 N or 1 N m.
    fn largest(&self, loading: Loading) -> f64 {
        let at = |radius: f64| match loading {
            Loading::Hook => self.hook(Force::from_newtons(1.0), Axis::Centroid, radius),
            Loading::Bending => self.bending(1.0, radius),
        };
        at(self.inner).abs().max(at(self.outer).abs())
    }
}

impl Shape {
    /// From the inside of the bend to the outside.
    #[must_use]
    pub const fn depth(self) -> Length {
        match self {
            Self::Rectangle { depth, .. } | Self::Trapezium { depth, .. } => depth,
            Self::Circle { diameter } => diameter,
        }
    }

    fn is_solid(self) -> bool {
        let sides = match self {
            Self::Rectangle { width, depth } => [width, width, depth],
            Self::Trapezium { inner_width, outer_width, depth } => [inner_width, outer_width, depth],
            Self::Circle { diameter } => [diameter; 3],
        };
        sides.iter().all(|side| side.m() > 0.0 && side.m().is_finite())
    }
}

/// Area, ∫r dA and ∫dA/r between two radii, the width going straight from one to the other: `b + s r` at the radius r.
fn trapezium(inner: f64, outer: f64, inner_width: f64, outer_width: f64) -> [f64; 3] {
    let depth = outer - inner;
    let slope = (outer_width - inner_width) / depth;
    let at_centre = inner_width - slope * inner;
    let area = 0.5 * depth * (inner_width + outer_width);
    let centroid = inner + depth / 3.0 * (inner_width + 2.0 * outer_width) / (inner_width + outer_width);
    [area, area * centroid, at_centre * (outer / inner).ln() + slope * depth]
}

/// The same for a circle of radius `half` about `centre` without what lies within `groove` of its inner edge.
///
/// With r = centre - half cos θ the width is 2 half sin θ, and θ runs from the cut to π:
/// ∫dA/r = 2 half ∫sin²θ/(k - cos θ) dθ, k = centre/half; and sin²θ = (k - cos θ)(k + cos θ) + 1 - k².
fn cut_circle(centre: f64, half: f64, groove: f64) -> [f64; 3] {
    let ratio = centre / half;
    let cut = (1.0 - groove / half).clamp(-1.0, 1.0).acos();
    let (sine, cosine) = cut.sin_cos();
    let area = half * half * (PI - cut + sine * cosine);
    let moment = centre * area + 2.0 / 3.0 * half * half * half * sine * sine * sine;
    let root = ((ratio - 1.0) * (ratio + 1.0)).sqrt();
    let turned = FRAC_PI_2 - (((ratio + 1.0) / (ratio - 1.0)).sqrt() * (0.5 * cut).tan()).atan();
    [area, moment, 2.0 * half * (ratio * (PI - cut) - sine - 2.0 * root * turned)]
}

/// The same for a circle without the crescent outside of the same circle moved outwards by `groove`: the moved circle up
/// to where both are as wide, then the circle itself.
fn worn_circle(centre: f64, half: f64, groove: f64) -> [f64; 3] {
    let [moved, beyond, rest] = [
        cut_circle(centre + groove, half, 0.0),
        cut_circle(centre + groove, half, half - 0.5 * groove),
        cut_circle(centre, half, half + 0.5 * groove),
    ];
    std::array::from_fn(|entry| moved[entry] - beyond[entry] + rest[entry])
}

/// How a groove changes the largest stress, as a band: the least and the most of what the two loadings give. 1 is no
/// change, 1.3 is three tenths more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StressRatio {
    /// With the pull through the centre of curvature.
    pub hook: f64,
    /// With a moment alone.
    pub bending: f64,
}

impl StressRatio {
    /// The greater of the two.
    #[must_use]
    pub fn most(&self) -> f64 {
        self.hook.max(self.bending)
    }

    /// The lesser of the two.
    #[must_use]
    pub fn least(&self) -> f64 {
        self.hook.min(self.bending)
    }
}

/// The ratio of largest stresses, grooved to sound, of a bar bent to the radius `inner` at its inside. `None` where bar,
/// bend and groove do not go together.
#[must_use]
pub fn stress_ratio(shape: Shape, inner: Length, groove: Length) -> Option<StressRatio> {
    let sound = Section::sound(shape, inner)?;
    let grooved = Section::grooved(shape, inner, groove)?;
    let ratio = |loading: Loading| grooved.largest(loading) / sound.largest(loading);
    Some(StressRatio { hook: ratio(Loading::Hook), bending: ratio(Loading::Bending) })
}

coded!(
    /// What a ratio of stresses does not know: all of it stands beside every ratio.
    RatioLimit {
        /// A ratio of stresses, not of strengths: a bar yields and bends before it breaks.
        NoStrength = "no-strength",
        /// The groove is smooth; a sharp edge or a scratch in it raises the stress further.
        NoNotch = "no-notch",
        /// Rectangle, trapezium or circle stand for a forged section.
        ShapeSimplified = "shape-simplified",
        /// Only the section through the groove, loaded in two ways that stand for the basket; gate closed.
        LoadsSimplified = "loads-simplified",
    }
);

#[cfg(test)]
mod tests {
    use super::*;

    const ROUND: Shape = Shape::Circle { diameter: Length::from_mm(10.0) };
    const BASKET: Length = Length::from_mm(6.0);

    /// Area, ∫r dA and ∫dA/r by the midpoint rule in strips.
    fn in_strips(inner: f64, outer: f64, width: impl Fn(f64) -> f64) -> [f64; 3] {
        let count = 400_000;
        let step = (outer - inner) / f64::from(count);
        let mut sums = [0.0; 3];
        for strip in 0..count {
            let radius = inner + (f64::from(strip) + 0.5) * step;
            let area = width(radius) * step;
            [area, area * radius, area / radius].iter().zip(&mut sums).for_each(|(term, sum)| *sum += term);
        }
        sums
    }

    fn assert_close(found: [f64; 3], expected: [f64; 3]) {
        for (found, expected) in found.into_iter().zip(expected) {
            assert!((found / expected - 1.0).abs() < 1e-6, "{found} {expected}");
        }
    }

    #[test]
    fn closed_forms_agree_with_strips() {
        let round = |radius: f64| 2.0 * (25.0 - (radius - 11.0) * (radius - 11.0)).max(0.0).sqrt();
        for groove in [0.0, 0.4, 1.0, 5.0, 8.0] {
            assert_close(cut_circle(11.0, 5.0, groove), in_strips(6.0 + groove, 16.0, round));
            let worn = |radius: f64| round(radius).min(round(radius - groove));
            assert_close(worn_circle(11.0, 5.0, groove), in_strips(6.0 + groove, 16.0, worn));
        }
        let sloping = |radius: f64| 60.0 - 30.0 * (radius - 40.0) / 50.0;
        assert_close(trapezium(40.0, 90.0, 60.0, 30.0), in_strips(40.0, 90.0, sloping));
    }

    #[test]
    fn a_whole_circle_is_the_textbook_form() {
        let section = Section::sound(ROUND, BASKET).unwrap();
        let (c, rc) = (5e-3_f64, 11e-3_f64);
        let neutral = c * c / (2.0 * (rc - (rc * rc - c * c).sqrt()));
        assert!((section.neutral() / neutral - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_bar_bent_ever_so_little_is_a_straight_beam() {
        let bar = Shape::Rectangle { width: Length::from_mm(10.0), depth: Length::from_mm(10.0) };
        let straight = stress_ratio(bar, Length::from_m(5.0), Length::from_mm(2.0)).unwrap();
        // Section modulus goes with depth squared.
        assert!((straight.bending - 1.0 / (0.8 * 0.8)).abs() < 1e-3, "{straight:?}");
    }

    #[test]
    fn no_groove_changes_nothing_and_a_deeper_one_more() {
        let ratio = |groove: f64| stress_ratio(ROUND, BASKET, Length::from_mm(groove)).unwrap();
        assert!((ratio(0.0).most() - 1.0).abs() < 1e-12);
        for of in [|ratio: StressRatio| ratio.hook, |ratio: StressRatio| ratio.bending] {
            let ratios: Vec<f64> = (0..30).map(|tenth| of(ratio(f64::from(tenth) / 10.0))).collect();
            assert!(ratios.windows(2).all(|pair| pair[1] > pair[0]), "{ratios:?}");
        }
        assert!(ratio(1.0).least() <= ratio(1.0).most());
    }

    #[test]
    fn a_millimetre_means_more_to_a_slim_bar() {
        let ratio = |diameter: f64| {
            let bar = Shape::Circle { diameter: Length::from_mm(diameter) };
            stress_ratio(bar, BASKET, Length::from_mm(1.0)).unwrap().most()
        };
        assert!(ratio(8.0) > ratio(10.0) && ratio(10.0) > ratio(12.0));
    }

    #[test]
    fn what_does_not_go_together_has_no_ratio() {
        let mm = Length::from_mm;
        assert_eq!(stress_ratio(ROUND, BASKET, mm(10.0)), None);
        assert_eq!(stress_ratio(ROUND, BASKET, mm(-0.1)), None);
        assert_eq!(stress_ratio(ROUND, mm(0.0), mm(1.0)), None);
        assert_eq!(stress_ratio(Shape::Circle { diameter: mm(f64::NAN) }, BASKET, mm(1.0)), None);
        assert_eq!(stress_ratio(Shape::Rectangle { width: mm(-3.0), depth: mm(10.0) }, BASKET, mm(1.0)), None);
    }
}
