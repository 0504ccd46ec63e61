//! The rigs of the contract, each against the numbers of an independent program; the format is described at the end of
//! `validation/contract/rig-file.md`.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use crate::engine::Solved;

/// `NAME.expected.json`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    tolerance_pct: f64,
    height_tolerance_m: Option<f64>,
    /// From, to, kN.
    #[serde(default)]
    legs: Vec<(String, String, f64)>,
    /// The one tension of each line at rest.
    #[serde(default)]
    line_kn: Vec<f64>,
    /// Each line's segment peaks from first to last.
    #[serde(default)]
    lines: Vec<Vec<f64>>,
    #[serde(default)]
    points: BTreeMap<String, f64>,
    #[serde(default)]
    persons: BTreeMap<String, Heights>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Heights {
    lowest_m: f64,
    highest_m: f64,
}

/// The folder of the rigs.
#[must_use]
pub fn folder() -> PathBuf {
    crate::folder().join("contract")
}

/// The names of the rigs, in order.
///
/// # Errors
/// Where the folder cannot be read.
pub fn names() -> Result<Vec<String>, String> {
    let is_rig = |name: &String| name.ends_with(".toml");
    let mut names: Vec<_> = files(&folder())?.into_iter().filter(is_rig).collect();
    names.iter_mut().for_each(|name| name.truncate(name.len() - ".toml".len()));
    Ok(names)
}

/// The names of the files in a folder, in order.
///
/// # Errors
/// Where the folder cannot be read.
pub fn files(folder: &Path) -> Result<Vec<String>, String> {
    let listing = std::fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut names: Vec<_> =
        listing.filter_map(Result::ok).map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    Ok(names)
}

/// Solves a rig and says where it is out of tolerance.
///
/// # Errors
/// Where a file cannot be read or the rig cannot be solved.
pub fn faults(name: &str) -> Result<Vec<String>, String> {
    let text = crate::read(&folder().join(format!("{name}.toml")))?;
    let expected = crate::read(&folder().join(format!("{name}.expected.json")))?;
    let expected: Expected = serde_json::from_str(&expected).map_err(|fault| format!("{name}: {fault}"))?;
    let compared = compare(&expected, &Solved::of(&text, name)?)?;
    if compared.is_empty() {
        return Err(format!("{name}: nothing is asked for"));
    }
    Ok(compared.into_iter().filter_map(Compared::fault).collect())
}

/// One number of the contract beside ours.
struct Compared {
    what: String,
    wanted: f64,
    got: f64,
    most_off: f64,
}

impl Compared {
    fn fault(self) -> Option<String> {
        let Self { what, wanted, got, most_off } = self;
        let is_met = (got - wanted).abs() <= most_off;
        (!is_met).then(|| format!("{what}: {wanted} asked for, {got:.4} computed"))
    }
}

fn compare(expected: &Expected, solved: &Solved) -> Result<Vec<Compared>, String> {
    let mut compared = Vec::new();
    let mut force = |what: String, wanted: f64, got: f64| {
        compared.push(Compared { what, wanted, got, most_off: wanted * expected.tolerance_pct / 100.0 });
    };
    for (from, to, wanted) in &expected.legs {
        force(format!("leg {from} to {to}"), *wanted, solved.leg(from, to)?);
    }
    for (name, wanted) in &expected.points {
        force(format!("point {name}"), *wanted, solved.point(name)?.0);
    }
    for (what, wanted, got) in lines(expected, solved)? {
        force(what, wanted, got);
    }
    for (name, heights) in &expected.persons {
        let most_off = expected.height_tolerance_m.ok_or("heights are asked for, but not how closely")?;
        let got = solved.heights(name)?;
        for (what, wanted, got) in [("lowest", heights.lowest_m, got[0]), ("highest", heights.highest_m, got[1])] {
            compared.push(Compared { what: format!("{name}, {what}"), wanted, got, most_off });
        }
    }
    Ok(compared)
}

fn lines(expected: &Expected, solved: &Solved) -> Result<Vec<(String, f64, f64)>, String> {
    let at_rest = expected.line_kn.iter().zip(solved.lines());
    let at_rest = at_rest.flat_map(|(wanted, segments)| segments.iter().map(|got| ("line".to_owned(), *wanted, *got)));
    let mut all: Vec<_> = at_rest.collect();
    for (wanted, got) in expected.lines.iter().zip(solved.lines()) {
        if wanted.len() != got.len() {
            return Err(format!("{} segments asked for, {} computed", wanted.len(), got.len()));
        }
        all.extend(
            (1..).zip(wanted.iter().zip(got)).map(|(place, (wanted, got))| (format!("segment {place}"), *wanted, *got)),
        );
    }
    let asked = expected.line_kn.len().max(expected.lines.len());
    if asked > solved.lines().len() { Err(format!("{asked} lines asked for")) } else { Ok(all) }
}
