//! What can be typed.

use crate::rack::args::{self as rack, On};
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use desk::units::Units;
use std::time::Duration;

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
    /// Serve the pages: rack, inspections, the drawing board, the handbook, in a browser on this machine.
    ///
    /// They answer on the loopback alone, and stop on an interrupt once what was begun is done.
    Serve(ServeArgs),
    /// Print the JSON Schema of a kind of file.
    Schema {
        /// Of which.
        #[arg(default_value = "rig")]
        of: SchemaOf,
    },
    /// Measure wear from photos, forecast it against use, and see what it leaves of a bar.
    #[command(subcommand)]
    Wear(WearCommand),
    /// The right pieces for a day: plan it, swap what is missing, see what margin weighs, book it, compare what to buy.
    #[command(subcommand)]
    Outing(OutingCommand),
    /// Print a sheet as a PDF: tagged for screen readers, the same bytes for the same input.
    Sheet(SheetArgs),
    /// The pieces: list, show, add, describe, divide, replace a part, describe a model.
    Rack(On<rack::Rack>),
    /// What happened: a day of use, a drop, an exposure, … and slips corrected.
    Log(On<rack::Log>),
    /// Inspect by the check-list of the kind: by keys piece by piece, or by options for many at once.
    Inspect(rack::Inspect),
    /// What is to be inspected, overdue first; as a calendar with --ics.
    ///
    /// Exit status: 1 where something is overdue.
    Due(rack::Due),
    /// Kits: put together, out, back short or wet.
    Kit(On<rack::Kit>),
    /// Incidents: evidence put aside, what was on that rope, a frozen record.
    Incident(On<rack::Incident>),
    /// Recalls: every piece that meets one or cannot be excluded, settled one by one.
    Recall(On<rack::Recall>),
    /// Accounts: who may sign in on the pages of `serve --accounts`. They are no part of the log and in no backup.
    Account(On<rack::Account>),
    /// People, and what they may sign.
    People(On<rack::People>),
    /// The group's policy.
    Policy(On<rack::Policy>),
    /// Look through the whole log: is it what was written?
    ///
    /// Exit status: 1 where it is not.
    Verify(rack::Verify),
    /// Write a backup to a new file.
    Backup(rack::OneFile),
    /// Take a backup back into a place where no store is yet.
    Restore(rack::OneFile),
    /// Enter pieces from a sheet or JSON: all of them or none.
    Import(rack::Import),
    /// Write the pieces to a sheet (.csv) or JSON (.json), or the whole log (.jsonl).
    Export(rack::OneFile),
}

/// Which rack, and where its pages are to be.
#[derive(Debug, ClapArgs)]
pub struct ServeArgs {
    /// The store of the rack: a file, or a postgres:// address [without it: LINKWRIGHT_STORE, or a file in the user's data folder].
    #[arg(long, value_name = "PLACE")]
    pub store: Option<String>,
    /// The port; 0 for any that is free.
    #[arg(long, default_value_t = 7410)]
    pub port: u16,
    /// The address of this machine to listen on; beyond the loopback only over HTTPS, and with --accounts or --shared-pass.
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1")]
    pub listen: std::net::IpAddr,
    /// Let people sign in, each with an account (`linkwright account add`): entries bear their names, and what they may do is what `people
    /// allow` gave them.
    #[arg(long, conflicts_with_all = ["shared_pass", "writer"])]
    pub accounts: bool,
    /// Let in beyond the loopback whoever opens the address that is printed, with the pass in it (LINKWRIGHT_PASS, or made up at each
    /// start). All of them may do everything, and write as one.
    #[arg(long)]
    pub shared_pass: bool,
    /// A name under which the pages are opened, besides the address; several by commas.
    #[arg(long, value_name = "NAME", value_delimiter = ',')]
    pub name: Vec<String>,
    /// The certificate to serve HTTPS with, a file in PEM; whoever signed others stands in it below. A phone keeps pages for where
    /// there is no signal only if it trusts who signed it.
    #[arg(long, value_name = "FILE", requires = "tls_key")]
    pub tls_cert: Option<String>,
    /// The certificate's key, a file in PEM.
    #[arg(long, value_name = "FILE", requires = "tls_cert")]
    pub tls_key: Option<String>,
    /// Who writes [without it: LINKWRIGHT_WRITER, or the owner].
    #[arg(long, value_name = "NAME")]
    pub writer: Option<String>,
}

