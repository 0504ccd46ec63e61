//! What an anchor bears by the direction of the pull.

use crate::position::thresholds;
use terms::{Angle, Force, Reason};

/// The strengths of an anchor by direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ByDirection {
    /// In the direction that it was placed for.
    pub along: Force,
    /// Across that direction.
    pub across: Force,
    /// Against it.
    pub upward: Force,
    /// The direction that it was placed for: a vector of any length but zero.
    pub direction: [f64; 3],
}

/// What an anchor bears against a pull in direction `pull` (a vector of any length but zero), and why.
///
/// Pulled in line (or against it) or across, within the angles of the table of positions, it bears what it was given for that
/// direction; between two of them the lesser counts.
#[must_use]
pub fn bears(holds: &ByDirection, pull: [f64; 3]) -> (Force, Reason) {
    let angle = angle_between(holds.direction, pull);
    let [along, across, upward] = [("along", holds.along), ("across", holds.across), ("upward", holds.upward)];
    let in_line = thresholds().anchor_in_line_deg.value;
    let to_across = 90.0 - thresholds().anchor_across_deg.value;
    match angle.deg() {
        deg if deg <= in_line => within(angle, along),
        deg if deg < to_across => between(angle, along, across),
        deg if deg <= 180.0 - to_across => within(angle, across),
        deg if deg < 180.0 - in_line => between(angle, across, upward),
        _ => within(angle, upward),
    }
}

/// What an anchor holds by sector: the least cosine between the direction it was placed for and the pull, and what it
/// bears there; the narrowest sector first. The same rule as [`bears`].
#[must_use]
pub fn sectors(holds: &ByDirection) -> [(f64, Force); 5] {
    let in_line = thresholds().anchor_in_line_deg.value;
    let to_across = 90.0 - thresholds().anchor_across_deg.value;
    let lesser = |one: Force, other: Force| if one < other { one } else { other };
    [
        (in_line, holds.along),
        (to_across, lesser(holds.along, holds.across)),
        (180.0 - to_across, holds.across),
        (180.0 - in_line, lesser(holds.across, holds.upward)),
        (180.0, holds.upward),
    ]
    .map(|(most_deg, force)| (Angle::from_deg(most_deg).rad().cos(), force))
}

fn within(angle: Angle, (sector, force): (&'static str, Force)) -> (Force, Reason) {
    (force, Reason::AnchorPulled { angle, sector })
}

fn between(angle: Angle, one: (&'static str, Force), other: (&'static str, Force)) -> (Force, Reason) {
    let least = if one.1 < other.1 { one.1 } else { other.1 };
    (least, Reason::AnchorPulledBetween { angle, one: one.0, other: other.0 })
}

fn angle_between(one: [f64; 3], other: [f64; 3]) -> Angle {
    let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let cosine = dot(one, other) / (dot(one, one) * dot(other, other)).sqrt();
    Angle::from_rad(cosine.clamp(-1.0, 1.0).acos())
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHOCK: ByDirection = ByDirection {
        along: Force::from_kn(12.0),
        across: Force::from_kn(5.0),
        upward: Force::from_kn(2.0),
        direction: [0.0, 0.0, -1.0],
    };

    fn pulled_at(deg: f64) -> (f64, Reason) {
        let (sin, cos) = deg.to_radians().sin_cos();
        let (force, reason) = bears(&CHOCK, [3.0 * sin, 0.0, -3.0 * cos]);
        (force.kn(), reason)
    }

    #[test]
    fn sectors_say_what_bears_says() {
        for deg in (0..=180).map(f64::from) {
            let (bears, _) = pulled_at(deg);
            let cosine = deg.to_radians().cos();
            let sector = sectors(&CHOCK).into_iter().find(|(least, _)| cosine >= least - 1e-12).expect("a sector");
            assert_eq!(sector.1.kn(), bears, "{deg}");
        }
    }

    #[test]
    fn each_direction_has_its_own_strength() {
        for (deg, strength, expected) in [(0.0, 12.0, "along"), (90.0, 5.0, "across"), (180.0, 2.0, "upward")] {
            let (force, reason) = pulled_at(deg);
            assert_eq!(force, strength);
            assert!(matches!(reason, Reason::AnchorPulled { sector, .. } if sector == expected), "{reason:?}");
        }
    }

    #[test]
    fn between_two_directions_the_lesser_counts() {
        let in_line = thresholds().anchor_in_line_deg.value;
        let to_across = 90.0 - thresholds().anchor_across_deg.value;
        let middle = f64::midpoint(in_line, to_across);
        assert_eq!(pulled_at(middle).0, 5.0);
        assert_eq!(pulled_at(180.0 - middle).0, 2.0);
        assert_eq!(pulled_at(middle).1.code(), "anchor-pulled-between");
    }

    #[test]
    fn an_anchor_weak_in_line_is_not_strengthened_by_a_pull_across() {
        let weak = ByDirection { along: Force::from_kn(3.0), ..CHOCK };
        let deg = f64::midpoint(thresholds().anchor_in_line_deg.value, 90.0 - thresholds().anchor_across_deg.value);
        let (sin, cos) = deg.to_radians().sin_cos();
        assert_eq!(bears(&weak, [sin, 0.0, -cos]).0.kn(), 3.0);
    }

    #[test]
    fn strength_never_rises_as_the_pull_turns_away_from_a_downward_placement() {
        let strengths: Vec<_> = (0..=180).map(|deg| pulled_at(f64::from(deg)).0).collect();
        assert!(strengths.windows(2).all(|pair| pair[1] <= pair[0]), "{strengths:?}");
    }
}
