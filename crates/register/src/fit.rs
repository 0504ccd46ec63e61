//! What goes with what, by the maker's instructions as they were typed for a model.

use crate::event::{Description, Fit, Model};
use terms::Reason;

/// Whether something goes with a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fits {
    /// The instructions allow it.
    Yes,
    /// What is typed of the instructions, or known of the other piece, does not tell.
    Unknown,
    /// The instructions do not allow it.
    No,
}

/// Whether something goes with a model, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitting {
    /// Whether it does.
    pub fits: Fits,
    /// Why, in the order of what was looked at.
    pub reasons: Vec<Reason>,
}

/// Whether `other` goes with a model in a mode of use, such as a rope with a belay device in guide mode. Where the instructions
/// have several lines for it, one that allows it is enough; a line without a mode is for every mode.
#[must_use]
pub fn fitting(model: &Model, other: &Description, mode: Option<&str>) -> Fitting {
    let is_for =
        |fit: &&Fit| Some(&fit.with) == other.gear.as_ref() && (fit.mode.is_none() || fit.mode.as_deref() == mode);
    let lines = model.fits.iter().filter(is_for).map(|fit| by_line(fit, other));
    lines.min_by_key(|fitting| fitting.fits).unwrap_or_else(|| not_given(other, mode))
}

fn not_given(other: &Description, mode: Option<&str>) -> Fitting {
    let gear = other.gear.as_deref().unwrap_or("gear of an unknown kind");
    let with = mode.map_or_else(|| gear.to_owned(), |mode| format!("{gear} in mode {mode}"));
    Fitting { fits: Fits::Unknown, reasons: vec![Reason::FitNotGiven { with }] }
}

fn by_line(fit: &Fit, other: &Description) -> Fitting {
    let answers: Vec<_> = [
        diameter(fit, other),
        one_of(&fit.shapes, other.shape.as_ref(), "shape", |shape, allowed| match allowed {
            None => Reason::ShapeAllowed { shape },
            Some(allowed) => Reason::ShapeNotAllowed { shape, allowed },
        }),
        one_of(&fit.locks, other.lock.as_ref(), "gate action", |lock, allowed| match allowed {
            None => Reason::LockAllowed { lock },
            Some(allowed) => Reason::LockNotAllowed { lock, allowed },
        }),
    ]
    .into_iter()
    .flatten()
    .collect();
    let fits = answers.iter().map(|(fits, _)| *fits).max().unwrap_or(Fits::Yes);
    Fitting { fits, reasons: answers.into_iter().map(|(_, reason)| reason).collect() }
}

fn diameter(fit: &Fit, other: &Description) -> Option<(Fits, Reason)> {
    let (least, most) = fit.diameter_um?;
    let Some(diameter) = other.diameter_um else {
        return Some((Fits::Unknown, Reason::FitUnknown { what: "diameter" }));
    };
    let [diameter_mm, least_mm, most_mm] = [diameter, least, most].map(|um| f64::from(um) / 1000.0);
    Some(match (least..=most).contains(&diameter) {
        true => (Fits::Yes, Reason::DiameterFits { diameter_mm, least_mm, most_mm }),
        false => (Fits::No, Reason::DiameterOutside { diameter_mm, least_mm, most_mm }),
    })
}

fn one_of(
    allowed: &[String],
    own: Option<&String>,
    what: &'static str,
    reason: impl Fn(String, Option<String>) -> Reason,
) -> Option<(Fits, Reason)> {
    let own = match (allowed, own) {
        ([], _) => return None,
        (_, None) => return Some((Fits::Unknown, Reason::FitUnknown { what })),
        (_, Some(own)) => own,
    };
    let is_allowed = allowed.contains(own);
    let others = (!is_allowed).then(|| allowed.join(", "));
    Some((if is_allowed { Fits::Yes } else { Fits::No }, reason(own.clone(), others)))
}
