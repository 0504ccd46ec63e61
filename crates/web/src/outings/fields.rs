//! The fields by which a form asks for an outing, a need, a rig of the day, and what was done.

use crate::form::{Field, Kind, choices};
use crate::typed::Typed;
use crate::units::{UNITS, Unit, Units};
use crate::word;
use desk::outing::draft::{Asked, Draft, Place};
use trade::connector::Lock;
use trade::duty::duties;

/// The name of a field.
pub fn named(prefix: &str, asked: Asked) -> String {
    format!("{prefix}{}", asked.key)
}

/// The unit of what is asked for, and to how many decimal places it is written.
fn unit(asked: Asked) -> Option<(Unit, usize)> {
    match asked.key {
        "budget_kg" => Some((Unit::Kg, 2)),
        "at_least_m" => Some((Unit::M, 2)),
        "run_m" => Some((Unit::M, 0)),
        "diameter_mm" => Some((Unit::Mm, 1)),
        "load_kn.closed" | "load_kn.open" | "load_kn.minor" | "falls_kn" => Some((Unit::Kn, 2)),
        _ => None,
    }
}

/// What was typed, in the units of the file.
pub fn typed(typed: &Typed, prefix: &str, asked: Asked) -> String {
    let name = named(prefix, asked);
    unit(asked).map_or_else(|| typed.get(&name).to_owned(), |(unit, places)| typed.value(&name, unit, places))
}

/// Whether a form asked for it.
pub fn is_there(typed: &Typed, prefix: &str, asked: Asked) -> bool {
    typed.all(&named(prefix, asked)).next().is_some()
}

/// Whether something else was typed than was shown.
pub fn differs(typed: &Typed, prefix: &str, asked: Asked, shown: &str) -> bool {
    let units = Units::told(typed.get(UNITS));
    let unit = unit(asked).map(|(unit, _)| unit).filter(|unit| units.changes(*unit));
    let shown = unit.map_or_else(|| shown.to_owned(), |unit| units.in_field(shown, unit));
    is_there(typed, prefix, asked) && typed.get(&named(prefix, asked)) != shown
}

/// What stands in a place of a file, as typed into fields.
pub fn shown(draft: &Draft, prefix: &str, all: &[(Place, Asked)]) -> Vec<(String, String)> {
    all.iter().map(|(place, asked)| (named(prefix, *asked), draft.told(*place, *asked))).collect()
}

/// A field.
pub fn field(prefix: &str, asked: Asked, now: &str, rigs: &[(String, String)]) -> Field {
    let label = word(&format!("outings-of-{}", asked.key.replace('.', "-")));
    let field = Field::new(&named(prefix, asked), label, kind(asked, now, rigs));
    match asked.key {
        "along" => field.hint(word("labels-hint")),
        "day" => field.hint(word("day-hint")),
        "device" | "link" | "diameter_mm" | "mixed_locks" | "falls" | "falls_kn" | "name" | "site" => {
            field.hint(word(&format!("outings-of-{}-hint", asked.key)))
        }
        "locks" => {
            let locks: Vec<_> = Lock::ALL.iter().map(|lock| lock.code()).collect();
            field.hint(crate::line("outings-of-locks-hint", locks.join(", ")))
        }
        _ => field,
    }
}

fn kind(asked: Asked, now: &str, rigs: &[(String, String)]) -> Kind {
    if let Some((unit, places)) = unit(asked) {
        return Kind::Value(unit, places);
    }
    match asked.key {
        "day" => Kind::Day,
        "days" | "people" | "times" | "rappels" | "lowers" | "falls" => Kind::Count,
        "mixed_locks" => Kind::Tick,
        "duty" => {
            let known = duties().iter().map(|duty| (duty.name.clone(), duty.title.clone())).collect();
            choices(word("outings-no-duty"), with(known, now).into_iter())
        }
        "rig" | "file" => choices(word("outings-no-rig"), with(rigs.to_vec(), now).into_iter()),
        _ => Kind::Line,
    }
}

/// Choices, what stands there now among them: a duty or rig of somebody's own.
fn with(mut known: Vec<(String, String)>, now: &str) -> Vec<(String, String)> {
    if !now.is_empty() && known.iter().all(|(code, _)| code != now) {
        known.push((now.to_owned(), now.to_owned()));
    }
    known
}
