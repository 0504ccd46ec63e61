//! Photos of made-up connectors on the measuring sheet, with all that is in them known.
//!
//! Test tool: it shares no code with the measuring. The sheet is read from its SVG, as a printer would.
#![warn(missing_docs)]

pub mod draw_lots;
pub mod film;
pub mod ink;
pub mod piece;
pub mod random;
pub mod scene;
pub mod stage;
pub mod study;
pub mod view;
