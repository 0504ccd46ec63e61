//! Runs a case: computes each figure that it asks for, and says what is at fault.

use std::collections::HashMap;

use crate::case::{Case, Expect, Kind};
use crate::engine::Solved;
use crate::figure::{Figure, Tolerance};
use crate::measure::{Dimension, measure};
use crate::sweep::{self, Row};
use crate::{beam, ropes, tables};

/// One figure, asked for and computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// What it is.
    pub what: String,
    /// What was asked for, as printed; empty where nothing was.
    pub asked: String,
    /// What was asked for to more digits, computed here; empty where nothing was.
    pub exact: String,
    /// What was computed; `None` where a table asks for nothing.
    pub got: Option<f64>,
    /// To how many decimals it is worth showing.
    pub decimals: usize,
    /// Its unit.
    pub unit: String,
    /// What is at fault.
    pub faults: Vec<String>,
}

impl Checked {
    pub(crate) fn new(what: &str, unit: &str, got: f64) -> Self {
        let (what, unit) = (what.to_owned(), unit.to_owned());
        Self { what, asked: String::new(), exact: String::new(), got: Some(got), decimals: 0, unit, faults: Vec::new() }
    }
}

/// Computes all figures of a case.
///
/// # Errors
/// Where the case cannot be computed at all.
pub fn run(case: &Case) -> Result<Vec<Checked>, String> {
    if let Some(asked) = &case.file.rope_fit {
        return ropes::check(case, asked);
    }
    let Some(sweep) = &case.file.sweep else { return run_row(case, None) };
    let mut checked = Vec::new();
    for row in sweep::rows(sweep) {
        checked.extend(run_row(case, Some(row))?);
    }
    Ok(checked)
}

/// The rigs of a case as they are solved, each once per row.
struct Rigs<'a> {
    case: &'a Case,
    row: Option<Row<'a>>,
    solved: HashMap<String, Solved>,
}

impl Rigs<'_> {
    fn solved(&mut self, rig: &str) -> Result<&Solved, String> {
        if !self.solved.contains_key(rig) {
            let name = format!("{}/{rig}.toml", self.case.name);
            let template = crate::read(&self.case.folder.join(format!("{rig}.toml")))?;
            let text = match self.row {
                Some(row) => row.fill(&template).map_err(|fault| format!("{name}: {fault}"))?,
                None => template,
            };
            self.solved.insert(rig.to_owned(), Solved::of(&text, &name)?);
        }
        Ok(&self.solved[rig])
    }
}

fn run_row(case: &Case, row: Option<Row<'_>>) -> Result<Vec<Checked>, String> {
    let mut rigs = Rigs { case, row, solved: HashMap::new() };
    let asks = case.file.expect.iter().filter(|expect| is_asked(expect, row));
    asks.map(|expect| check(expect, &mut rigs)).collect()
}

/// Whether the row has a figure for this: a cell may be left empty.
fn is_asked(expect: &Expect, row: Option<Row<'_>>) -> bool {
    let columns = [&expect.printed_column, &expect.exact_column];
    let mut named = columns.into_iter().flatten().peekable();
    let Some(row) = row.filter(|_| named.peek().is_some()) else { return true };
    named.any(|column| row.cell(column).map_or(true, |cell| !cell.is_empty()))
}

fn check(expect: &Expect, rigs: &mut Rigs<'_>) -> Result<Checked, String> {
    let (case, row) = (rigs.case, rigs.row);
    let printed = figure(expect.printed.as_ref(), expect.printed_column.as_ref(), row)?;
    let exact = figure(expect.exact.as_ref(), expect.exact_column.as_ref(), row)?;
    let (got, unit) = compute(expect, rigs)?;
    let tolerances = [case.file.tolerance, case.file.exact_tolerance];
    let asked = [&printed, &exact].into_iter().zip(tolerances);
    let mut faults: Vec<String> = asked
        .filter_map(|(figure, tolerance)| figure.as_ref()?.fault(got, tolerance.unwrap_or(Tolerance::PrintedDigits)))
        .collect();
    faults.extend(order_fault(expect, got));
    Ok(Checked {
        what: what(expect, row),
        asked: asked_for(printed.as_ref(), expect),
        decimals: exact.as_ref().or(printed.as_ref()).map_or(2, Figure::decimals),
        exact: exact.map_or_else(String::new, |figure| figure.text),
        got,
        unit,
        faults,
    })
}

