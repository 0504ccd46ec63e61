//! From the declared figures of a rope to its response: the first drop of EN 892, modelled.

use crate::GRAVITY;
use crate::rope::Response;

/// The mass (kg) that hangs on the rope beyond the preload when static elongation is measured.
const STATIC_MASS: f64 = 75.0;
/// The relaxation times (s) that make sense for a rope in a fall.
const SENSIBLE_RELAX: [f64; 2] = [0.01, 2.0];
/// Longest step (s) of the modelled drop, and its longest share of the relaxation time.
const LONGEST_STEP: f64 = 2e-3;
const STEP_SHARE: f64 = 0.05;
/// A drop is over long before this, in s.
const LONGEST_DROP: f64 = 10.0;
/// How closely (relative) the declared figures are given back.
const CLOSENESS: f64 = 1e-10;
/// Places between the sensible relaxation times where a solution is looked for, and rounds to close in on it.
const SEARCH_PLACES: i32 = 12;
const MOST_ROUNDS: usize = 100;

/// The drop test: a mass that falls free and is then caught by a single straight rope with no edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DropTest {
    /// Mass, kg.
    pub mass: f64,
    /// Free fall before the rope comes taut, m.
    pub free_fall: f64,
    /// Length of the rope, m.
    pub rope: f64,
}

impl DropTest {
    /// EN 892 with the given mass in kg: 4.6 m of free fall on 2.6 m of rope.
    #[must_use]
    pub const fn en_892(mass: f64) -> Self {
        Self { mass, free_fall: 4.6, rope: 2.6 }
    }
}

/// Declared figures of a rope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DataSheet {
    /// Largest force in the first drop, N.
    pub impact_force: f64,
    /// Static elongation as a fraction.
    pub static_elongation: f64,
    /// Largest elongation in the first drop as a fraction.
    pub dynamic_elongation: f64,
}

/// What the first drop shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstDrop {
    /// Largest force, N.
    pub impact_force: f64,
    /// Largest elongation as a fraction.
    pub elongation: f64,
}

/// Which declared figure no sensible response can meet.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Unfit {
    /// The rope as stiff as its static elongation says pulls harder than the declared impact force.
    #[error("impact force too low: with this static elongation the first drop gives at least {least} N")]
    ImpactForce {
        /// The least impact force that goes with the static elongation, N.
        least: f64,
    },
    /// No relaxation time from 0.01 to 2 s gives the declared dynamic elongation.
    #[error("dynamic elongation out of reach: with the other figures it lies from {least} to {most}")]
    DynamicElongation {
        /// The least that goes with the other two figures, as a fraction.
        least: f64,
        /// The most that goes with the other two figures, as a fraction.
        most: f64,
    },
}

/// State of the drop: elongation (m), its rate (m/s), relaxing tension q (N).
type State = [f64; 3];

struct Drop {
    test: DropTest,
    response: Response<f64>,
    step: f64,
}

impl Drop {
    /// m x'' = m g − T,  T = slow x / L + q,  q' = fast x' / L − q / relax.
    fn rate(&self, [x, speed, q]: State) -> State {
        let force = self.response.slow * x / self.test.rope + q;
        let relaxing = self.response.fast * speed / self.test.rope - q / self.response.relax;
        [speed, GRAVITY - force / self.test.mass, relaxing]
    }

    /// One step of the classical fourth-order method (W. Kutta, 1901).
    fn advance(&self, state: State, step: f64) -> State {
        let along = |rate: State, share: f64| std::array::from_fn(|i| state[i] + step * share * rate[i]);
        let k1 = self.rate(state);
        let k2 = self.rate(along(k1, 0.5));
        let k3 = self.rate(along(k2, 0.5));
        let k4 = self.rate(along(k3, 1.0));
        std::array::from_fn(|i| state[i] + step / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]))
    }

    fn force(&self, [x, _, q]: State) -> f64 {
        self.response.slow * x / self.test.rope + q
    }

    fn force_rate(&self, state: State) -> f64 {
        let [speed, _, relaxing] = self.rate(state);
        self.response.slow * speed / self.test.rope + relaxing
    }

    /// The state within the next step at which `quantity` falls through zero.
    fn turning_point(&self, before: State, quantity: impl Fn(State) -> f64) -> State {
        let (mut low, mut high) = (0.0, self.step);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if quantity(self.advance(before, middle)) > 0.0 { low = middle } else { high = middle }
        }
        self.advance(before, high)
    }
}

/// What the first drop of `test` shows on a rope of `response`.
#[must_use]
pub fn first_drop(test: &DropTest, response: &Response<f64>) -> FirstDrop {
    let step = LONGEST_STEP.min(STEP_SHARE * response.relax);
    let drop = Drop { test: *test, response: *response, step };
    let mut state = [0.0, (2.0 * GRAVITY * test.free_fall).sqrt(), 0.0];
    let mut impact_force: f64 = 0.0;
    for _ in 0..(LONGEST_DROP / step) as usize {
        let next = drop.advance(state, step);
        if drop.force_rate(state) > 0.0 && drop.force_rate(next) <= 0.0 {
            let peak = drop.turning_point(state, |state| drop.force_rate(state));
            impact_force = impact_force.max(drop.force(peak));
        }
        if next[1] <= 0.0 {
            let lowest = drop.turning_point(state, |state| state[1]);
            return FirstDrop { impact_force: impact_force.max(drop.force(lowest)), elongation: lowest[0] / test.rope };
        }
        state = next;
    }
    FirstDrop { impact_force, elongation: state[0] / test.rope }
}