/// Which sheet, and on what paper.
#[derive(Debug, ClapArgs)]
pub struct SheetArgs {
    /// Which sheet.
    #[command(subcommand)]
    pub kind: SheetKind,
    /// The PDF to write.
    #[arg(long, global = true, value_name = "FILE.pdf", default_value = "sheet.pdf")]
    pub out: String,
    /// The paper.
    #[arg(long, global = true, value_name = "A4|Letter", default_value = "A4")]
    pub paper: String,
    /// A template of your own in place of the one of the same file name (may be given again).
    #[arg(long, global = true, value_name = "FILE.typ")]
    pub template: Vec<String>,
    /// A font file, for a script that the bundled fonts lack (may be given again).
    #[arg(long, global = true, value_name = "FILE")]
    pub font: Vec<String>,
    /// The date that the sheet bears; today where left out.
    #[arg(long, global = true, value_name = "2026-11-25")]
    pub date: Option<String>,
}

/// The sheets there are.
#[derive(Debug, Subcommand)]
pub enum SheetKind {
    /// A rig as built: the drawing to scale, the links worst first, what to look at before weighting it.
    RigCard {
        /// The rig file (TOML).
        file: String,
        /// Judge by this policy file (TOML) instead of the one inside.
        #[arg(long, value_name = "FILE")]
        policy: Option<String>,
        /// What it tells values in.
        #[command(flatten)]
        units: UnitsArg,
    },
    /// A connector drawn, its parts named, its plate, each position with what it bears and why.
    TeachingCard {
        /// The marking, as for `linkwright read`.
        marking: String,
        /// pear, D, offset-D, oval or quick-link.
        #[arg(long, default_value = "pear")]
        shape: String,
        /// solid or wire.
        #[arg(long, default_value = "solid")]
        gate: String,
        /// none, screw, two-action or three-action.
        #[arg(long, default_value = "screw")]
        lock: String,
        /// hooked or hookless.
        #[arg(long, default_value = "hookless")]
        nose: String,
        /// none, elastic or bar.
        #[arg(long, default_value = "none")]
        keeper: String,
    },
    /// Labels with a short code and one to scan, on label paper given by its measures.
    Labels {
        /// Labels such as C-001, and ranges such as C-001..C-040.
        #[arg(required = true)]
        labels: Vec<String>,
        /// What stands before each label in the code to scan, such as the address of your own pages.
        #[arg(long, default_value = "")]
        opens: String,
        /// Width and height of a label in mm.
        #[arg(long, value_name = "WxH", default_value = "38.1x21.2")]
        size_mm: String,
        /// Labels side by side.
        #[arg(long, default_value_t = 5)]
        across: usize,
        /// From the left and the top edge of the sheet to the first label, in mm.
        #[arg(long, value_name = "XxY", default_value = "9.75x10.7")]
        from_mm: String,
        /// Between labels side by side and one below another, in mm.
        #[arg(long, value_name = "XxY", default_value = "0x0")]
        gap_mm: String,
    },
    /// The sheet to measure wear on, at true scale: print it at 100 %.
    MeasuringSheet,
    /// Those of what the rack knows.
    #[command(flatten)]
    OfTheRack(RackSheet),
}

/// The sheets of what the rack knows.
#[derive(Debug, Subcommand)]
pub enum RackSheet {
    /// What is on record: of one piece its whole history, of many the latest inspection each.
    InspectionRecord {
        /// Which store.
        #[command(flatten)]
        from: rack::From,
        /// Labels such as C-001, and ranges such as C-001..C-040 [without any: all that the options leave].
        #[arg(conflicts_with_all = ["gear", "standing", "site", "holder", "kit"])]
        labels: Vec<String>,
        /// Which pieces.
        #[command(flatten)]
        only: rack::Only,
    },
    /// An incident: as it was frozen when it was closed, or as it stands.
    IncidentRecord {
        /// Which store.
        #[command(flatten)]
        from: rack::From,
        /// The entry that opened it.
        case: i64,
    },
    /// A recall: its pieces, as frozen when it was closed, or as it stands.
    RecallList {
        /// Which store.
        #[command(flatten)]
        from: rack::From,
        /// The entry that opened it.
        case: i64,
    },
    /// What goes along: boxes to tick out and in, mass in all and for each person.
    PackList {
        /// Which store.
        #[command(flatten)]
        from: rack::From,
        /// What a kit holds.
        #[arg(long, value_name = "LABEL", required_unless_present = "outing", conflicts_with = "outing")]
        kit: Option<String>,
        /// What an outing takes (TOML).
        #[arg(long, value_name = "FILE")]
        outing: Option<String>,
        /// The choice, as `outing plan --json` wrote it [without it: planned anew].
        #[arg(long, value_name = "FILE.json", requires = "outing")]
        choice: Option<String>,
        /// How many people carry what a kit holds.
        #[arg(long, default_value_t = 0, hide_default_value = true)]
        people: u32,
        /// What it tells values in.
        #[command(flatten)]
        units: UnitsArg,
    },
}

