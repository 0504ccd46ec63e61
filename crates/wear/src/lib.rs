//! Wear: measured from photos and callipers, forecast against use.
//!
//! Knows nothing of databases and pages; opens no file, reads no clock, takes randomness as a seed.