fn figure(given: Option<&Figure>, column: Option<&String>, row: Option<Row<'_>>) -> Result<Option<Figure>, String> {
    let Some(column) = column else { return Ok(given.cloned()) };
    let cell = row.ok_or("a column is named, but there is no row")?.cell(column)?;
    if cell.is_empty() { Ok(None) } else { Figure::try_from(cell.to_owned()).map(Some) }
}

fn compute(expect: &Expect, rigs: &mut Rigs<'_>) -> Result<(Option<f64>, String), String> {
    let file = &rigs.case.file;
    let (value, unit) = match file.kind {
        Kind::Rest | Kind::Fall | Kind::Running => {
            let (value, unit) = measured(expect, rigs)?;
            (Some(value), unit)
        }
        Kind::CurvedBeam => {
            let (value, unit) = beam::compute(&expect.of, rigs.row.ok_or("no rows")?, &file.units)?;
            (Some(value / expect.per.unwrap_or(1.0)), unit)
        }
        kind => {
            let row = rigs.row.ok_or("no rows")?;
            let value = tables::compute(kind, &expect.of, row, file.standard.as_ref())?;
            (value.map(|value| value / expect.per.unwrap_or(1.0)), default_unit(kind).to_owned())
        }
    };
    if value.is_some_and(|value| !value.is_finite()) {
        return Err(format!("{}: not a finite number", expect.of));
    }
    Ok((value, expect.unit.clone().unwrap_or(unit)))
}

fn default_unit(kind: Kind) -> &'static str {
    match kind {
        Kind::Table => "kN",
        _ => "",
    }
}

/// A value in the units of the source, and the name of its unit.
fn measured(expect: &Expect, rigs: &mut Rigs<'_>) -> Result<(f64, String), String> {
    let (value, dimension) = measure(&expect.of, rigs.solved(&expect.rig)?)?;
    if let Some(over) = &expect.over {
        let (divisor, _) = measure(over, rigs.solved(expect.over_rig.as_ref().unwrap_or(&expect.rig))?)?;
        return Ok((value / divisor / expect.per.unwrap_or(1.0), String::new()));
    }
    let units = &rigs.case.file.units;
    let (unit, per) = match dimension {
        Dimension::Force => (units.force.clone(), units.force_kn),
        Dimension::Length => (units.length.clone(), units.length_m),
        Dimension::Energy => (format!("{} {}", units.force, units.length), units.force_kn * units.length_m),
        Dimension::Angle => ("deg".to_owned(), 1.0),
    };
    Ok((value / expect.per.unwrap_or(per), unit))
}

fn order_fault(expect: &Expect, got: Option<f64>) -> Option<String> {
    let got = got?;
    let too_much = expect.below.filter(|most| got >= *most).map(|most| format!("{got:.9} is not below {most}"));
    let too_little =
        || expect.above.filter(|least| got <= *least).map(|least| format!("{got:.9} is not above {least}"));
    too_much.or_else(too_little)
}

fn what(expect: &Expect, row: Option<Row<'_>>) -> String {
    let rig = if expect.rig == "rig" { String::new() } else { format!("{}: ", expect.rig) };
    let over = match (&expect.over, &expect.over_rig) {
        (Some(over), Some(rig)) => format!(" / {rig}: {over}"),
        (Some(over), None) => format!(" / {over}"),
        _ => String::new(),
    };
    let of = match row {
        Some(row) if row.cells.len() == row.columns.len() => format!("{} = {}: ", row.columns[0], row.cells[0]),
        _ => String::new(),
    };
    format!("{of}{rig}{}{over}", expect.of)
}

fn asked_for(printed: Option<&Figure>, expect: &Expect) -> String {
    match (printed, expect.below, expect.above) {
        (Some(figure), ..) if figure.is_wrong => format!("{} (wrong)", figure.text),
        (Some(figure), ..) => figure.text.clone(),
        (None, Some(most), _) => format!("below {most}"),
        (None, None, Some(least)) => format!("above {least}"),
        (None, None, None) => String::new(),
    }
}