/// The response whose modelled first drop gives the declared impact force and dynamic elongation together, with
/// `slow` = 75 kg × g / static elongation.
///
/// With these two held, elongation grows with the relaxation time except for a shallow dip near its short end; where
/// two relaxation times fit, the longer one is taken.
///
/// # Errors
/// [`Unfit`] names the figure that cannot be met.
pub fn fit(test: &DropTest, sheet: &DataSheet) -> Result<Response<f64>, Unfit> {
    let slow = STATIC_MASS * GRAVITY / sheet.static_elongation;
    let least = first_drop(test, &Response { slow, fast: 0.0, relax: SENSIBLE_RELAX[1] }).impact_force;
    if sheet.impact_force < least {
        return Err(Unfit::ImpactForce { least });
    }
    let excess = |log_relax: f64| {
        let response = with_impact_force(test, slow, log_relax.exp(), sheet.impact_force);
        first_drop(test, &response).elongation - sheet.dynamic_elongation
    };
    let log_relax = longest_root(excess).map_err(|[least, most]| Unfit::DynamicElongation {
        least: sheet.dynamic_elongation + least,
        most: sheet.dynamic_elongation + most,
    })?;
    Ok(with_impact_force(test, slow, log_relax.exp(), sheet.impact_force))
}

/// The longest log relaxation time at which `excess` vanishes, or its range where it does not.
fn longest_root(excess: impl Fn(f64) -> f64) -> Result<f64, [f64; 2]> {
    let [shortest, longest] = SENSIBLE_RELAX.map(f64::ln);
    let place = |index: i32| longest + (shortest - longest) * f64::from(index) / f64::from(SEARCH_PLACES);
    let mut above = (place(0), excess(place(0)));
    let mut range = [above.1, above.1];
    for index in 1..=SEARCH_PLACES {
        let below = (place(index), excess(place(index)));
        if above.1 >= 0.0 && below.1 <= 0.0 {
            return Ok(root(excess, below, above));
        }
        range = [range[0].min(below.1), range[1].max(below.1)];
        above = below;
    }
    Err(range)
}

/// The response of given `slow` and `relax` whose first drop gives the impact force; it grows with `fast`.
fn with_impact_force(test: &DropTest, slow: f64, relax: f64, impact_force: f64) -> Response<f64> {
    let response = |fast: f64| Response { slow, fast, relax };
    let excess = |fast: f64| first_drop(test, &response(fast)).impact_force / impact_force - 1.0;
    let mut low = (0.0, excess(0.0));
    let mut high = (slow, excess(slow));
    while high.1 < 0.0 {
        low = high;
        high = (4.0 * high.0, excess(4.0 * high.0));
    }
    response(root(excess, low, high))
}

/// The root of an increasing function between two places, by regula falsi with the Illinois rule (M. Dowell,
/// P. Jarratt, A modified regula falsi method for computing the root of an equation, BIT 11, 1971).
fn root(function: impl Fn(f64) -> f64, mut low: (f64, f64), mut high: (f64, f64)) -> f64 {
    let mut last_side = 0;
    for _ in 0..MOST_ROUNDS {
        if low.1 == high.1 {
            break;
        }
        let place = high.0 - high.1 * (high.0 - low.0) / (high.1 - low.1);
        let value = function(place);
        if value.abs() < CLOSENESS || (high.0 - low.0).abs() <= f64::EPSILON * high.0.abs() {
            return place;
        }
        let side = if value < 0.0 { -1 } else { 1 };
        let (moved, other) = if side < 0 { (&mut low, &mut high) } else { (&mut high, &mut low) };
        *moved = (place, value);
        if side == last_side {
            other.1 *= 0.5;
        }
        last_side = side;
    }
    high.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_elastic_rope_obeys_the_energy_balance() {
        // F = m g + √((m g)² + 2 m g h k): the standard equation for impact force, in closed form.
        let test = DropTest::en_892(80.0);
        let slow = 24e3;
        let shown = first_drop(&test, &Response { slow, fast: 0.0, relax: 1.0 });
        let weight = test.mass * GRAVITY;
        let expected = weight + (weight * weight + 2.0 * weight * test.free_fall * slow / test.rope).sqrt();
        assert!((shown.impact_force / expected - 1.0).abs() < 1e-7, "{} {expected}", shown.impact_force);
        assert!((shown.elongation / (expected / slow) - 1.0).abs() < 1e-7);
    }

    #[test]
    fn a_data_sheet_comes_back() {
        let test = DropTest::en_892(80.0);
        let sheet = DataSheet { impact_force: 9200.0, static_elongation: 0.075, dynamic_elongation: 0.32 };
        let response = fit(&test, &sheet).unwrap();
        let shown = first_drop(&test, &response);
        assert!((shown.impact_force / sheet.impact_force - 1.0).abs() < 1e-8);
        assert!((shown.elongation - sheet.dynamic_elongation).abs() < 1e-8);
        assert!((SENSIBLE_RELAX[0]..=SENSIBLE_RELAX[1]).contains(&response.relax));
    }

    #[test]
    fn the_figure_that_cannot_be_met_is_named() {
        let test = DropTest::en_892(80.0);
        let soft = DataSheet { impact_force: 4000.0, static_elongation: 0.06, dynamic_elongation: 0.35 };
        assert!(matches!(fit(&test, &soft), Err(Unfit::ImpactForce { least }) if least > 4000.0));
        let long = DataSheet { impact_force: 9000.0, static_elongation: 0.08, dynamic_elongation: 0.6 };
        assert!(matches!(fit(&test, &long), Err(Unfit::DynamicElongation { most, .. }) if most < 0.6));
    }
}
