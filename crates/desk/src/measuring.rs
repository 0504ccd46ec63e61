//! Wear from photos: the measuring sheet out, a photo in, a depth or the reason for none out.

use crate::figures::{depth, percent, plain};
use crate::report::{cautions, section};
use crate::texts::Read;
use crate::{Surroundings, texts};
use std::io;
use terms::Length;
use wear::measure::{self, Measurement, Reference, Settings};
use wear::photo;
use wear::practice::{self, practice};
use wear::sheet::sheet;
use wear::trouble::{PhotoNote, Trouble};

mod json;
mod picture;

pub use json::json;
pub use picture::svg;

/// No more of a file is read: what is longer is refused as too large in any case.
const LONGEST_FILE: usize = 1 << 26;

/// The measuring sheet for a paper (`A4` or `Letter`) as an SVG document at true scale.
///
/// # Errors
/// What is wrong and what would be right, where there is no sheet for that paper.
pub fn measuring_sheet(paper: &str) -> Result<String, (String, String)> {
    let names = || sheet().paper.iter().map(|paper| paper.name.as_str()).collect::<Vec<_>>().join(", ");
    let fault = || texts::wear_fault("no-paper", &[("paper", paper.to_owned()), ("papers", names())]);
    let words = ["sheet", "sheet-edge"].map(|code| texts::wear_line(code, &[]));
    let found = sheet().paper(paper).ok_or_else(fault)?;
    Ok(sheet().svg(found, &words.each_ref().map(String::as_str)))
}

/// What to do with a sheet that was written.
#[must_use]
pub fn sheet_written(paper: &str, path: &str) -> String {
    let bar = plain(sheet().scale_bar_mm);
    texts::wear_line("sheet-written", &[("paper", paper.to_owned()), ("path", path.to_owned()), ("bar", bar)]) + "\n"
}

/// What is known beside the photos.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Known {
    /// Height of the bar over the paper, mm.
    pub bar_height_mm: Option<f64>,
    /// Length of the printed scale bar by a ruler, mm.
    pub scale_bar_mm: Option<f64>,
    /// Thickness of the sound bar in the direction of the pull, mm.
    pub bar_mm: Option<f64>,
}

impl Known {
    const fn settings(&self) -> Settings {
        Settings { bar_height_mm: self.bar_height_mm, scale_bar_mm: self.scale_bar_mm }
    }

    fn limit(&self) -> Length {
        practice::limit(self.bar_mm.map(Length::from_mm))
    }

    fn limit_source(&self) -> String {
        let is_share = self.limit().mm() < practice().limit_mm.value;
        let figure = if is_share { &practice().limit_share_of_bar } else { &practice().limit_mm };
        texts::source(&figure.source())
    }
}

/// A photo that was looked at.
#[derive(Debug, Clone)]
pub struct Looked {
    /// The file.
    pub photo: String,
    /// The file that it is compared with.
    pub against: Option<String>,
    /// What was known beside.
    pub known: Known,
    /// What came of it.
    pub outcome: Outcome,
    bytes: Vec<u8>,
}

/// What came of a photo.
#[derive(Debug, Clone)]
pub enum Outcome {
    /// There was nothing to compare it with; it would do.
    First {
        /// Marks of the sheet that were seen.
        marks: usize,
        /// How far from straight above it was taken, degrees.
        tilt_deg: f64,
    },
    /// The groove.
    Measured(Box<Measurement>),
    /// It, or the photo it is compared with, is not good enough.
    Refused {
        /// Which of the two files.
        photo: String,
        /// Why.
        trouble: Trouble,
    },
}

impl Looked {
    /// Whether the groove is at its limit, or may be.
    #[must_use]
    pub fn may_be_at_limit(&self) -> bool {
        matches!(&self.outcome, Outcome::Measured(found) if found.high_mm >= self.known.limit().mm())
    }

    /// Depth of the groove and the interval that holds it with 95 %, mm; all 0 for a first photo, nothing where it was refused.
    #[must_use]
    pub fn depth_mm(&self) -> Option<(f64, f64, f64)> {
        match &self.outcome {
            Outcome::First { .. } => Some((0.0, 0.0, 0.0)),
            Outcome::Measured(found) => Some((found.depth_mm, found.low_mm, found.high_mm)),
            Outcome::Refused { .. } => None,
        }
    }

    /// Whether there is no measurement because a photo is not good enough.
    #[must_use]
    pub const fn is_refused(&self) -> bool {
        matches!(self.outcome, Outcome::Refused { .. })
    }
}

/// A photo could not be read.
#[derive(Debug, thiserror::Error)]
#[error("{path} cannot be read: {why}")]
pub struct Unreadable {
    /// Which file.
    pub path: String,
    /// Why.
    pub why: io::Error,
}

/// What a photo is compared with.
#[derive(Debug, Clone)]
pub struct Against {
    /// The file, or the piece whose first photo it is.
    pub name: String,
    /// The photo.
    pub bytes: Vec<u8>,
}

/// The bytes of a photo in a file.
///
/// # Errors
/// Where the file cannot be read.
pub fn read_photo(surroundings: &dyn Surroundings, path: &str) -> Result<Vec<u8>, Unreadable> {
    surroundings.read_bytes(path, LONGEST_FILE).map_err(|why| Unreadable { path: path.to_owned(), why })
}

