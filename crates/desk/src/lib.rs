//! The use cases of Linkwright, once, for every surface: the command line and the pages call these and no more.
//!
//! Everything outside comes in through one door, [`Surroundings`]. Every code becomes words here, from one file of
//! texts.

pub mod beginning;
pub mod board;
pub mod checking;
mod columns;
pub mod figures;
pub mod forecasting;
pub mod helper;
pub mod json;
pub mod measuring;
mod motion;
pub mod outing;
mod password;
pub mod picture;
pub mod rack;
pub mod reading;
pub mod remaining;
pub mod report;
pub mod sheets;
pub mod solving;
pub mod texts;
pub mod units;
pub mod wear_file;

use jiff::civil::Date;
use rig::model::RopeKind;
use std::io;
use std::time::Duration;

/// What somebody is taken to weigh of whom nothing else is known, kg: the mass of EN 892's drop test.
pub(crate) fn somebody_kg() -> f64 {
    rig::solve::drop_test(RopeKind::Single).mass
}

/// The one door to what is outside: files, clock and chance. Several requests may go through it at once.
pub trait Surroundings: Sync {
    /// The text of a file.
    ///
    /// # Errors
    /// Where it cannot be read or is not UTF-8.
    fn read(&self, path: &str) -> io::Result<String>;

    /// The bytes of a file, at most `most` and one more: a file that is longer is not read to its end.
    ///
    /// # Errors
    /// Where it cannot be read.
    fn read_bytes(&self, path: &str, most: usize) -> io::Result<Vec<u8>>;

    /// Whether there is something at a path.
    fn exists(&self, path: &str) -> bool;

    /// Writes a file whole or not at all.
    ///
    /// # Errors
    /// Where it cannot be written; what was there before then still is.
    fn write(&self, path: &str, text: &str) -> io::Result<()>;

    /// Writes bytes to a file whole or not at all.
    ///
    /// # Errors
    /// As [`Surroundings::write`].
    fn write_bytes(&self, path: &str, bytes: &[u8]) -> io::Result<()>;

    /// The civil date of today, where the user is.
    fn today(&self) -> Date;

    /// Hands an order to a helper program that stands beside this one or on the search path, and gives back all that it
    /// says.
    ///
    /// # Errors
    /// Where it is not there, ends badly, or takes longer than `limit`.
    fn ask_helper(&self, name: &str, order: &str, limit: Duration) -> Result<Vec<u8>, helper::HelperTrouble>;

    /// Told now and then how much of something long is done; whoever has nobody to show it to need not.
    fn progress(&self, _done: u64, _of: u64) {}

    /// Milliseconds since 1970 in UTC.
    fn now_ms(&self) -> i64;

    /// Bytes that nobody can guess.
    fn random(&self) -> [u8; 16];
}
