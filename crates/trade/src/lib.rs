//! Connectors, markings, positions and policy, with their tables as data files.
//!
//! Knows nothing of where forces come from, of files or of databases.

pub mod anchor;
pub mod change;
pub mod checklist;
mod cited;
pub mod connector;
pub mod descent;
pub mod duty;
pub mod friction;
pub mod gear;
pub mod hand;
pub mod marking;
pub mod part;
pub mod policy;
pub mod position;
pub mod rack;
pub mod rope;
pub mod sling;
pub mod standards;
