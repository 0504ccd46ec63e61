//! The store under hard use: killed, given faults, tampered with, and written to by many at once.

mod child;
#[path = "../common/mod.rs"]
mod common;
mod crowd;
mod faults;
mod killed;
mod tampered;

/// The writer that other tests start as a program of its own.
#[test]
#[ignore = "started by other tests"]
fn child_writes() {
    child::write();
}
