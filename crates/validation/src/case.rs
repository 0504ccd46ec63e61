//! The files of a case: `case.toml`, read once into types that cannot be wrong.

use std::path::{Path, PathBuf};

use serde::Deserialize;
use terms::Quality;

use crate::figure::{Figure, Tolerance};

/// What computes the figures of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A rig at rest.
    Rest,
    /// A rig in a fall.
    Fall,
    /// A rig with ropes on the move.
    Running,
    /// The capstan equation.
    Capstan,
    /// The modelled first drop on a rope of given response.
    Drop,
    /// Data sheets of ropes, fitted and dropped again.
    RopeFit,
    /// A table of a standard.
    Table,
    /// Conversion of units.
    Units,
    /// Stress in a curved beam.
    CurvedBeam,
    /// Nothing: shown, not tested on.
    Shown,
}

/// What a case weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Somebody else's figures.
    Outside,
    /// Our own figures, computed here: they only keep us from changing unawares.
    Regression,
    /// From memory: shown, never tested on.
    Shown,
}

impl Weight {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Outside => "outside check",
            Self::Regression => "regression",
            Self::Shown => "shown, not tested on",
        }
    }
}

/// A quality in the words of the data files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct Read(pub Quality);

impl TryFrom<String> for Read {
    type Error = String;

    fn try_from(words: String) -> Result<Self, String> {
        Quality::from_words(&words).map(Self).ok_or_else(|| format!("no such quality: {words}"))
    }
}

/// The units of a source, and what one of each is in the rig files of the case.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Units {
    /// Name of the unit of force.
    pub force: String,
    /// kN in the rig files for one unit of force.
    pub force_kn: f64,
    /// Name of the unit of length.
    pub length: String,
    /// Metres in the rig files for one unit of length.
    pub length_m: f64,
}

impl Default for Units {
    fn default() -> Self {
        Self { force: "kN".to_owned(), force_kn: 1.0, length: "m".to_owned(), length_m: 1.0 }
    }
}

/// Rows of one table, each checked in the same way; the first column names the row.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sweep {
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Cells as printed.
    pub rows: Vec<Vec<String>>,
}

/// One figure that is asked for, or one per row of the sweep.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expect {
    /// The rig file, without its ending.
    #[serde(default = "default_rig")]
    pub rig: String,
    /// What is measured; see `validation/README.md`.
    pub of: String,
    /// What it is divided by, measured in the same way.
    pub over: Option<String>,
    /// The rig file of `over`; that of `of` by default.
    pub over_rig: Option<String>,
    /// One unit of the figure in the units of the rig files; by default after `[units]`.
    pub per: Option<f64>,
    /// Name of the unit where `per` is given.
    pub unit: Option<String>,
    /// As printed in the source.
    pub printed: Option<Figure>,
    /// Column of the sweep that holds the printed figures.
    pub printed_column: Option<String>,
    /// To more digits, computed here.
    pub exact: Option<Figure>,
    /// Column of the sweep that holds the exact figures.
    pub exact_column: Option<String>,
    /// It must be less than this.
    pub below: Option<f64>,
    /// It must be more than this.
    pub above: Option<f64>,
}

fn default_rig() -> String {
    "rig".to_owned()
}

/// The table of a standard that a case is about.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edition {
    /// As "EN 362".
    pub name: String,
    /// Its year.
    pub edition: u16,
}

/// What a case about data sheets of ropes asks.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RopeFit {
    /// The file with the declared figures.
    pub table: String,
    /// Mass of the drop test in kg.
    pub mass_kg: f64,
    /// How closely, in percent, each declared figure must come back.
    pub within_pct: f64,
    /// The rows that must be refused, and nothing else.
    pub refused: Vec<Refused>,
}

/// A data sheet that no sensible response meets.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refused {
    /// The row, counted from 1.
    pub row: usize,
    /// The figure that the refusal must name.
    pub figure: String,
}

