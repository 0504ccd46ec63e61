//! Numbers for people: two figures and a band, never three decimals.

use crate::texts;
use terms::{Force, Length};

/// A number with two significant figures, and no more than two decimals.
#[must_use]
pub fn two_figures(value: f64) -> String {
    match value.abs() {
        size if size < 0.005 => "0".to_owned(),
        size if size < 0.995 => format!("{value:.2}"),
        size if size < 9.95 => format!("{value:.1}"),
        size if size < 99.5 => format!("{value:.0}"),
        _ => format!("{:.0}", (value / 10.0).round() * 10.0),
    }
}

/// The most that a margin is told as a figure: what bears a hundred times what it sees is as good as unloaded.
const MOST_MARGIN: f64 = 100.0;

/// A margin with two significant figures; beyond a hundred it is no figure any more.
#[must_use]
pub fn margin(margin: f64) -> String {
    if margin > MOST_MARGIN {
        texts::line("margin-over", &[("most", two_figures(MOST_MARGIN))])
    } else {
        two_figures(margin)
    }
}

/// A force in kN.
#[must_use]
pub fn force(force: Force) -> String {
    format!("{} kN", two_figures(force.kn()))
}

/// A strength as marked, in kN: what is stamped is shown as it is stamped.
#[must_use]
pub fn strength(force: Force) -> String {
    let text = format!("{:.1}", force.kn());
    format!("{} kN", text.trim_end_matches(".0"))
}

/// A band of forces in kN; one number where both ends read the same.
#[must_use]
pub fn band(least: Force, most: Force) -> String {
    let (least, most) = (two_figures(least.kn()), two_figures(most.kn()));
    if least == most { format!("{most} kN") } else { format!("{least} to {most} kN") }
}

/// A mass in g or, from a thousand on, in kg.
#[must_use]
pub fn mass(grams: i64) -> String {
    if grams < 1000 { format!("{grams} g") } else { format!("{:.2} kg", grams as f64 / 1000.0) }
}

/// A length in metres or, below one, centimetres.
#[must_use]
pub fn length(length: Length) -> String {
    if length.m() < 0.995 { format!("{:.0} cm", length.m() * 100.0) } else { format!("{:.1} m", length.m()) }
}

/// A height in metres, to a decimetre.
#[must_use]
pub fn height(metres: f64) -> String {
    let text = format!("{metres:.1}");
    format!("{} m", if text == "-0.0" { "0.0" } else { &text })
}

/// A depth or thickness in mm, to a hundredth, without its unit.
#[must_use]
pub fn depth(length: Length) -> String {
    format!("{:.2}", length.mm())
}

/// A number to a hundredth, or in millions.
#[must_use]
pub fn plain(value: f64) -> String {
    if value.abs() >= 1e5 {
        return format!("{} million", two_figures(value / 1e6));
    }
    format!("{value:.2}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A whole number, downwards to two figures.
#[must_use]
pub fn count(number: u64) -> String {
    let power = number.checked_ilog10().unwrap_or(0).saturating_sub(1);
    let step = 10_u64.pow(power);
    (number / step * step).to_string()
}

/// A share as a percentage of two figures; small ones as a bound.
#[must_use]
pub fn percent(share: f64) -> String {
    if share < 1e-4 { "less than 0.01 %".to_owned() } else { format!("{} %", two_figures(share * 100.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_get_two_figures() {
        for (value, text) in
            [(0.0, "0"), (0.4782, "0.48"), (6.0379, "6.0"), (9.97, "10"), (22.0, "22"), (1234.0, "1230")]
        {
            assert_eq!(two_figures(value), text);
        }
    }

    #[test]
    fn a_margin_beyond_a_hundred_is_no_figure() {
        let told = [0.86, 2.0, 99.4, 100.0, 100.1, 4010.0, f64::INFINITY].map(margin);
        assert_eq!(told, ["0.86", "2.0", "99", "100", "over 100", "over 100", "over 100"]);
    }

    #[test]
    fn a_band_whose_ends_read_the_same_is_one_number() {
        assert_eq!(band(Force::from_kn(5.91), Force::from_kn(6.31)), "5.9 to 6.3 kN");
        assert_eq!(band(Force::from_kn(5.96), Force::from_kn(6.04)), "6.0 kN");
    }

    #[test]
    fn counts_are_told_downwards() {
        let cases = [(0, "0"), (7, "7"), (99, "99"), (199, "190"), (1999, "1900"), (u64::MAX, "18000000000000000000")];
        for (number, text) in cases {
            assert_eq!(count(number), text);
        }
        assert_eq!([plain(97.3), plain(100.0), plain(6e7)], ["97.3", "100", "60 million"]);
    }

    #[test]
    fn marks_are_shown_as_stamped() {
        assert_eq!(strength(Force::from_kn(22.0)), "22 kN");
        assert_eq!(strength(Force::from_kn(7.5)), "7.5 kN");
    }
}
