//! Cells set in columns.

/// Rows of cells, each column as wide as its widest cell, two spaces apart.
pub(crate) fn columns<R: AsRef<[String]>>(rows: &[R]) -> String {
    let count = rows.iter().map(|row| row.as_ref().len()).max().unwrap_or_default();
    let width = |column: usize| {
        rows.iter()
            .filter_map(|row| row.as_ref().get(column))
            .map(|cell| cell.chars().count())
            .max()
            .unwrap_or_default()
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let line = |row: &R| {
        let cells = row.as_ref().iter().zip(&widths).map(|(cell, width)| format!("{cell:width$}"));
        format!("{}\n", cells.collect::<Vec<_>>().join("  ").trim_end())
    };
    rows.iter().map(line).collect()
}