/// Units in place of kN, mm and kg. Records keep those of the log, and what is stamped that of the stamp.
#[derive(Debug, Clone, ClapArgs)]
pub struct UnitsArg {
    /// Units in place of kN, of mm and m, of g and kg (several with commas).
    #[arg(long, value_name = "lbf,in,lb", value_delimiter = ',')]
    units: Vec<OtherUnit>,
}

impl UnitsArg {
    /// The units that were asked for, SI for the rest.
    pub fn chosen(&self) -> Units {
        let codes = self.units.iter().map(|unit| match unit {
            OtherUnit::Lbf => "lbf",
            OtherUnit::In => "in",
            OtherUnit::Lb => "lb",
        });
        Units::told(&codes.collect::<Vec<_>>().join("."))
    }
}

/// A unit that is not of the SI.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum OtherUnit {
    /// Pounds-force.
    Lbf,
    /// Inches, and feet for what is told in metres.
    In,
    /// Pounds, and ounces for what is told in grams.
    Lb,
}

impl RackSheet {
    /// Which store it is made from.
    pub const fn from(&self) -> &rack::From {
        match self {
            Self::InspectionRecord { from, .. }
            | Self::IncidentRecord { from, .. }
            | Self::RecallList { from, .. }
            | Self::PackList { from, .. } => from,
        }
    }
}

/// A kind of file.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum SchemaOf {
    /// Rig files.
    Rig,
    /// Wear files.
    Wear,
    /// Outing files.
    Outing,
}

/// What to do about an outing.
#[derive(Debug, Subcommand)]
pub enum OutingCommand {
    /// Choose named pieces for each duty: every duty met, shapes in their order, then the lightest.
    ///
    /// Exit status: 0; 1 where something is short; 2 where the input is at fault.
    Plan(OutingArgs),
    /// Choose again where pieces are missing, with as few changes as possible.
    ///
    /// Exit status: as `plan`.
    Swap {
        /// Which outing.
        #[command(flatten)]
        outing: OutingArgs,
        /// The labels that are missing, ranges among them.
        #[arg(long, required = true, value_name = "LABELS")]
        missing: String,
        /// The choice so far, as `plan --json` wrote it [without it: planned anew].
        #[arg(long, value_name = "FILE.json")]
        choice: Option<String>,
    },
    /// The least mass for each margin over the known loads.
    Curve(OutingArgs),
    /// Book the day to the log: what went along, and what the file tells under `[[done]]`.
    Close {
        /// Which outing.
        #[command(flatten)]
        outing: OutingArgs,
        /// The choice that went along, as `plan --json` wrote it [without it: planned anew].
        #[arg(long, value_name = "FILE.json")]
        choice: Option<String>,
        /// Labels that stayed behind, ranges among them.
        #[arg(long, value_name = "LABELS")]
        stayed: Option<String>,
        /// Who writes [without it: LINKWRIGHT_WRITER, or the owner].
        #[arg(long = "as", value_name = "NAME")]
        writer: Option<String>,
    },
    /// Compare what is on offer (`[[offer]]`) for the duties of the outing; with `--until`, tell what the rack loses until then.
    ///
    /// Exit status: 0; 1 where something would have to be bought; 2 where the input is at fault.
    Buy {
        /// Which outing.
        #[command(flatten)]
        outing: OutingArgs,
        /// The last day of the season, such as 2027-04-30: what the rack withdraws by age and limit until then, and the spares for it.
        #[arg(long, value_name = "DAY")]
        until: Option<String>,
    },
}

