//! Sheets for the wall and the cliff: an order in, a PDF out.
//!
//! ```text
//!   order (JSON) ─▶ world: templates, files and fonts of the order, and nothing else ─▶ layout ─▶ PDF
//! ```
//!
//! The same order gives the same bytes: no clock, no file and no font of the machine is looked at but those that the
//! order names.

pub mod order;
pub mod printing;
mod world;
