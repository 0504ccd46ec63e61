//! Outings: which pieces go to which duty, stated as an integer programme, and what a choice has to meet.
//!
//! ```text
//!   outing ─▶ statement ─▶ programme ─▶ (a solver) ─▶ solution ─▶ choice ─▶ checker
//! ```
//! Solving is the work of a helper program; nothing here knows how it does that.

pub mod checker;
pub mod choice;
pub mod outing;
pub mod programme;
pub mod statement;
