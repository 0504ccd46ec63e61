//! The rig card: the report and the drawing of a check on one sheet.

use super::{Sheet, heads, word};
use crate::checking::Checked;
use crate::figures::{margin, strength};
use crate::units::Units;
use crate::{picture, report, texts};
use rig::check::Link;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use terms::{Finding, Reason};

/// Links on a card before the rest is only counted.
const ROWS: usize = 12;

/// The file of its drawing.
const DRAWING: &str = "drawing.svg";

/// The card of a checked rig, in some units.
#[must_use]
pub fn rig_card(checked: &Checked, units: Units) -> Sheet {
    let rated = report::rated(checked);
    let more = rated.len().saturating_sub(ROWS);
    let data = json!({
        "title": checked.rig.title,
        "subtitle": report::asked(&checked.rig),
        "first": report::first(checked),
        "weakest": report::weakest(checked),
        "drawing": DRAWING,
        "drawing_in_words": texts::fill(&word("rig-drawing"), &[("title", checked.rig.title.clone())]),
        "links": rated.iter().take(ROWS).map(|link| row(link)).collect::<Vec<_>>(),
        "more": (more > 0).then(|| texts::fill(&word("more-links"), &[("count", more.to_string())])),
        "reasons": rated.iter().take(ROWS).filter(|link| stands_out(link)).map(|link| reason(link, units)).collect::<Vec<_>>(),
        "unrated": report::unrated(checked),
        "look_for": report::errors_to_look_for(checked).iter().map(|error| json!({
            "name": error.name, "look_for": error.look_for, "links": error.links,
        })).collect::<Vec<_>>(),
        "heights": report::heights(checked),
        "gives": report::giving(checked),
        "clips": report::clip_table(checked),
        "clips_basis": texts::line("clip-table-basis", &[]),
        "losses": report::losses(checked),
        "losses_basis": texts::line("losses-basis", &[]),
        "hangs": report::hanging(checked),
        "runs": crate::motion::told(checked),
        "helps": report::helps(checked),
        "basis": report::basis(checked),
        "words": {
            "links": word("links"), "columns": heads("link-columns"), "unrated": word("unrated"), "look_for": word("look-for"),
            "heights": word("heights"), "gives": word("gives"), "clips": word("clips"), "losses": word("losses"), "hangs": word("hangs"), "runs": word("runs"), "helps": word("helps"), "basis": word("basis"),
        },
    });
    let drawings = BTreeMap::from([(DRAWING.to_owned(), picture::figure(checked, units))]);
    units.sheet(Sheet { template: "rig-card.typ", data, drawings })
}

fn stands_out(link: &Link) -> bool {
    matches!(link.finding, Finding::OverRating | Finding::LowMargin)
}

fn row(link: &Link) -> Value {
    json!({
        "name": link.name,
        "position": report::position_name(link),
        "sees": report::seen(link),
        "bears": link.bears.map_or_else(String::new, strength),
        "margin": link.margin.map_or_else(String::new, margin),
        "finding": texts::finding(link.finding).name,
        "stands_out": stands_out(link),
    })
}

/// Why a link stands out; what is stamped is told in the unit of the stamp.
fn reason(link: &Link, units: Units) -> Value {
    let why = |reason: &Reason| {
        let text = texts::reason(reason);
        if reason.code().starts_with("marked") { text } else { units.text(&text).into_owned() }
    };
    let why = link.because.iter().map(why).collect::<Vec<_>>().join(" ");
    let source = link.because.first().map(texts::reason_source).unwrap_or_default();
    json!({ "link": format!("{}, {}", link.name, report::position_name(link)), "why": why, "source": source })
}