/// Which outing, with which pieces, and how to tell.
#[derive(Debug, ClapArgs)]
pub struct OutingArgs {
    /// The outing file (TOML).
    pub file: String,
    /// The rack: a file, or `postgres://…` [without it: the pieces that the file tells, or else LINKWRIGHT_STORE, or a file in the
    /// user's data folder].
    #[arg(long, value_name = "PLACE")]
    pub store: Option<String>,
    /// Judge by this policy file (TOML) instead of the one inside.
    #[arg(long, value_name = "FILE")]
    pub policy: Option<String>,
    /// Stop the solver after so many seconds for one question (a curve has up to eleven) and say so; nothing that is not proven is shown
    /// [without it: 120].
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub patience: Option<Duration>,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

/// What to do about wear.
#[derive(Debug, Subcommand)]
pub enum WearCommand {
    /// Write the measuring sheet, to be printed at true scale.
    Sheet(WearSheetArgs),
    /// Measure the groove of a piece in a photo on the measuring sheet.
    ///
    /// Exit status: 0; 1 where the groove is or may be at its limit; 2 where a photo is not good enough or the input is at
    /// fault.
    Measure(MeasureArgs),
    /// Forecast how much more use a piece has until its limit, from a wear file.
    ///
    /// Exit status: 0; 1 where the limit is reached; 2 where the input is at fault.
    Forecast(ForecastArgs),
    /// Tell what a groove does to the stress in a bent bar, as a ratio; no strength.
    Section(SectionArgs),
}

/// What to print on, and where.
#[derive(Debug, ClapArgs)]
pub struct WearSheetArgs {
    /// The drawing to write.
    #[arg(value_name = "OUT.svg")]
    pub out: String,
    /// The paper: A4 or Letter.
    #[arg(long, default_value = "A4")]
    pub paper: String,
}

/// What to measure, and what is known beside.
#[derive(Debug, ClapArgs)]
pub struct MeasureArgs {
    /// The photo (JPEG or PNG).
    pub photo: String,
    /// The photo to compare with: the piece's own first one, or one of a sound piece of the same model. Without it only
    /// whether the photo would do is told.
    #[arg(long, value_name = "PHOTO|PIECE")]
    pub against: Option<String>,
    /// --against names a piece of this store: its first photo that was kept with a measurement.
    #[arg(long, value_name = "PLACE", requires = "against")]
    pub store: Option<String>,
    /// Height of the bar over the paper where the rope runs, in mm.
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub bar_height_mm: Option<f64>,
    /// Length of the printed scale bar by a ruler, in mm.
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub scale_bar_mm: Option<f64>,
    /// Thickness of the sound bar in the direction of the pull, in mm: the depth is told as a share of it too.
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub bar_mm: Option<f64>,
    /// Draw the outlines over the photo and the depth along the basket as an SVG file.
    #[arg(long, value_name = "OUT.svg")]
    pub drawing: Option<String>,
    /// Print one JSON object instead of the report.
    #[arg(long)]
    pub json: bool,
}

/// What to forecast, and how to tell.
#[derive(Debug, ClapArgs)]
pub struct ForecastArgs {
    /// The wear file (TOML).
    pub file: String,
    /// The piece that is asked about; the first of the file unless given.
    #[arg(long, value_name = "NAME")]
    pub piece: Option<String>,
    /// Draw wear against use, with the fan of the forecast, as an SVG file.
    #[arg(long, value_name = "OUT.svg")]
    pub drawing: Option<String>,
    /// Print one JSON object instead of the report.
    #[arg(long)]
    pub json: bool,
}

/// A bar and its groove.
#[derive(Debug, ClapArgs)]
pub struct SectionArgs {
    /// Thickness of the sound bar in the direction of the pull, in mm.
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub bar_mm: f64,
    /// Radius of the bend at its inside, in mm.
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub inside_radius_mm: f64,
    /// Depth of the groove, in mm.
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub groove_mm: f64,
    /// The bar is flat, so wide across the pull, in mm; round without it.
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub flat_width_mm: Option<f64>,
    /// Print one JSON object instead of the report.
    #[arg(long)]
    pub json: bool,
}

/// A length in mm that a piece or its sheet can have.
fn millimetres(text: &str) -> Result<f64, String> {
    let wrong = || format!("{text} is no length in mm from 0 to 1000");
    text.parse().ok().filter(|length| (0.0..=1000.0).contains(length)).ok_or_else(wrong)
}

/// A time in s that somebody may wait.
fn seconds(text: &str) -> Result<Duration, String> {
    let wrong = || format!("{text} is no time in s from 0.001 to 86400");
    let seconds = text.parse().ok().filter(|seconds| (0.001..=86_400.0).contains(seconds)).ok_or_else(wrong)?;
    Ok(Duration::from_secs_f64(seconds))
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
    /// Take from this store what the rig leaves out of connectors that name a `piece`.
    #[arg(long, value_name = "PLACE")]
    pub store: Option<String>,
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
