//! The measuring sheet at true scale: the drawing that `wear sheet` writes, on a page of its own.

use super::{Paper, Sheet, word};
use crate::measuring;
use serde_json::json;
use std::collections::BTreeMap;

/// The measuring sheet for a paper, lying across.
///
/// # Errors
/// What is wrong and what would be right, where there is no sheet for that paper.
pub fn measuring_sheet(paper: Paper) -> Result<Sheet, (String, String)> {
    let drawing = measuring::measuring_sheet(paper.name())?;
    let data = json!({
        "title": word("measuring-sheet"),
        "drawing_in_words": word("measuring-drawing"),
        "words": {},
    });
    Ok(Sheet { template: "measuring-sheet.typ", data, drawings: BTreeMap::from([("sheet.svg".to_owned(), drawing)]) })
}
