//! Rope and sling response, rest and falls. Numbers in, numbers out: SI units throughout (N, m, kg, s, rad).
//!
//! Three questions are answered here, each by one function:
//!
//! - [`rest::solve`]: where does a net of slings and ropes come to rest under steady loads, and what pulls where?
//! - [`running::solve`]: the same with ropes that are steadily on the move, so that friction has a direction;
//! - [`fall::run`]: what does a fall bring, moment by moment?
//!
//! Knows nothing of gear, files or clocks.

pub mod capstan;
pub mod fall;
mod flow;
pub mod number;
pub mod rest;
pub mod rope;
pub mod running;
pub mod sheet;
pub mod vector;

/// Standard gravity in m/s², exact (CGPM 1901, resolution 2).
pub const GRAVITY: f64 = 9.80665;
