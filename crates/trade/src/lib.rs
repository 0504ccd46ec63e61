//! Connectors, markings, positions and policy, with their tables as data files.
//!
//! Knows nothing of where forces come from, of files or of databases.

pub mod connector;
