//! What a groove does to the stress in a bent bar: a ratio with its limits, never a strength.

use crate::figures::{depth, percent, two_figures};
use crate::report::{cautions, section};
use crate::texts;
use crate::wear_file::Bar;
use serde::Serialize;
use terms::Length;
use wear::section::{RatioLimit, stress_ratio};

/// How the largest stress changes, and what that does not know.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remaining {
    /// Depth of the groove, mm.
    pub groove_mm: f64,
    /// The depth as a share of the bar.
    pub share_of_bar: f64,
    /// Largest stress, grooved to sound, under the same load: the least of two ways to load the bend.
    pub stress_ratio_least: f64,
    /// The most of them.
    pub stress_ratio_most: f64,
    /// What the ratio does not know.
    pub limits: Vec<&'static str>,
}

/// What a groove does to a bar; `None` where its thickness or bend is not known, or they do not go together.
#[must_use]
pub fn remaining(bar: &Bar, groove: Length) -> Option<Remaining> {
    let (shape, inside) = bar.bent()?;
    let ratio = stress_ratio(shape, inside, groove)?;
    Some(Remaining {
        groove_mm: groove.mm(),
        share_of_bar: groove.mm() / shape.depth().mm(),
        stress_ratio_least: ratio.least(),
        stress_ratio_most: ratio.most(),
        limits: RatioLimit::ALL.iter().copied().map(texts::ratio_limit).collect(),
    })
}

impl Remaining {
    /// In one line.
    #[must_use]
    pub fn line(&self) -> String {
        let figures = [self.stress_ratio_least, self.stress_ratio_most].map(|ratio| format!("{ratio:.2}"));
        let [low, high] = figures;
        let code = if low == high { "stress-one" } else { "stress" };
        let groove = depth(Length::from_mm(self.groove_mm));
        texts::wear_line(code, &[("depth", groove), ("low", low), ("high", high)])
    }

    fn share(&self) -> String {
        let groove = two_figures(self.groove_mm);
        texts::wear_line("stress-share", &[("depth", groove), ("share", percent(self.share_of_bar))])
    }

    /// What it does not know, a line each.
    pub(crate) fn limits(&self) -> String {
        self.limits.iter().map(|limit| format!("  {limit}\n")).collect()
    }
}

/// What a groove so deep (mm) does to a bar, as text for people.
///
/// # Errors
/// What is wrong and what would be right, where bar, bend and groove do not go together.
pub fn text(bar: &Bar, groove_mm: f64) -> Result<String, (String, String)> {
    let remaining = found(bar, groove_mm)?;
    let edge = texts::forecast_note(wear::forecast::ForecastNote::FeelTheEdge).0;
    let sections = [
        format!("{}\n{}\n{edge}\n", remaining.line(), remaining.share()),
        section("What this does not know", remaining.limits()),
        cautions(),
    ];
    Ok(sections.join("\n"))
}

#[derive(Serialize)]
struct Answer {
    #[serde(flatten)]
    remaining: Remaining,
    fingertip: String,
    cautions: Vec<String>,
}

/// The same as one JSON object.
///
/// # Errors
/// As [`text`].
pub fn json(bar: &Bar, groove_mm: f64) -> Result<String, (String, String)> {
    let fingertip = texts::forecast_note(wear::forecast::ForecastNote::FeelTheEdge).0;
    let answer = Answer { remaining: found(bar, groove_mm)?, fingertip, cautions: texts::cautions() };
    Ok(crate::json::written(&answer))
}

fn found(bar: &Bar, groove_mm: f64) -> Result<Remaining, (String, String)> {
    remaining(bar, Length::from_mm(groove_mm)).ok_or_else(|| texts::wear_fault("no-stress", &[]))
}
