//! The rack and its log: every piece, what it went through, what it may still do.
//!
//! ```text
//!   what happened ─▶ event ─▶ entry ─▶ store      the log is the truth: append-only, each entry chained to the one before
//!                                        │
//!                             history ◀──┘        corrections applied
//!                                │
//!                 piece, kit, group, cases        the log folded: what is known of each thing, and of the whole rack
//!                                │
//!       policy (trade) ─▶ standing ─▶ summary     a pure function of a piece's log, the policy and a date; a row of a list
//! ```
//!
//! [`event`] says what can happen, [`entry`] how it is written down and chained, [`private`] how names, free text and
//! photos stand beside the log so that they can be erased and the chain still holds. [`standing`] says what a piece may still
//! do, [`recall`] whether it is called back, [`fit`] what goes with it.

pub mod cases;
pub mod entry;
pub mod event;
pub mod fit;
pub mod group;
pub mod history;
pub mod id;
pub mod kit;
pub mod moment;
pub mod piece;
pub mod private;
pub mod recall;
pub mod standing;
pub mod store;
pub mod summary;
