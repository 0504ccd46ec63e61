//! Benches only; see `benches/`. They live apart so that nothing else waits for the bench harness to build.

pub mod outing;
pub mod questions;
pub mod rack;
