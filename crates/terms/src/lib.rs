//! The words that every room shares: quantities, findings, sources and cautions.
//!
//! Nothing here knows about ropes, files or pages.

mod caution;
mod coded;
mod finding;
mod quantity;
mod reason;
mod source;

pub use caution::Caution;
pub use finding::{Finding, How};
pub use quantity::{Angle, Force, Length, Mass, POUND_FORCE, STANDARD_GRAVITY};
pub use reason::{Reason, ReasonEntry};
pub use source::{Quality, Source};
