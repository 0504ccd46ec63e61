//! One named test for each case, for each rig of the contract, for the ledger and for `VALIDATION.md`.

use std::path::Path;

use libtest_mimic::{Arguments, Failed, Trial};
use validation::case::{self, Case, Kind, Weight};
use validation::{contract, ledger, report, run};

/// How many static networks with published answers the project wants at the least.
const LEAST_NETWORKS: usize = 15;

/// How many published figures of ropes on the move, high lines and turns round a bar the project wants at the least.
const LEAST_ON_ROPES: usize = 30;

fn main() -> Result<(), String> {
    let cases = case::all()?;
    let tested = cases.iter().filter(|case| case.weight() != Weight::Shown).cloned();
    let mut trials: Vec<Trial> =
        tested.map(|case| Trial::test(case.name.clone(), move || settle(check(&case)))).collect();
    for name in contract::names()? {
        trials.push(Trial::test(format!("contract/{name}"), move || settle(contract::faults(&name))));
    }
    trials.extend(of_the_whole(cases));
    libtest_mimic::run(&Arguments::from_args(), trials).exit()
}

fn of_the_whole(cases: Vec<Case>) -> Vec<Trial> {
    let shared = ledger::shared();
    let is_alone = shared.is_none();
    let reference = shared.clone().unwrap_or_default();
    let rigs = shared.unwrap_or_default().join("contract");
    let files = cases.clone();
    let entries = cases.clone();
    let networks = cases.clone();
    let on_ropes = cases.clone();
    vec![
        Trial::test("case files ask for something, with source and reason", move || {
            settle(Ok(files.iter().flat_map(Case::faults).collect()))
        }),
        Trial::test("at least fifteen static networks from outside", move || settle(enough_networks(&networks))),
        Trial::test("at least thirty figures of ropes on the move and high lines from outside", move || {
            settle(enough_on_ropes(&on_ropes))
        }),
        Trial::test("ledger and cases agree", move || {
            settle(ledger::read().map(|read| ledger::faults(&read, &entries)))
        }),
        Trial::test("ledger has every entry of the reference", move || {
            settle(ledger::read().and_then(|read| ledger::drift(&read, &reference)))
        })
        .with_ignored_flag(is_alone),
        Trial::test("contract is the one that is shared", move || settle(contract_drift(&rigs)))
            .with_ignored_flag(is_alone),
        Trial::test("VALIDATION.md is what the harness writes", move || settle(page_drift(&cases))),
    ]
}

fn settle(faults: Result<Vec<String>, String>) -> Result<(), Failed> {
    match faults? {
        faults if faults.is_empty() => Ok(()),
        faults => Err(faults.join("\n").into()),
    }
}

fn check(case: &Case) -> Result<Vec<String>, String> {
    let checked = run::run(case)?;
    if checked.is_empty() {
        return Err("nothing was computed".to_owned());
    }
    let fault =
        |one: &run::Checked| one.faults.iter().map(|fault| format!("{}: {fault}", one.what)).collect::<Vec<_>>();
    Ok(checked.iter().flat_map(fault).collect())
}

fn enough_networks(cases: &[Case]) -> Result<Vec<String>, String> {
    let is_network = |case: &&Case| case.file.kind == Kind::Rest && case.weight() == Weight::Outside;
    let count = cases.iter().filter(is_network).count();
    Ok(if count < LEAST_NETWORKS { vec![format!("only {count}")] } else { Vec::new() })
}

/// Printed figures of the anchors' reference that scenes reproduce; those computed here do not count.
fn enough_on_ropes(cases: &[Case]) -> Result<Vec<String>, String> {
    let ledger = ledger::read()?;
    let listed = ledger.get("anchors").ok_or("the ledger has no anchors")?;
    let is_on_ropes = |case: &&Case| {
        let of_scenes = matches!(case.file.kind, Kind::Running | Kind::Capstan) || case.name.starts_with("highlines/");
        of_scenes && case.weight() == Weight::Outside && case.file.ids.iter().any(|id| listed.contains_key(id))
    };
    let mut count = 0;
    for case in cases.iter().filter(is_on_ropes) {
        count += run::run(case)?.iter().filter(|checked| checked.asked.parse::<f64>().is_ok()).count();
    }
    Ok(if count < LEAST_ON_ROPES { vec![format!("only {count}")] } else { Vec::new() })
}

/// The rigs lie in a folder of their own beside the text there, here together.
fn contract_drift(shared: &Path) -> Result<Vec<String>, String> {
    let mut theirs: Vec<_> = contract::files(&shared.join("rigs"))?
        .into_iter()
        .map(|name| (shared.join("rigs").join(&name), name))
        .collect();
    theirs.push((shared.join("rig-file.md"), "rig-file.md".to_owned()));
    let ours = contract::files(&contract::folder())?;
    let mut faults: Vec<String> = ours
        .iter()
        .filter(|name| !theirs.iter().any(|(_, other)| other == *name))
        .map(|name| format!("{name} is ours only"))
        .collect();
    for (path, name) in theirs {
        if validation::read(&path).ok() != validation::read(&contract::folder().join(&name)).ok() {
            faults.push(format!("{name} is not the shared one"));
        }
    }
    Ok(faults)
}

fn page_drift(cases: &[Case]) -> Result<Vec<String>, String> {
    let wanted = report::page(cases, &ledger::read()?)?;
    let there = validation::read(&report::path())?;
    let differs = |(line, (wanted, there)): (usize, (&str, &str))| {
        (wanted != there).then(|| format!("line {line}: `{there}` should be `{wanted}`"))
    };
    if wanted == there {
        return Ok(Vec::new());
    }
    let first = (1..).zip(wanted.lines().zip(there.lines())).find_map(differs);
    Ok(vec![
        first.unwrap_or_else(|| "it is longer or shorter".to_owned()),
        "run: cargo run --release -p validation".to_owned(),
    ])
}