/// Measures the groove in a photo against another photo; without another it only says whether the photo would do.
///
/// # Errors
/// Where the file cannot be read. A photo that is not good enough is an [`Outcome`].
pub fn measure_file(
    surroundings: &dyn Surroundings,
    photo: &str,
    against: Option<Against>,
    known: Known,
) -> Result<Looked, Unreadable> {
    Ok(measure(read_photo(surroundings, photo)?, photo, against, known))
}

/// The same for a photo in hand; `photo` stands for it in what is told.
#[must_use]
pub fn measure(bytes: Vec<u8>, photo: &str, against: Option<Against>, known: Known) -> Looked {
    let refused = |photo: &str| {
        let photo = photo.to_owned();
        move |trouble| Outcome::Refused { photo, trouble }
    };
    let settings = known.settings();
    let outcome = match &against {
        None => first(&bytes, &settings).map_err(refused(photo)),
        Some(against) => {
            Reference::from_photo(&against.bytes, &settings).map_err(refused(&against.name)).and_then(|reference| {
                let found = measure::measure(&bytes, &reference, &settings).map_err(refused(photo))?;
                Ok(Outcome::Measured(Box::new(found)))
            })
        }
    };
    let outcome = outcome.unwrap_or_else(|refused| refused);
    Looked { photo: photo.to_owned(), against: against.map(|against| against.name), known, outcome, bytes }
}

fn first(bytes: &[u8], settings: &Settings) -> Result<Outcome, Trouble> {
    let reading = measure::read(bytes, settings)?;
    Ok(Outcome::First { marks: reading.marks.len(), tilt_deg: reading.camera.tilt_deg() })
}

fn fingertip() -> String {
    let (text, help) = texts::photo_note(PhotoNote::FeelTheEdge, 0.0, Read::InTerminal);
    format!("{text}\n  {help}\n")
}

/// The report as text for people.
#[must_use]
pub fn text(looked: &Looked, read: Read) -> String {
    let found = match &looked.outcome {
        Outcome::Refused { photo, trouble } => refused(photo, trouble),
        Outcome::First { marks, tilt_deg } => would_do(looked, *marks, *tilt_deg, read),
        Outcome::Measured(found) => measured(looked, found),
    };
    let notes: String = notes(looked, read).iter().map(|(_, text, help)| format!("  {text}\n    {help}\n")).collect();
    let sections = [found, fingertip(), section("What to know", notes), cautions()];
    let sections: Vec<String> = sections.into_iter().filter(|section| !section.is_empty()).collect();
    sections.join("\n")
}

fn refused(photo: &str, trouble: &Trouble) -> String {
    let (text, help) = texts::photo_trouble(trouble);
    let why = texts::wear_line("not-measured", &[("photo", photo.to_owned()), ("text", text)]);
    format!("{why}\n  {}\n", texts::wear_line("what-to-do", &[("help", help)]))
}

fn would_do(looked: &Looked, marks: usize, tilt_deg: f64, read: Read) -> String {
    let values =
        [("marks", marks.to_string()), ("of", sheet().mark.len().to_string()), ("tilt", format!("{tilt_deg:.0}"))];
    let next = texts::first_photo_next(&looked.photo, read);
    format!("{}\n{next}\n", texts::wear_line("first-photo", &values))
}

fn measured(looked: &Looked, found: &Measurement) -> String {
    let limit = looked.known.limit();
    let mut lines = vec![groove_line(found)];
    if let Some(bar_mm) = looked.known.bar_mm {
        let values = [("depth", depth(Length::from_mm(found.depth_mm))), ("share", percent(found.depth_mm / bar_mm))];
        lines.push(texts::wear_line("stress-share", &values));
    }
    lines.push(texts::wear_line("limit", &[("limit", depth(limit)), ("source", looked.known.limit_source())]));
    if found.depth_mm >= limit.mm() {
        lines.push(texts::wear_line("at-limit", &[]));
    } else if looked.may_be_at_limit() {
        lines.push(texts::wear_line("may-be-at-limit", &[]));
    }
    let plus_minus = depth(Length::from_mm(found.high_mm - found.depth_mm));
    let values = [("depth", depth(Length::from_mm(found.depth_mm))), ("plus_minus", plus_minus)];
    lines.push(texts::wear_line("for-record", &values));
    lines.join("\n") + "\n"
}

fn groove_line(found: &Measurement) -> String {
    let mm = |value: f64| depth(Length::from_mm(value));
    let values = [
        ("depth", mm(found.depth_mm)),
        ("low", mm(found.low_mm)),
        ("high", mm(found.high_mm)),
        ("width", format!("{:.1}", found.width_mm)),
    ];
    texts::wear_line(if found.low_mm > 0.0 { "groove" } else { "no-groove" }, &values)
}

/// Codes, words and help of what there is to know beside the fingertip test.
fn notes(looked: &Looked, read: Read) -> Vec<(&'static str, String, String)> {
    let Outcome::Measured(found) = &looked.outcome else { return Vec::new() };
    let notes = found.notes.iter().filter(|(note, _)| *note != PhotoNote::FeelTheEdge);
    notes
        .map(|(note, value)| {
            let (text, help) = texts::photo_note(*note, *value, read);
            (note.code(), text, help)
        })
        .collect()
}

/// The light of the photo again, for the picture.
fn light(looked: &Looked) -> Option<photo::Light> {
    photo::decode(&looked.bytes).ok()
}
