//! Wear of a connector: how deep a groove is, from a photo on the measuring sheet, and what that means for its use.
//!
//! Bytes and numbers in, numbers out: nothing here opens a file or reads a clock.
#![warn(missing_docs)]

pub mod align;
pub mod camera;
pub mod groove;
mod linear;
pub mod marks;
pub mod measure;
pub mod photo;
mod plane;
pub mod sheet;
pub mod silhouette;
mod table;
pub mod trouble;

pub mod calliper;
pub mod exposure;
pub mod forecast;
pub mod kind;
pub mod practice;
pub mod regression;
pub mod section;
pub mod student;
