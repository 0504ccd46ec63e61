//! A rig file begun from questions.

use crate::Surroundings;
use rig::scene::{Answers, BadAnswer, Scene, write};
use std::io;

/// Why a rig file could not be begun.
#[derive(Debug, thiserror::Error)]
pub enum NotBegun {
    /// An answer that does not do.
    #[error("{0}")]
    Answer(BadAnswer),
    /// The file is there already, and is left as it is.
    #[error("{path} is there already")]
    Exists {
        /// Which file.
        path: String,
    },
    /// The file cannot be written.
    #[error("{path} cannot be written: {why}")]
    Unwritable {
        /// Which file.
        path: String,
        /// Why.
        why: io::Error,
    },
}

/// The rig file of a scene with the given answers.
///
/// # Errors
/// [`NotBegun::Answer`].
pub fn begin(scene: Scene, answers: &Answers) -> Result<String, NotBegun> {
    write(scene, answers).map_err(NotBegun::Answer)
}

/// The same, written to a file that must not be there yet.
///
/// # Errors
/// [`NotBegun`]; then nothing was written.
pub fn begin_file(
    surroundings: &dyn Surroundings,
    path: &str,
    scene: Scene,
    answers: &Answers,
) -> Result<(), NotBegun> {
    let text = begin(scene, answers)?;
    if surroundings.exists(path) {
        return Err(NotBegun::Exists { path: path.to_owned() });
    }
    surroundings.write(path, &text).map_err(|why| NotBegun::Unwritable { path: path.to_owned(), why })
}
