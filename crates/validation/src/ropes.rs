//! Data sheets of ropes: fitted, dropped again, and compared.

use serde::Deserialize;

use crate::case::{Case, Refused, RopeFit};
use crate::engine::{self, Declared};
use crate::run::Checked;

/// How many data sheets may be refused before it is the fit that is at fault.
const MOST_REFUSALS: usize = 2;
const FIGURES: [&str; 3] = ["impact force", "static elongation", "dynamic elongation"];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    columns: Vec<String>,
    rows: Vec<Vec<f64>>,
}

/// Fits every row of the table.
///
/// # Errors
/// Where the table cannot be read.
pub fn check(case: &Case, asked: &RopeFit) -> Result<Vec<Checked>, String> {
    let mut worst = [(0.0, 0); 3];
    let mut refused = Vec::new();
    let sheets = declared(case, asked)?;
    for (row, sheet) in (1..).zip(&sheets) {
        match engine::fit_and_drop(*sheet, asked.mass_kg) {
            Err(figure) => refused.push(Refused { row, figure: figure.to_owned() }),
            Ok(back) => widen(&mut worst, row, sheet, &back),
        }
    }
    let mut checked = vec![refusals(refused, asked, sheets.len())];
    checked.extend(FIGURES.iter().zip(worst).map(|(figure, worst)| deviation(figure, worst, asked.within_pct)));
    Ok(checked)
}

fn declared(case: &Case, asked: &RopeFit) -> Result<Vec<Declared>, String> {
    let path = case.folder.join(&asked.table);
    let table: Table = toml::from_str(&crate::read(&path)?).map_err(|fault| format!("{}: {fault}", path.display()))?;
    let column = |name: &str| {
        let place = table.columns.iter().position(|column| column == name);
        place.ok_or_else(|| format!("{}: no column `{name}`", path.display()))
    };
    let places = [column("impact_force_kn")?, column("static_elongation_pct")?, column("dynamic_elongation_pct")?];
    Ok(table.rows.iter().map(|row| places.map(|place| row[place])).collect())
}

/// Keeps the largest deviation in percent of each figure, and its row.
fn widen(worst: &mut [(f64, usize); 3], row: usize, declared: &Declared, back: &Declared) {
    for ((worst, declared), back) in worst.iter_mut().zip(declared).zip(back) {
        let off = 100.0 * (back / declared - 1.0).abs();
        if off.is_nan() || off > worst.0 {
            *worst = (off, row);
        }
    }
}

fn refusals(refused: Vec<Refused>, asked: &RopeFit, rows: usize) -> Checked {
    let mut checked = Checked::new("data sheets met", "of", (rows - refused.len()) as f64);
    checked.asked = format!("{}", rows - asked.refused.len());
    let shown = |refused: &[Refused]| {
        refused.iter().map(|refused| format!("row {}: {}", refused.row, refused.figure)).collect::<Vec<_>>().join(", ")
    };
    if refused != asked.refused {
        checked.faults.push(format!("refused: {}; to be refused: {}", shown(&refused), shown(&asked.refused)));
    }
    if refused.len() > MOST_REFUSALS {
        checked.faults.push(format!("{} data sheets are refused", refused.len()));
    }
    checked.unit = match refused.is_empty() {
        true => format!("of {rows}"),
        false => format!("of {rows}; refused: {}", shown(&refused)),
    };
    checked
}

fn deviation(figure: &str, (off, row): (f64, usize), within_pct: f64) -> Checked {
    let mut checked = Checked::new(&format!("{figure}, largest deviation"), "%", off);
    checked.asked = format!("below {within_pct}");
    checked.decimals = 4;
    if off.is_nan() || off >= within_pct {
        checked.faults.push(format!("{figure} of row {row} comes back {off:.4} % off"));
    }
    checked
}
