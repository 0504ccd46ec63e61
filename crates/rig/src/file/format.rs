//! A kind of TOML file: what may stand in it is said once, by the tables it is read into.

use std::marker::PhantomData;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use schemars::transform::{RecursiveTransform, Transform};
use serde::de::DeserializeOwned;
use serde_json::Value;
use toml::Spanned;
use toml::de::{DeTable, Deserializer, Error};

use super::fault::{FaultCode, Faults, Report};
use super::form;

/// A kind of TOML file that is read into `T` and held against the JSON Schema of `T`.
pub struct Format<T> {
    name: &'static str,
    schema: Value,
    tables: PhantomData<fn() -> T>,
}

impl<T: JsonSchema + DeserializeOwned> Format<T> {
    /// The kind of file called `name`, such as `rig file`.
    #[must_use]
    pub fn new(name: &'static str) -> Self {
        let generator = SchemaSettings::draft2020_12().into_generator();
        let mut schema = generator.into_root_schema_for::<T>();
        RecursiveTransform(drop_null).transform(&mut schema);
        Self { name, schema: schema.to_value(), tables: PhantomData }
    }

    /// Its JSON Schema (draft 2020-12).
    #[must_use]
    pub const fn schema(&self) -> &Value {
        &self.schema
    }

    /// Reads a text, and lets `resolve` make of its tables what they stand for; it adds to the report what is wrong
    /// beyond their form. `file_name` is only used to say where a fault is.
    ///
    /// # Errors
    /// All that is wrong, in the order of the text; where the text is not TOML, or a key is missing or of the wrong
    /// type, only what can be told without it.
    pub fn read<R>(
        &self,
        text: &str,
        file_name: &str,
        resolve: impl FnOnce(T, &mut Report<'_>) -> R,
    ) -> Result<R, Faults> {
        let mut report = Report::new(text);
        let resolved = DeTable::parse(text)
            .map_err(|error| self.add_syntax(&error, &mut report))
            .and_then(|file| self.tables(file, &mut report))
            .map(|file| resolve(file, &mut report));
        match (resolved, report.into_faults(file_name)) {
            (Ok(resolved), None) => Ok(resolved),
            (_, Some(faults)) => Err(faults),
            (Err(()), None) => unreachable!("whoever gives up has reported why"),
        }
    }

    fn tables(&self, file: Spanned<DeTable<'_>>, report: &mut Report<'_>) -> Result<T, ()> {
        form::check(&file, &self.schema, report);
        T::deserialize(Deserializer::from(file)).map_err(|error| {
            // What the schema objects to says better why there is nothing to read.
            if report.is_empty() {
                let help = format!("see the schema of the {} for what may stand here", self.name);
                report.add(FaultCode::WrongType, &error.span().unwrap_or_default(), error.message(), help);
            }
        })
    }

    fn add_syntax(&self, error: &Error, report: &mut Report<'_>) {
        let rule = "is TOML: KEY = VALUE below [table] or [[table]], each key and each [table] once";
        let span = error.span().unwrap_or_default();
        report.add(FaultCode::Syntax, &span, error.message(), format!("a {} {rule}", self.name));
    }
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
