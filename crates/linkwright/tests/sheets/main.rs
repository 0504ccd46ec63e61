//! Sheets as they come out of the press: what they say, how they look, and what happens when the press cannot print.
//!
//! Read by programs that are not ours: `pdftotext`, `pdftoppm` and `pdfinfo` (poppler), `qpdf`.

mod cards;
#[path = "../common/mod.rs"]
mod common;
mod hard;
mod of_the_rack;
mod press;
mod true_scale;
