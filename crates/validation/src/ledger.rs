//! The ledger: what became of every entry of the reference.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use serde::Deserialize;

use crate::case::Case;

/// The files of the reference.
const FILES: [&str; 3] = ["anchors", "connectors", "falls"];

/// What became of an entry.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum Fate {
    /// The cases that use it.
    Used(Vec<String>),
    /// Why no case uses it.
    NotUsed(String),
}

/// The fate of each entry, by file of the reference.
pub type Ledger = BTreeMap<String, BTreeMap<String, Fate>>;

/// Reads the ledger. A name that stands twice in one file is an error of TOML.
///
/// # Errors
/// Where it cannot be read.
pub fn read() -> Result<Ledger, String> {
    let path = crate::folder().join("ledger.toml");
    toml::from_str(&crate::read(&path)?).map_err(|fault| format!("{}: {fault}", path.display()))
}

/// Where ledger and cases do not agree.
#[must_use]
pub fn faults(ledger: &Ledger, cases: &[Case]) -> Vec<String> {
    let entries = || ledger.values().flatten();
    let mut faults: Vec<String> = entries().flat_map(|(id, fate)| faults_of(id, fate, cases)).collect();
    for case in cases {
        for id in &case.file.ids {
            let lists_it = |fate: &Fate| matches!(fate, Fate::Used(names) if names.contains(&case.name));
            if !entries().any(|(entry, fate)| entry == id && (lists_it(fate) || is_shown(case, fate))) {
                faults.push(format!("{} uses `{id}`, which the ledger does not say", case.name));
            }
        }
    }
    faults
}

fn is_shown(case: &Case, fate: &Fate) -> bool {
    case.weight() == crate::case::Weight::Shown && matches!(fate, Fate::NotUsed(_))
}

fn faults_of(id: &str, fate: &Fate, cases: &[Case]) -> Vec<String> {
    match fate {
        Fate::NotUsed(reason) if reason.trim().is_empty() => {
            vec![format!("`{id}` is not used, and no reason is given")]
        }
        Fate::NotUsed(_) => Vec::new(),
        Fate::Used(names) if names.is_empty() => vec![format!("`{id}` is used by no case")],
        Fate::Used(names) => names
            .iter()
            .filter(|name| !cases.iter().any(|case| case.name == **name && case.file.ids.iter().any(|used| used == id)))
            .map(|name| format!("`{id}` is said to be used by `{name}`, which does not name it"))
            .collect(),
    }
}

/// The folder of what comes from outside the project, where it is there.
#[must_use]
pub fn shared() -> Option<PathBuf> {
    let folder = crate::top().join("../shared");
    folder.is_dir().then_some(folder)
}

/// Where the ledger has other entries than the reference, or tests on what is from memory.
///
/// # Errors
/// Where a file of the reference cannot be read.
pub fn drift(ledger: &Ledger, shared: &Path) -> Result<Vec<String>, String> {
    let mut faults = Vec::new();
    for file in FILES {
        let empty = BTreeMap::new();
        let listed = ledger.get(file).unwrap_or(&empty);
        let entries = entries(&shared.join(format!("reference/{file}.toml")))?;
        let ids: BTreeSet<&String> = entries.iter().map(|(id, _)| id).collect();
        let known: BTreeSet<&String> = listed.keys().collect();
        faults.extend(ids.symmetric_difference(&known).map(|id| format!("{file}: `{id}` is in one of the two only")));
        let from_memory = entries.iter().filter(|(_, quality)| quality == "from memory");
        let tested = from_memory.filter(|(id, _)| matches!(listed.get(id), Some(Fate::Used(_))));
        faults.extend(tested.map(|(id, _)| format!("{file}: `{id}` is from memory and tested on")));
    }
    Ok(faults)
}

/// Id and quality of every entry of a file of the reference.
fn entries(path: &Path) -> Result<Vec<(String, String)>, String> {
    let file: toml::Table = crate::read(path)?.parse().map_err(|fault| format!("{}: {fault}", path.display()))?;
    let word = |entry: &toml::Value, key: &str| entry.get(key).and_then(toml::Value::as_str).unwrap_or("").to_owned();
    let tables = file.values().filter_map(toml::Value::as_array).flatten();
    Ok(tables.filter(|entry| entry.is_table()).map(|entry| (word(entry, "id"), word(entry, "quality"))).collect())
}
