//! What came of a photo as one JSON object.

use super::{Looked, Outcome, fingertip, notes};
use crate::texts::{self, Read};
use serde::Serialize;
use wear::measure::Measurement;

#[derive(Serialize)]
struct Answer {
    photo: String,
    against: Option<String>,
    measured: Option<Measured>,
    first_photo: Option<First>,
    refused: Option<Refused>,
    limit_mm: f64,
    limit_source: String,
    may_be_at_limit: bool,
    fingertip: String,
    notes: Vec<Note>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct Measured {
    depth_mm: f64,
    low_mm: f64,
    high_mm: f64,
    share_of_bar: Option<f64>,
    width_mm: f64,
    along_mm: f64,
    profile: Vec<Place>,
}

#[derive(Serialize)]
struct Place {
    along_mm: f64,
    depth_mm: f64,
}

#[derive(Serialize)]
struct First {
    marks: usize,
    tilt_deg: f64,
}

#[derive(Serialize)]
struct Refused {
    photo: String,
    code: &'static str,
    text: String,
    help: String,
    found: f64,
    allowed: f64,
}

#[derive(Serialize)]
struct Note {
    code: &'static str,
    text: String,
    help: String,
}

/// The answer as one JSON object.
#[must_use]
pub fn json(looked: &Looked) -> String {
    crate::json::written(&answer(looked))
}

fn answer(looked: &Looked) -> Answer {
    let outcome = &looked.outcome;
    Answer {
        photo: looked.photo.clone(),
        against: looked.against.clone(),
        measured: if let Outcome::Measured(found) = outcome { Some(measured(looked, found)) } else { None },
        first_photo: if let Outcome::First { marks, tilt_deg } = *outcome {
            Some(First { marks, tilt_deg })
        } else {
            None
        },
        refused: if let Outcome::Refused { photo, trouble } = outcome { Some(refused(photo, trouble)) } else { None },
        limit_mm: looked.known.limit().mm(),
        limit_source: looked.known.limit_source(),
        may_be_at_limit: looked.may_be_at_limit(),
        fingertip: fingertip(),
        notes: notes(looked, Read::InTerminal)
            .into_iter()
            .map(|(code, text, help)| Note { code, text, help })
            .collect(),
        cautions: texts::cautions(),
    }
}

fn measured(looked: &Looked, found: &Measurement) -> Measured {
    let place = |depth: &wear::groove::Depth| Place { along_mm: depth.along_mm, depth_mm: depth.depth_mm };
    Measured {
        depth_mm: found.depth_mm,
        low_mm: found.low_mm,
        high_mm: found.high_mm,
        share_of_bar: looked.known.bar_mm.map(|bar_mm| found.depth_mm / bar_mm),
        width_mm: found.width_mm,
        along_mm: found.along_mm,
        profile: found.profile.iter().map(place).collect(),
    }
}

fn refused(photo: &str, trouble: &wear::trouble::Trouble) -> Refused {
    let (text, help) = texts::photo_trouble(trouble);
    Refused {
        photo: photo.to_owned(),
        code: trouble.code.code(),
        text,
        help,
        found: trouble.found,
        allowed: trouble.allowed,
    }
}
