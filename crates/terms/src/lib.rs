//! The words that every room shares: quantities, findings, sources and cautions.
//!
//! Nothing here knows about ropes, files or pages.

mod finding;
mod quantity;
mod source;

pub use finding::{Finding, How};
pub use quantity::{Angle, Force, Length, Mass, POUND_FORCE, STANDARD_GRAVITY};
pub use source::{Quality, Source};
