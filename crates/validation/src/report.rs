//! `VALIDATION.md`: every case with what was asked for and what was computed.

use std::fmt::Write;
use std::path::PathBuf;

use crate::case::{Case, Sweep, Weight};
use crate::ledger::{Fate, Ledger};
use crate::run::{Checked, run};

const HEAD: &str = "# Validation

What others have published beside what Linkwright computes. Written by `cargo run --release -p validation`; the tests
of that crate compare every figure anew and fail where this page is not what they would write. The cases are in
`validation/AREA/CASE/`, described in `validation/README.md`.

- *Outside check*: somebody else's figure, read in the source or in a text that reports it.
- *Regression*: our own figure, computed here; it keeps us from changing unawares and shows nothing more. So does the
  column *exact* of an outside check.
- *Shown*: from memory; nothing is tested on it.
- A printed figure followed by *(wrong)* is one that the source has wrong: the check is that it is missed.
";

/// Where the page is.
#[must_use]
pub fn path() -> PathBuf {
    crate::top().join("VALIDATION.md")
}

/// The whole page.
///
/// # Errors
/// Where a case cannot be computed.
pub fn page(cases: &[Case], ledger: &Ledger) -> Result<String, String> {
    let mut results = Vec::new();
    for case in cases {
        results.push((case, run(case).map_err(|fault| format!("{}: {fault}", case.name))?));
    }
    let mut page = HEAD.to_owned();
    let mut areas: Vec<&str> = cases.iter().map(|case| case.area.as_str()).collect();
    areas.dedup();
    page += &counts(&results);
    for area in areas {
        let of_area: Vec<_> = results.iter().filter(|(case, _)| case.area == area).collect();
        let _ = write!(page, "\n## {}\n\n", capitalised(area));
        page += "| case | source | quality | weight | figures | tolerance |\n| --- | --- | --- | --- | ---: | --- |\n";
        of_area.iter().for_each(|(case, checked)| page += &summary(case, checked.len()));
        of_area.iter().for_each(|(case, checked)| page += &section(case, checked));
    }
    Ok(page + &not_used(ledger))
}

/// What is only asked to more digits than a source prints is our own figure, wherever it stands.
fn counts(results: &[(&Case, Vec<Checked>)]) -> String {
    let cases = |weight: Weight| results.iter().filter(|(case, _)| case.weight() == weight).count();
    let figures = || results.iter().flat_map(|(_, checked)| checked);
    let outside = figures().filter(|checked| !checked.asked.is_empty()).count();
    format!(
        "\nOutside checks: {} cases, {outside} figures. Regression: {} cases, {} figures, those beside outside checks included.\n",
        cases(Weight::Outside),
        cases(Weight::Regression),
        figures().count() - outside
    )
}

fn summary(case: &Case, figures: usize) -> String {
    let (file, weight) = (&case.file, case.weight().words());
    let (_, name) = case.name.split_once('/').unwrap_or_default();
    let tolerance = tolerance(case);
    format!("| {name} | {} | {} | {weight} | {figures} | {tolerance} |\n", cell(&file.source), file.quality.0.words())
}

fn tolerance(case: &Case) -> String {
    let file = &case.file;
    let fitted = file.rope_fit.as_ref().map(|asked| format!("{} %", asked.within_pct));
    let exact = file.exact_tolerance.map(|tolerance| format!("exact {}", tolerance.words()));
    let parts = [file.tolerance.map(|tolerance| tolerance.words()), exact, fitted];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

fn section(case: &Case, checked: &[Checked]) -> String {
    let file = &case.file;
    let mut text = format!("\n### {}\n\n{}.\n\n", case.name, file.title);
    let address =
        file.address.as_ref().map_or_else(String::new, |address| format!(" <{}>", address.replace(" ; ", "> <")));
    let _ = writeln!(text, "- Source: {}. {}. ({})", file.source, address.trim(), file.quality.0.words());
    let _ = writeln!(text, "- Conditions: {}", file.conditions);
    let _ = writeln!(text, "- Tolerance: {}", with_reason(&tolerance(case), file));
    if let Some(departure) = &file.departure {
        let _ = writeln!(text, "- Departure: {departure}");
    }
    text.push('\n');
    match (&file.sweep, case.weight()) {
        (Some(sweep), Weight::Shown) => text += &shown(sweep),
        _ => {
            text += "| what | unit | printed | exact | computed |\n| --- | --- | ---: | ---: | ---: |\n";
            checked.iter().for_each(|checked| text += &line(checked));
        }
    }
    text.replace(". . (", ". (")
}

fn with_reason(tolerance: &str, file: &crate::case::CaseFile) -> String {
    let reasons = [Some(&file.why), file.exact_why.as_ref()];
    let reasons: Vec<_> = reasons.into_iter().flatten().map(String::as_str).collect();
    let tolerance = if tolerance.is_empty() { String::new() } else { format!("{tolerance}. ") };
    tolerance + &reasons.join(" ")
}

fn line(checked: &Checked) -> String {
    let decimals = checked.decimals;
    let got =
        checked.got.map_or_else(|| "-".to_owned(), |got| format!("{:.decimals$}", without_sign_of_zero(got, decimals)));
    let fault = if checked.faults.is_empty() { "" } else { " **not met**" };
    format!("| {} | {} | {} | {} | {got}{fault} |\n", cell(&checked.what), checked.unit, checked.asked, checked.exact)
}

/// A value that is shown as zero is shown without a sign.
fn without_sign_of_zero(value: f64, decimals: usize) -> f64 {
    let smallest = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap_or(i32::MAX));
    if value.abs() < smallest { 0.0 } else { value }
}

fn shown(sweep: &Sweep) -> String {
    let row = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let rule = format!("|{}\n", " --- |".repeat(sweep.columns.len()));
    row(&sweep.columns) + &rule + &sweep.rows.iter().map(|cells| row(cells)).collect::<String>()
}

fn not_used(ledger: &Ledger) -> String {
    let mut text = "\n## Entries of the reference that no case uses\n".to_owned();
    for (file, entries) in ledger {
        let used = entries.values().filter(|fate| matches!(fate, Fate::Used(_))).count();
        let _ = write!(text, "\n### {}: {used} of {} used\n\n", capitalised(file), entries.len());
        for (id, fate) in entries {
            if let Fate::NotUsed(reason) = fate {
                let _ = writeln!(text, "- `{id}`: {reason}");
            }
        }
    }
    text
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
