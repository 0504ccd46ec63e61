//! What `of` names in a curved beam, in the units of the case.

use crate::case::Units;
use crate::engine;
use crate::sweep::Row;
use terms::Force;
use wear::section::{Axis, Section};

/// Computes what `of` names for a row, and names its unit.
///
/// # Errors
/// Where `of` names nothing of a curved beam, or a column is missing or holds no number.
pub fn compute(of: &str, row: Row<'_>, units: &Units) -> Result<(f64, String), String> {
    let section = section(row, units.length_m)?;
    let load = Force::from_kn(row.number("load")? * units.force_kn);
    let length = |power: i32| units.length_m.powi(power);
    let in_length = |value: f64, power: i32| (value / length(power), power_of(&units.length, power));
    let force = 1e3 * units.force_kn;
    let words: Vec<&str> = of.split_whitespace().collect();
    let stress = |radius: f64, axis: &str| {
        let value = section.hook(load, named(axis)?, radius) / force * length(2);
        Ok((value, format!("{}/{}", units.force, power_of(&units.length, 2))))
    };
    match words[..] {
        ["area"] => Ok(in_length(section.area, 2)),
        ["integral"] => Ok(in_length(section.integral, 1)),
        ["centroid"] => Ok(in_length(section.centroid, 1)),
        ["neutral-axis"] => Ok(in_length(section.neutral(), 1)),
        ["eccentricity"] => Ok(in_length(section.eccentricity(), 1)),
        ["moment", axis] => {
            let moment = section.moment(load, named(axis)?) / force / length(1);
            Ok((moment, format!("{} {}", units.force, units.length)))
        }
        ["inner", axis] => stress(section.inner, axis),
        ["outer", axis] => stress(section.outer, axis),
        _ => Err(format!("nothing of a curved beam is computed by `{of}`")),
    }
}

fn power_of(unit: &str, power: i32) -> String {
    if power == 1 { unit.to_owned() } else { format!("{unit}^{power}") }
}

fn named(axis: &str) -> Result<Axis, String> {
    match axis {
        "about-centroid" => Ok(Axis::Centroid),
        "about-neutral-axis" => Ok(Axis::Neutral),
        other => Err(format!("no axis `{other}`")),
    }
}

/// The section of a row; what the source rounded on its way stands for what is computed.
fn section(row: Row<'_>, length_m: f64) -> Result<Section, String> {
    let length = |column: &str| given(row, column).map(|value| value.unwrap_or(0.0) * length_m);
    let widths = [length("inner_width")?, length("outer_width")?];
    let whole = engine::curved_beam(row.cell("shape")?, widths, length("depth")?, length("inner_radius")?)?;
    let taken = |column: &str, computed: f64| match row.columns.iter().any(|name| name == column) {
        true => given(row, column).map(|value| value.map_or(computed, |value| value * length_m)),
        false => Ok(computed),
    };
    let centroid = taken("centroid_taken", whole.centroid)?;
    Ok(Section { centroid, integral: taken("integral_taken", whole.integral)?, ..whole })
}

/// The number of a cell that may be empty.
fn given(row: Row<'_>, column: &str) -> Result<Option<f64>, String> {
    if row.cell(column)?.is_empty() { Ok(None) } else { row.number(column).map(Some) }
}