/// `case.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CaseFile {
    /// What it is about.
    pub title: String,
    /// What computes its figures.
    pub kind: Kind,
    /// Entries of the reference that it uses.
    pub ids: Vec<String>,
    /// Where the figures come from.
    pub source: String,
    /// Where that can be read.
    pub address: Option<String>,
    /// How it was read.
    pub quality: Read,
    /// What the figures hold for, and how the rig stands for it.
    pub conditions: String,
    /// How closely printed figures have to be met; left out where none is asked for.
    pub tolerance: Option<Tolerance>,
    /// Why that closely.
    pub why: String,
    /// How closely exact figures have to be met, where not to their digits.
    pub exact_tolerance: Option<Tolerance>,
    /// Why that closely.
    pub exact_why: Option<String>,
    /// Where the source, or the reference, is wrong.
    pub departure: Option<String>,
    /// The units of the figures.
    #[serde(default)]
    pub units: Units,
    /// Rows of a table.
    pub sweep: Option<Sweep>,
    /// The figures.
    #[serde(default)]
    pub expect: Vec<Expect>,
    /// For `kind = "table"`.
    pub standard: Option<Edition>,
    /// For `kind = "rope-fit"`.
    pub rope_fit: Option<RopeFit>,
}

/// A case and where it was found.
#[derive(Debug, Clone)]
pub struct Case {
    /// As `anchors`.
    pub area: String,
    /// As `anchors/slack-diagonal`.
    pub name: String,
    /// Its folder.
    pub folder: PathBuf,
    /// What its file says.
    pub file: CaseFile,
}

impl Case {
    /// What it weighs, by its quality.
    #[must_use]
    pub fn weight(&self) -> Weight {
        match self.file.quality.0 {
            Quality::FromMemory => Weight::Shown,
            Quality::ComputedHere | Quality::OurDefault => Weight::Regression,
            Quality::ReadInSource | Quality::SecondarySource | Quality::CommonPractice => Weight::Outside,
        }
    }

    /// What is wrong with the file itself: a check that cannot fail, a figure from memory that is tested on.
    #[must_use]
    pub fn faults(&self) -> Vec<String> {
        let file = &self.file;
        let asks = file.kind == Kind::RopeFit || !file.expect.is_empty();
        let is_shown = file.kind == Kind::Shown;
        let from_memory = self.weight() == Weight::Shown;
        let mut faults: Vec<String> = file.expect.iter().filter_map(|expect| self.fault_of(expect)).collect();
        let mut rule = |is_broken: bool, says: &str| is_broken.then(|| faults.push(format!("{}: {says}", self.name)));
        rule(is_shown == asks, "asks for nothing, or is only shown and asks");
        rule(is_shown != from_memory, "what is from memory is shown, and nothing else is only shown");
        rule(file.ids.is_empty(), "names no entry of the reference");
        rule(file.why.is_empty() || file.source.is_empty(), "lacks its source or its reason");
        rule(file.exact_tolerance.is_some() != file.exact_why.is_some(), "a tolerance and its reason go together");
        faults
    }

    fn fault_of(&self, expect: &Expect) -> Option<String> {
        let prints = expect.printed.is_some() || expect.printed_column.is_some();
        let asks_more = expect.exact.is_some() || expect.exact_column.is_some();
        let orders = expect.below.is_some() || expect.above.is_some();
        let says = match () {
            () if !prints && !asks_more && !orders => "asks for nothing",
            () if prints && self.file.tolerance.is_none() => "prints a figure and says not how closely",
            () if prints && self.weight() == Weight::Regression => "calls a figure of our own printed",
            () => return None,
        };
        Some(format!("{}: {}: {says}", self.name, expect.of))
    }
}

/// All cases, in the order of their names.
///
/// # Errors
/// Names the first file that cannot be read.
pub fn all() -> Result<Vec<Case>, String> {
    let mut cases = Vec::new();
    for area in folders(&crate::folder())? {
        for folder in folders(&area)? {
            cases.push(load(&name_of(&area), folder)?);
        }
    }
    Ok(cases)
}

fn load(area: &str, folder: PathBuf) -> Result<Case, String> {
    let path = folder.join("case.toml");
    let file = toml::from_str(&crate::read(&path)?).map_err(|fault| format!("{}: {fault}", path.display()))?;
    Ok(Case { area: area.to_owned(), name: format!("{area}/{}", name_of(&folder)), folder, file })
}

fn folders(of: &Path) -> Result<Vec<PathBuf>, String> {
    let listing = std::fs::read_dir(of).map_err(|error| format!("{}: {error}", of.display()))?;
    let mut found: Vec<_> =
        listing.filter_map(Result::ok).map(|entry| entry.path()).filter(|path| path.is_dir()).collect();
    found.sort();
    Ok(found)
}

fn name_of(folder: &Path) -> String {
    folder.file_name().unwrap_or_default().to_string_lossy().into_owned()
}
