//! What `of` names where no rig is solved: its words after the first are columns of the row.

use crate::case::{Edition, Kind};
use crate::engine;
use crate::rack;
use crate::sweep::Row;
use terms::{Force, STANDARD_GRAVITY};

/// Computes what `of` names for a row; `None` where a table asks for nothing.
///
/// # Errors
/// Where `of` names nothing of this kind, or a column that is not there.
pub fn compute(kind: Kind, of: &str, row: Row<'_>, standard: Option<&Edition>) -> Result<Option<f64>, String> {
    let words: Vec<&str> = of.split_whitespace().collect();
    match (kind, &words[..]) {
        (Kind::Capstan, words) => capstan(words, row).map(Some),
        (Kind::Drop, [what, modulus, mass, factor]) => {
            let [force, elongation] =
                engine::elastic_drop(row.number(modulus)?, row.number(mass)?, row.number(factor)?);
            Ok(Some(if *what == "impact" { force } else { elongation }))
        }
        (Kind::Units, ["convert", value, from, to]) => {
            engine::convert(row.number(value)?, row.cell(from)?, row.cell(to)?).map(Some)
        }
        (Kind::Table, ["cord", diameter]) => Ok(engine::cord_kn(row.number(diameter)?)),
        (Kind::Table, ["gear", standard, part]) => Ok(engine::gear_kn(row.cell(standard)?, row.cell(part)?)),
        (Kind::Table, ["drop-test", figure, rope]) => drop_test(row.cell(figure)?, row.cell(rope)?).map(Some),
        (Kind::Table, ["interval", regime, gear]) => rack::interval_months(row.cell(regime)?, row.cell(gear)?),
        (Kind::Table, ["life-least", voice]) => rack::life_years(row.cell(voice)?).map(|[least, _]| Some(least)),
        (Kind::Table, ["life-most", voice]) => rack::life_years(row.cell(voice)?).map(|[_, most]| Some(most)),
        (Kind::Table, ["knot-least", knot, source]) => {
            engine::knot_pct(row.cell(knot)?, row.cell(source)?).map(|[least, _]| Some(least))
        }
        (Kind::Table, ["knot-most", knot, source]) => {
            engine::knot_pct(row.cell(knot)?, row.cell(source)?).map(|[_, most]| Some(most))
        }
        (Kind::Table, ["least", position, letter]) => least(position, row.cell(letter)?, standard),
        _ => Err(format!("nothing of this kind is computed by `{of}`")),
    }
}

fn capstan(words: &[&str], row: Row<'_>) -> Result<f64, String> {
    match words {
        ["ratio", friction, angle] => Ok(engine::capstan_ratio(row.number(friction)?, row.number(angle)?)),
        ["passed", friction, angle] => Ok(1.0 / engine::capstan_ratio(row.number(friction)?, row.number(angle)?)),
        ["friction", more, less, angle] => {
            Ok(engine::friction_for(row.number(more)? / row.number(less)?, row.number(angle)?))
        }
        _ => Err(format!("no such question of a capstan: {}", words.join(" "))),
    }
}

fn least(position: &str, letter: &str, standard: Option<&Edition>) -> Result<Option<f64>, String> {
    let standard = standard.ok_or("the case names no standard")?;
    let Some(minimum) = engine::minimum(&standard.name, standard.edition, letter)? else { return Ok(None) };
    let force = match position {
        "closed" => minimum.closed,
        "locked" => minimum.closed_locked,
        "open" => minimum.open,
        "minor" => minimum.minor,
        other => return Err(format!("no position `{other}`")),
    };
    Ok(force.map(Force::kn))
}

fn drop_test(figure: &str, rope: &str) -> Result<f64, String> {
    let test = engine::drop_test(rope)?;
    match figure {
        "free-fall" => Ok(test.free_fall),
        "rope" => Ok(test.rope),
        "fall-factor" => Ok(test.free_fall / test.rope),
        "speed" => Ok((2.0 * STANDARD_GRAVITY * test.free_fall).sqrt()),
        "mass" => Ok(test.mass),
        other => Err(format!("a drop test has no `{other}`")),
    }
}
