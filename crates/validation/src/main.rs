//! Writes `VALIDATION.md` anew.

use std::process::ExitCode;

use validation::{case, ledger, report};

fn main() -> ExitCode {
    match write() {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::FAILURE
        }
    }
}

fn write() -> Result<(), String> {
    let page = report::page(&case::all()?, &ledger::read()?)?;
    std::fs::write(report::path(), page).map_err(|error| format!("{}: {error}", report::path().display()))
}
