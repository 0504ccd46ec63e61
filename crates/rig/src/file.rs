//! Rig files: TOML in, a [`Rig`] with every name resolved and every quantity in range out, or all that is wrong.

mod fault;
mod form;
mod format;
mod grounds;
mod names;
mod resolve;
mod running;
mod seats;
mod tables;
mod values;
mod words;

use std::sync::LazyLock;

use serde_json::Value;

pub use fault::{Fault, FaultCode, Faults, Report};
pub use format::Format;
pub(crate) use grounds::GROUND;
use tables::RigFile;
pub use values::Placed;

use crate::model::Rig;

static FORMAT: LazyLock<Format<RigFile>> = LazyLock::new(|| Format::new("rig file"));

/// Reads a rig file. `file_name` is only used to say where a fault is.
///
/// ```
/// let faults = rig::read("case = \"rest\"\nfriction = -0.2\n", "slab.toml").unwrap_err();
/// assert!(faults.to_string().starts_with("slab.toml:2:12: `friction` = -0.2 is out of range; "));
/// ```
///
/// # Errors
/// As [`Format::read`].
pub fn read(text: &str, file_name: &str) -> Result<Rig, Faults> {
    FORMAT.read(text, file_name, resolve::resolve)
}

/// The JSON Schema of rig files (draft 2020-12).
#[must_use]
pub fn schema() -> Value {
    FORMAT.schema().clone()
}
