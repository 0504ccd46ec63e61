//! Rig files, bands, check and helpful changes: where mechanics meets trade.

pub mod model;
