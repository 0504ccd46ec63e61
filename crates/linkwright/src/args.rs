//! What can be typed.

use clap::{Args as ClapArgs, Parser, Subcommand};

/// Forces in a rig of ropes, slings and connectors, against what every link bears in each position it can slip into.
///
/// Estimates only: the maker's instructions, local rules and a qualified person come first.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Compute what every link of a rig file sees, and compare it with what it bears.
    ///
    /// Exit status: 0; 1 where something is over its rating as intended or in a way the policy counts; 2 where the
    /// input is at fault.
    Check(CheckArgs),
    /// Read what is stamped on a connector, typed as people type it: arrows, kN or lbf, any order; `?` for what
    /// cannot be read.
    Read(ReadArgs),
    /// Print the JSON Schema of the rig file.
    Schema,
}

/// What to check, and how to tell.
#[derive(Debug, ClapArgs)]
pub struct CheckArgs {
    /// The rig file (TOML).
    pub file: String,
    /// Print one JSON object instead of the report.
    #[arg(long)]
    pub json: bool,
    /// Draw the rig to scale, with loads and margins, as an SVG file.
    #[arg(long, value_name = "FILE.svg")]
    pub drawing: Option<String>,
    /// Judge by this policy file (TOML) instead of the one inside.
    #[arg(long, value_name = "FILE")]
    pub policy: Option<String>,
}

/// What to read, and how to tell.
#[derive(Debug, ClapArgs)]
pub struct ReadArgs {
    /// The marking, such as "EN 12275 (H) <-> 24 kN, open 8, cross 7 CE 0123".
    pub marking: String,
    /// Print one JSON object instead of the plate and notes.
    #[arg(long)]
    pub json: bool,
    /// Draw the plate as an SVG file.
    #[arg(long, value_name = "FILE.svg")]
    pub drawing: Option<String>,
}
