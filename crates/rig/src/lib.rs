//! Rig files, bands, check and helpful changes: where mechanics meets trade.

pub mod band;
pub mod change;
pub mod check;
mod falling;
pub mod file;
mod giving;
pub mod ground;
pub mod joined;
pub mod loss;
pub mod model;
pub mod moving;
pub mod running;
pub mod scene;
pub mod solve;
mod stops;
mod tension;

pub use file::read;
