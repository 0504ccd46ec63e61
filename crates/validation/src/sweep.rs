//! A row of a table, and the rig file that it makes of a template.

use crate::case::Sweep;

/// One row with the names of its columns.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    /// Names of the columns.
    pub columns: &'a [String],
    /// Cells as printed.
    pub cells: &'a [String],
}

/// All rows of a sweep.
pub fn rows(sweep: &Sweep) -> impl Iterator<Item = Row<'_>> {
    sweep.rows.iter().map(|cells| Row { columns: &sweep.columns, cells })
}

impl<'a> Row<'a> {
    /// The cell in the column of that name.
    ///
    /// # Errors
    /// Where there is no such column, or the row is too short.
    pub fn cell(self, column: &str) -> Result<&'a str, String> {
        let place = self.columns.iter().position(|name| name == column);
        let cell = place.and_then(|place| self.cells.get(place));
        cell.map(String::as_str).ok_or_else(|| format!("no column `{column}`"))
    }

    /// The number in the column of that name.
    ///
    /// # Errors
    /// Where there is no such column or it holds no number.
    pub fn number(self, column: &str) -> Result<f64, String> {
        let cell = self.cell(column)?;
        cell.parse().map_err(|_| format!("column `{column}` holds no number: {cell}"))
    }

    /// Fills the places of a template: `{name}` is the cell as printed, `{sin name}` and `{cos name}` the functions of
    /// the cell in degrees, `{sin name/2}` and `{cos name/2}` those of its half.
    ///
    /// # Errors
    /// Where a place names no column, or a function is asked of no number.
    pub fn fill(self, template: &str) -> Result<String, String> {
        let mut filled = String::with_capacity(template.len());
        let mut rest = template;
        while let Some((before, place, after)) = next_place(rest) {
            filled.push_str(before);
            filled.push_str(&self.value_of(place)?);
            rest = after;
        }
        Ok(filled + rest)
    }

    fn value_of(self, place: &str) -> Result<String, String> {
        let Some((function, angle)) = place.split_once(' ') else { return self.cell(place).map(str::to_owned) };
        let degrees = match angle.strip_suffix("/2") {
            Some(column) => self.number(column)? / 2.0,
            None => self.number(angle)?,
        };
        match function {
            "sin" => Ok(format!("{:?}", degrees.to_radians().sin())),
            "cos" => Ok(format!("{:?}", degrees.to_radians().cos())),
            other => Err(format!("no function `{other}`")),
        }
    }
}

/// The text before the next place, its name, and the text after. A brace before a space is TOML's own.
fn next_place(text: &str) -> Option<(&str, &str, &str)> {
    let starts = text.match_indices('{').map(|(start, _)| start);
    let mut named = starts.filter(|start| text[start + 1..].starts_with(|first: char| first.is_ascii_lowercase()));
    let start = named.next()?;
    let end = start + text[start..].find('}')?;
    Some((&text[..start], &text[start + 1..end], &text[end + 1..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_filled_and_inline_tables_left_alone() {
        let (columns, cells) = (["angle_deg".to_owned()], ["60".to_owned()]);
        let row = Row { columns: &columns, cells: &cells };
        let filled = row.fill("r = { a = 1 }; {angle_deg}, -{sin angle_deg/2}").unwrap();
        assert_eq!(filled, "r = { a = 1 }; 60, -0.49999999999999994");
        assert!(row.fill("{width}").is_err());
        assert!(row.fill("{tan angle_deg}").is_err());
    }
}
