//! Sheets for paper: what stands on each, in words; how it is laid out is up to its template.
//!
//! A sheet is data and drawings under the name of a template. The helper program `linkwright-press` makes a PDF of it.

mod case_record;
mod fonts;
mod inspection_record;
mod labels;
mod measuring_sheet;
mod pack_list;
mod printing;
mod proof;
mod rig_card;
mod take_along;
mod teaching_card;

pub use case_record::{CaseTold, LineTold, Told, case_record};
pub use inspection_record::{Happened, Inspected, OnRecord, inspection_record};
pub use labels::{LabelPaper, LabelTrouble, labels};
pub use measuring_sheet::measuring_sheet;
pub use pack_list::{Duty, Mass, PackList, Packed, pack_list};
pub use printing::{Printed, SheetTrouble, print};
pub use proof::Proof;
pub use rig_card::rig_card;
pub use take_along::take_along;
pub use teaching_card::{Pictured, as_stamped, teaching_card};

use crate::texts;
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The version of orders that the helper program is sent.
pub const ORDER_VERSION: u32 = 1;

/// What goes onto paper: a template's name, its data, and the drawings it shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The template, such as `rig-card.typ`.
    pub template: &'static str,
    /// What it says.
    pub data: Value,
    /// Drawings as SVG, by file name.
    pub drawings: BTreeMap<String, String>,
}

/// How a sheet is to be printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Print {
    /// `a4` or `us-letter`.
    pub paper: Paper,
    /// The date that it bears, `2026-11-25`.
    pub date: String,
    /// A group's own templates, by file name.
    pub templates: BTreeMap<String, String>,
    /// Paths of further fonts.
    pub fonts: Vec<String>,
}

/// Paper that printers take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 8.5 by 11 in (ANSI/ASME Y14.1).
    Letter,
}

impl Paper {
    /// The name as it is typed.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        match name.to_ascii_lowercase().as_str() {
            "a4" => Some(Self::A4),
            "letter" => Some(Self::Letter),
            _ => None,
        }
    }

    /// Its width held upright, mm.
    #[must_use]
    pub const fn width_mm(self) -> f64 {
        match self {
            Self::A4 => 210.0,
            Self::Letter => 215.9,
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }

    const fn code(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "us-letter",
        }
    }
}

#[derive(Serialize)]
struct Order<'o> {
    version: u32,
    template: &'o str,
    templates: &'o BTreeMap<String, String>,
    files: BTreeMap<&'o str, String>,
    fonts: &'o [String],
}

impl Sheet {
    /// The order that the helper program prints, one line of JSON.
    ///
    /// # Panics
    /// Never: every part of it can be written as JSON.
    #[must_use]
    pub fn order(&self, print: &Print) -> String {
        let mut data = self.data.clone();
        data["paper"] = json!(print.paper.code());
        data["date"] = json!(print.date);
        data["lang"] = json!("en");
        data["cautions"] = json!(texts::cautions());
        data["words"]["cautions"] = json!(word("cautions"));
        data["words"]["page"] = json!(word("page"));
        data["foot"] = json!(texts::fill(&word("foot"), &[("date", print.date.clone())]));
        let mut files: BTreeMap<&str, String> =
            self.drawings.iter().map(|(name, text)| (name.as_str(), text.clone())).collect();
        files.insert("data.json", data.to_string());
        let order = Order {
            version: ORDER_VERSION,
            template: self.template,
            templates: &print.templates,
            files,
            fonts: &print.fonts,
        };
        serde_json::to_string(&order).unwrap_or_else(|fault| unreachable!("{fault}"))
    }
}

/// A word that stands on sheets.
pub(crate) fn word(code: &str) -> String {
    texts::on_sheet(code).to_owned()
}

/// The heads of a table, which stand in one text with bars between.
fn heads(code: &str) -> Vec<String> {
    word(code).split('|').map(|head| head.trim().to_owned()).collect()
}
