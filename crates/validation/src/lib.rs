//! Outside checks: published figures against what the project computes.
//!
//! `validation/AREA/CASE/case.toml` says what a source gives and how closely it has to be met; [`run`] computes the
//! same, [`report`] writes `VALIDATION.md`, [`ledger`] accounts for every entry of the reference, and [`contract`] runs
//! the rigs of the contract. `validation/README.md` describes the files.

mod beam;
pub mod case;
pub mod contract;
pub mod engine;
pub mod figure;
pub mod ledger;
mod measure;
pub mod rack;
pub mod report;
mod ropes;
pub mod run;
mod sweep;
mod tables;

use std::path::{Path, PathBuf};

/// The top of the checkout.
#[must_use]
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The folder of the cases.
#[must_use]
pub fn folder() -> PathBuf {
    top().join("validation")
}

/// Reads a text file, or says which could not be read.
///
/// # Errors
/// Names the file and what the system said.
pub fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}
