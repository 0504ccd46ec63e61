//! The parts of the report below its headline and its table of links: in the same words on the command line, on pages and in files.

use super::{
    LookFor, aftermath, basis, clip_table, errors_to_look_for, giving, hanging, heights, helps, losses, section,
    unknown_keys, unrated,
};
use crate::checking::Checked;
use crate::columns::columns;
use crate::{motion, texts};
use rig::model::Case;
use serde::Serialize;

/// A part of the report under its title: a table where it has one, and then lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Which one.
    pub code: &'static str,
    /// Its title.
    pub title: &'static str,
    /// Rows of cells, their heads first; empty where it has no table.
    pub table: Vec<Vec<String>>,
    /// Whether the cells behind each row's first are figures, which stand to the right.
    pub figures: bool,
    /// Its lines.
    pub lines: Vec<String>,
}

impl Part {
    pub(super) fn lines(code: &'static str, lines: Vec<String>) -> Self {
        Self { code, title: texts::on_sheet(code), table: Vec::new(), figures: false, lines }
    }

    fn is_empty(&self) -> bool {
        self.table.is_empty() && self.lines.is_empty()
    }

    /// As text, its table set in columns.
    pub(super) fn text(&self) -> String {
        let table = if self.figures { to_the_right(&self.table) } else { columns(&self.table) };
        let lines = table.lines().chain(self.lines.iter().map(String::as_str));
        section(self.title, lines.map(|line| format!("  {line}\n")).collect())
    }
}

/// Rows whose figures stand below each other.
fn to_the_right(rows: &[Vec<String>]) -> String {
    let line = |row: &Vec<String>| {
        row[1..].iter().fold(format!("{:<26}", row[0]), |line, cell| format!("{line}{cell:>18}")) + "\n"
    };
    rows.iter().map(line).collect()
}

/// What the report says below its table of links, part by part; what has nothing to say is left out.
#[must_use]
pub fn parts(checked: &Checked) -> Vec<Part> {
    let look_for = errors_to_look_for(checked).iter().map(LookFor::line).collect();
    let parts = [
        Part::lines("unrated", unrated(checked)),
        Part::lines("heights", heights(checked)),
        Part::lines("gives", giving(checked)),
        clips(checked),
        lost_in_turn(checked),
        Part::lines("hangs", hanging(checked)),
        Part::lines("runs", motion::told(checked)),
        Part::lines("helps", helps(checked)),
        Part::lines("look-for", look_for),
        Part::lines("not-said", unknown_keys(checked)),
        Part::lines("basis", basis(checked)),
    ];
    parts.into_iter().filter(|part| !part.is_empty()).collect()
}

/// Falls clip by clip.
fn clips(checked: &Checked) -> Part {
    if checked.rig.clip_table.is_none() || checked.rig.case == Case::Running {
        return Part::lines("clips", Vec::new());
    }
    let table = clip_table(checked);
    let code = if table.is_empty() { "clip-table-needs-lead" } else { "clip-table-basis" };
    Part { table, figures: true, ..Part::lines("clips", vec![texts::line(code, &[])]) }
}

/// Losses, and what they take for granted; then the ways to join the anchors.
fn lost_in_turn(checked: &Checked) -> Part {
    let table: Vec<Vec<String>> = losses(checked).into_iter().map(Vec::from).collect();
    let basis = (!table.is_empty()).then(|| texts::line("losses-basis", &[]));
    let lines = basis.into_iter().chain(aftermath::joined(checked)).collect();
    Part { table, ..Part::lines("losses", lines) }
}
