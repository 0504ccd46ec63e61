//! What is stamped on a connector, read from text as people type it: arrows and gate pictograms or words for them,
//! kN or lbf, in any order, half legible.
//!
//! A number is read only if it can mean one thing. What is damaged, has no position or is stamped twice differently
//! stays as it was typed, and no class minimum is put in its place.

mod amount;
mod assemble;
mod judge;
mod lexer;
mod note;
mod pairing;
mod plate;
mod reading;
mod token;
mod words;

pub use assemble::read;
pub use note::{MarkKind, MarkNote, NoteKind};
pub use plate::{Plate, PlateLine, PlateSymbol};
pub use reading::{Conformity, ConformitySign, Mark, NamedStandard, RatedPosition, RatingSet, Reading};

/// The names of all marks that can be recognised, in the order in which they are tried.
#[must_use]
pub fn recognisers() -> Vec<&'static str> {
    token::RECOGNISERS.iter().map(|recogniser| recogniser.name).collect()
}
