//! The use cases of Linkwright, once, for every surface: the command line and the pages call these and no more.
//!
//! Everything outside comes in through one door, [`Surroundings`]. Every code becomes words here, from one file of
//! texts.

pub mod beginning;
pub mod checking;
pub mod figures;
pub mod json;
pub mod picture;
pub mod reading;
pub mod report;
pub mod texts;

use std::io;

/// The one door to what is outside: files now; clock, seed and helpers when they are needed.
pub trait Surroundings {
    /// The text of a file.
    ///
    /// # Errors
    /// Where it cannot be read or is not UTF-8.
    fn read(&self, path: &str) -> io::Result<String>;

    /// Whether there is something at a path.
    fn exists(&self, path: &str) -> bool;

    /// Writes a file whole or not at all.
    ///
    /// # Errors
    /// Where it cannot be written; what was there before then still is.
    fn write(&self, path: &str, text: &str) -> io::Result<()>;
}
