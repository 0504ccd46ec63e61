//! Drawings and plots as SVG, in one plain look: ink on paper with one accent, nothing said by colour alone.
//!
//! Numbers and names come in as plain structs, a document comes out; the same input gives the same bytes. A drawing
//! fits light and dark paper and prints in black and white; a page may set the custom properties of its style sheet
//! anew.
#![warn(missing_docs)]

pub mod connector;
pub mod elevation;
pub mod plate;
pub mod plot;
pub mod svg;
mod text;
mod ticks;
pub mod worn;
