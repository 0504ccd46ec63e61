//! Rig files: TOML in, a [`Rig`] with every name resolved and every quantity in range out, or all that is wrong.

mod fault;
mod form;
mod names;
mod resolve;
mod seats;
mod tables;
mod values;
mod words;

use std::sync::LazyLock;

use schemars::generate::SchemaSettings;
use schemars::transform::{RecursiveTransform, Transform};
use serde::Deserialize;
use serde_json::Value;
use toml::Spanned;
use toml::de::{DeTable, Deserializer, Error};

use fault::Report;
pub use fault::{Fault, FaultCode, Faults};
use tables::RigFile;

use crate::model::Rig;

static SCHEMA: LazyLock<Value> = LazyLock::new(derive_schema);

/// Reads a rig file. `file_name` is only used to say where a fault is.
///
/// ```
/// let faults = rig::read("case = \"rest\"\nfriction = -0.2\n", "slab.toml").unwrap_err();
/// assert!(faults.to_string().starts_with("slab.toml:2:12: `friction` = -0.2 is out of range; "));
/// ```
///
/// # Errors
/// All that is wrong, in the order of the text; where the text is not TOML, or a key is missing or of the wrong
/// type, only what can be told without it.
pub fn read(text: &str, file_name: &str) -> Result<Rig, Faults> {
    let mut report = Report::new(text);
    let rig = DeTable::parse(text)
        .map_err(|error| add_syntax(&error, &mut report))
        .and_then(|file| tables(file, &mut report))
        .map(|file| resolve::resolve(file, &mut report));
    match (rig, report.into_faults(file_name)) {
        (Ok(rig), None) => Ok(rig),
        (_, Some(faults)) => Err(faults),
        (Err(()), None) => unreachable!("whoever gives up has reported why"),
    }
}

/// The JSON Schema of rig files (draft 2020-12).
#[must_use]
pub fn schema() -> Value {
    SCHEMA.clone()
}

fn tables(file: Spanned<DeTable<'_>>, report: &mut Report<'_>) -> Result<RigFile, ()> {
    form::check(&file, &SCHEMA, report);
    RigFile::deserialize(Deserializer::from(file)).map_err(|error| {
        // What the schema objects to says better why there is nothing to read.
        if report.is_empty() {
            let help = "see the schema of rig files for what may stand here";
            report.add(FaultCode::WrongType, &error.span().unwrap_or_default(), error.message(), help);
        }
    })
}

fn add_syntax(error: &Error, report: &mut Report<'_>) {
    let help = "a rig file is TOML: KEY = VALUE below [table] or [[table]], each key and each [table] once";
    report.add(FaultCode::Syntax, &error.span().unwrap_or_default(), error.message(), help);
}

fn derive_schema() -> Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let mut schema = generator.into_root_schema_for::<RigFile>();
    RecursiveTransform(drop_null).transform(&mut schema);
    schema.to_value()
}

/// TOML has no null: what is optional is left out.
fn drop_null(schema: &mut schemars::Schema) {
    let is_null = |value: &Value| value == "null" || value["type"] == "null";
    let Some(keys) = schema.as_object_mut() else { return };
    for alternatives in ["type", "anyOf"].map(String::from) {
        let Some(Value::Array(list)) = keys.get_mut(&alternatives) else { continue };
        list.retain(|value| !is_null(value));
        if list.len() == 1 {
            let only = list.remove(0);
            match only {
                Value::Object(inner) => {
                    keys.remove(&alternatives);
                    keys.extend(inner);
                }
                word => {
                    keys.insert(alternatives, word);
                }
            }
        }
    }
}
