//! Labels: a short code to read and one to scan, on label paper given by its measures.

use super::{Sheet, word};
use crate::texts;
use fast_qr::convert::{Builder, svg::SvgBuilder};
use fast_qr::{ECL, QRBuilder};
use serde::Serialize;
use serde_json::json;
use std::collections::BTreeMap;

/// Label paper, by measure. Lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LabelPaper {
    /// Width of a label.
    pub width_mm: f64,
    /// Height of a label.
    pub height_mm: f64,
    /// Labels side by side.
    pub across: usize,
    /// From the left edge of the sheet to the first label.
    pub left_mm: f64,
    /// From the top edge of the sheet to the first label.
    pub top_mm: f64,
    /// Between labels side by side.
    pub gap_across_mm: f64,
    /// Between labels one below another.
    pub gap_down_mm: f64,
}

impl Default for LabelPaper {
    /// 65 labels on A4, as they are sold most.
    fn default() -> Self {
        Self {
            width_mm: 38.1,
            height_mm: 21.2,
            across: 5,
            left_mm: 9.75,
            top_mm: 10.7,
            gap_across_mm: 0.0,
            gap_down_mm: 0.0,
        }
    }
}

/// Why labels cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LabelTrouble {
    /// A code that scans with a phone from a hand's breadth needs room.
    #[error("a label of {width_mm} by {height_mm} mm is too small for a code to scan: at least 25 by 12 mm")]
    TooSmall {
        /// Width.
        width_mm: f64,
        /// Height.
        height_mm: f64,
    },
    /// The labels do not fit side by side.
    #[error("{across} labels of {width_mm} mm need {needs_mm:.1} mm, and the sheet is {has_mm:.1} mm wide")]
    TooWide {
        /// Labels side by side.
        across: usize,
        /// Width of one.
        width_mm: f64,
        /// What they need.
        needs_mm: f64,
        /// What is there.
        has_mm: f64,
    },
    /// Nothing to print.
    #[error("no label was given: name labels such as C-001 or a range such as C-001..C-040")]
    Nothing,
    /// More than a code holds.
    #[error("`{0}` is too long for a code to scan")]
    TooLong(String),
}

impl LabelPaper {
    fn check(&self, sheet_mm: f64) -> Result<(), LabelTrouble> {
        let Self { width_mm, height_mm, across, .. } = *self;
        if !(width_mm >= 25.0 && height_mm >= 12.0) {
            return Err(LabelTrouble::TooSmall { width_mm, height_mm });
        }
        let needs_mm = self.left_mm + across as f64 * width_mm + (across.max(1) - 1) as f64 * self.gap_across_mm;
        if across == 0 || needs_mm > sheet_mm {
            return Err(LabelTrouble::TooWide { across, width_mm, needs_mm, has_mm: sheet_mm });
        }
        Ok(())
    }
}

/// Labels for pieces: each its short code, and `opens` before it in the code to scan (the address of the group's own pages, or nothing).
///
/// # Errors
/// [`LabelTrouble`] says what would do.
pub fn labels(names: &[String], opens: &str, paper: LabelPaper, sheet_mm: f64) -> Result<Sheet, LabelTrouble> {
    paper.check(sheet_mm)?;
    if names.is_empty() {
        return Err(LabelTrouble::Nothing);
    }
    let mut drawings = BTreeMap::new();
    let mut rows = Vec::new();
    for (index, name) in names.iter().enumerate() {
        let file = format!("code-{index}.svg");
        drawings.insert(file.clone(), code(&format!("{opens}{name}"))?);
        rows.push(json!({
            "label": name,
            "code": file,
            "code_in_words": texts::fill(&word("label-code"), &[("label", name.clone())]),
            "note": word("label-note"),
        }));
    }
    let data = json!({ "title": word("labels"), "labels": rows, "label_paper": paper, "words": {} });
    Ok(Sheet { template: "labels.typ", data, drawings })
}

/// A QR code (ISO/IEC 18004), level M.
fn code(text: &str) -> Result<String, LabelTrouble> {
    let code = QRBuilder::new(text).ecl(ECL::M).build().map_err(|_| LabelTrouble::TooLong(text.to_owned()))?;
    Ok(SvgBuilder::default().margin(2).to_str(&code))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAPER: LabelPaper = LabelPaper {
        width_mm: 38.0,
        height_mm: 21.0,
        across: 5,
        left_mm: 9.0,
        top_mm: 10.0,
        gap_across_mm: 0.0,
        gap_down_mm: 0.0,
    };

    #[test]
    fn paper_that_cannot_work_is_refused_with_what_would() {
        let names = ["C-001".to_owned()];
        let small = LabelPaper { width_mm: 20.0, ..PAPER };
        let wide = LabelPaper { across: 6, ..PAPER };
        assert!(matches!(labels(&names, "", small, 210.0), Err(LabelTrouble::TooSmall { .. })));
        assert!(matches!(labels(&names, "", wide, 210.0), Err(LabelTrouble::TooWide { .. })));
        assert_eq!(labels(&[], "", PAPER, 210.0), Err(LabelTrouble::Nothing));
    }

    #[test]
    fn every_label_has_a_code_of_its_own() {
        let names = ["C-001".to_owned(), "C-002".to_owned()];
        let sheet = labels(&names, "https://rack.example/piece/", PAPER, 210.0).expect("labels");
        assert_eq!(sheet.drawings.len(), 2);
        assert_ne!(sheet.drawings["code-0.svg"], sheet.drawings["code-1.svg"]);
    }
}
