//! Figures as printed, and how closely they have to be met.

use serde::Deserialize;

/// Share of a figure by which a computed one may fall short of cut-off digits that it meets exactly: legs stretch a
/// little however stiff they are.
const ROUNDING: f64 = 1e-5;

/// A figure as a source prints it. A trailing `!` marks one that is wrong there; a lone dash says that there is none.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "String")]
pub struct Figure {
    /// As printed, without the mark.
    pub text: String,
    /// Its value; `None` for a dash.
    pub value: Option<f64>,
    /// Whether the case says that the source is wrong here.
    pub is_wrong: bool,
}

impl TryFrom<String> for Figure {
    type Error = String;

    fn try_from(written: String) -> Result<Self, String> {
        let text = written.trim_end_matches('!');
        let is_wrong = text.len() < written.len();
        let value = match text {
            "-" => None,
            digits => Some(digits.parse().map_err(|_| format!("not a figure: {written}"))?),
        };
        Ok(Self { text: text.to_owned(), value, is_wrong })
    }
}

impl Figure {
    /// How many decimals are printed.
    #[must_use]
    pub fn decimals(&self) -> usize {
        self.text.split_once('.').map_or(0, |(_, decimals)| decimals.len())
    }

    /// One unit of the last printed digit.
    fn unit(&self) -> f64 {
        10f64.powi(-i32::try_from(self.decimals()).unwrap_or(i32::MAX))
    }

    /// What is at fault with `got` where this figure is asked for; `None` where it is met, or missed by a figure that
    /// is marked as wrong.
    #[must_use]
    pub fn fault(&self, got: Option<f64>, tolerance: Tolerance) -> Option<String> {
        let is_met = match (self.value, got) {
            (Some(wanted), Some(got)) => self.allows(wanted, got, tolerance),
            (wanted, got) => wanted.is_none() && got.is_none(),
        };
        match (is_met, self.is_wrong) {
            (false, false) => Some(format!("{} asked for, {} computed", self.text, shown(got))),
            (true, true) => Some(format!("{} is marked as wrong, yet {} is computed", self.text, shown(got))),
            _ => None,
        }
    }

    fn allows(&self, wanted: f64, got: f64, tolerance: Tolerance) -> bool {
        let off = got - wanted;
        match tolerance {
            Tolerance::PrintedDigits => off.abs() <= self.unit() / 2.0,
            Tolerance::TruncatedDigits => -ROUNDING * wanted.abs() <= off && off < self.unit(),
            Tolerance::Percent(percent) => off.abs() <= wanted.abs() * percent / 100.0,
            Tolerance::Absolute(most) => off.abs() <= most,
        }
    }
}

fn shown(got: Option<f64>) -> String {
    got.map_or_else(|| "nothing".to_owned(), |got| format!("{got:.9}"))
}

/// How closely a printed figure has to be met.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(try_from = "String")]
pub enum Tolerance {
    /// To half a unit of the last digit.
    PrintedDigits,
    /// The figure was cut off: from it to one unit of the last digit above.
    TruncatedDigits,
    /// Within this share, in percent.
    Percent(f64),
    /// Within this, in the unit of the figure.
    Absolute(f64),
}

impl TryFrom<String> for Tolerance {
    type Error = String;

    fn try_from(written: String) -> Result<Self, String> {
        let number = |text: &str| text.trim().parse().map_err(|_| format!("not a tolerance: {written}"));
        match written.as_str() {
            "printed digits" => Ok(Self::PrintedDigits),
            "truncated digits" => Ok(Self::TruncatedDigits),
            percent if percent.ends_with('%') => number(percent.trim_end_matches('%')).map(Self::Percent),
            absolute => number(absolute).map(Self::Absolute),
        }
    }
}

impl Tolerance {
    /// In words, as the files write it.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::PrintedDigits => "printed digits".to_owned(),
            Self::TruncatedDigits => "truncated digits".to_owned(),
            Self::Percent(percent) => format!("{percent} %"),
            Self::Absolute(most) => format!("± {most}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(written: &str, got: f64, tolerance: Tolerance) -> Option<String> {
        Figure::try_from(written.to_owned()).unwrap().fault(Some(got), tolerance)
    }

    #[test]
    fn printed_digits_reach_half_a_unit_to_either_side() {
        assert_eq!(fault("5.7", 5.7369, Tolerance::PrintedDigits), None);
        assert!(fault("5.7", 5.7501, Tolerance::PrintedDigits).is_some());
        assert!(fault("57.2", 57.2965, Tolerance::PrintedDigits).is_some());
    }

    #[test]
    fn truncated_digits_reach_one_unit_up_only() {
        assert_eq!(fault("57.2", 57.2965, Tolerance::TruncatedDigits), None);
        assert!(fault("57.2", 57.19, Tolerance::TruncatedDigits).is_some());
        assert!(fault("57.2", 57.301, Tolerance::TruncatedDigits).is_some());
    }

    #[test]
    fn a_figure_marked_as_wrong_must_be_missed() {
        assert_eq!(fault("380!", 383.06, Tolerance::PrintedDigits), None);
        assert!(fault("383!", 383.06, Tolerance::PrintedDigits).is_some());
    }

    #[test]
    fn a_dash_asks_for_nothing() {
        let dash = Figure::try_from("-".to_owned()).unwrap();
        assert_eq!(dash.fault(None, Tolerance::PrintedDigits), None);
        assert!(dash.fault(Some(7.0), Tolerance::PrintedDigits).is_some());
    }

    #[test]
    fn percent_and_absolute_are_read() {
        assert_eq!(Tolerance::try_from("0.1 %".to_owned()), Ok(Tolerance::Percent(0.1)));
        assert_eq!(Tolerance::try_from("5".to_owned()), Ok(Tolerance::Absolute(5.0)));
        assert!(Tolerance::try_from("near".to_owned()).is_err());
        assert!(fault("100", 100.2, Tolerance::Percent(0.1)).is_some());
        assert_eq!(fault("100", 104.0, Tolerance::Absolute(5.0)), None);
    }
}
