//! The tables of this room: figures with their source, read once from the data files built in.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

#[derive(Deserialize)]
struct Row {
    value: f64,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "quality")]
    _quality: String,
}

static PHOTO: LazyLock<BTreeMap<String, Row>> =
    LazyLock::new(|| toml::from_str(include_str!("../data/photo.toml")).expect("the table built in"));

/// The figure called `name` of `data/photo.toml`.
///
/// # Panics
/// Where the table built in lacks it.
pub fn photo(name: &str) -> f64 {
    PHOTO[name].value
}
