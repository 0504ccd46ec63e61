//! Round steps for axes and scale bars.

/// A round step: 1, 2 or 5 times a power of ten.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Step {
    pub size: f64,
    /// Decimals that a multiple of it needs.
    pub decimals: usize,
}

impl Step {
    /// The smallest round step that is at least `least`; from a nanounit to a giga-unit.
    pub fn at_least(least: f64) -> Step {
        // Parsed rather than multiplied up, so that 0.1 is the nearest number to a tenth on every machine.
        let steps = (-9..=9).flat_map(|power: i32| [1, 2, 5].map(|digit| (format!("{digit}e{power}"), power)));
        let mut steps = steps.map(|(text, power)| Step {
            size: text.parse().expect("a digit and an exponent are a number"),
            decimals: usize::try_from(-power).unwrap_or(0),
        });
        steps.find(|step| step.size >= least * (1.0 - 1e-9)).unwrap_or(Step { size: 5e9, decimals: 0 })
    }

    /// Its multiples from `low` to `high`.
    pub fn multiples(self, low: f64, high: f64) -> impl Iterator<Item = f64> {
        let slack = 1e-9;
        let first = (low / self.size - slack).ceil() as i64;
        let last = (high / self.size + slack).floor() as i64;
        (first..=last).map(move |count| count as f64 * self.size)
    }

    /// A multiple of it, as short as it can be.
    pub fn text(self, value: f64) -> String {
        format!("{value:.*}", self.decimals)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_five() {
        let sizes = [0.03, 0.05, 0.11, 1.0, 3.0, 60.0].map(|least| Step::at_least(least).size);
        assert_eq!(sizes, [0.05, 0.05, 0.2, 1.0, 5.0, 100.0]);
    }

    #[test]
    fn multiples_cover_the_range() {
        let step = Step::at_least(0.5);
        let texts: Vec<_> = step.multiples(-0.2, 1.5).map(|value| step.text(value)).collect();
        assert_eq!(texts, ["0.0", "0.5", "1.0", "1.5"]);
    }
}
