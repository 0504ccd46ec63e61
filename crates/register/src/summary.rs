//! One row of a list: what is looked for and sorted by.

use crate::group::Group;
use crate::history::History;
use crate::id::{Id, PersonId};
use crate::piece::Piece;
use crate::standing::{State, standing};
use jiff::civil::Date;

/// One row of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// The piece or lot.
    pub id: Id,
    /// Its label.
    pub label: String,
    /// The maker's serial.
    pub serial: Option<String>,
    /// The kind of gear.
    pub gear: Option<String>,
    /// The model.
    pub model: Option<Id>,
    /// Where it is.
    pub site: Option<String>,
    /// Who has it.
    pub holder: Option<PersonId>,
    /// The kit that it belongs to.
    pub kit: Option<Id>,
    /// What it may still do: the code is `standing.code()`.
    pub standing: State,
    /// The first later day on which the row may be another by itself.
    pub changes_on: Option<Date>,
    /// The day by which it is to be inspected.
    pub due_on: Option<Date>,
    /// Words to search by, in lower case.
    pub words: Vec<String>,
}

/// The row of a piece on a day, from what holds of it and of the pieces that it descends from; before the day that it came in, the row
/// of that day. `None` where nothing brings it in.
#[must_use]
pub fn summary(id: Id, history: &History, group: &Group, on: Date) -> Option<Summary> {
    let piece = Piece::fold(id, history, on)?;
    let standing = standing(&piece, history, group, on);
    let is = piece.described(group);
    let words = words(&piece, group);
    let later = history.iter().map(|past| past.happened.date).filter(|day| *day > on).min();
    Some(Summary {
        id,
        label: piece.label,
        serial: piece.serial,
        gear: is.gear,
        model: is.model,
        site: piece.site,
        holder: piece.holder,
        kit: piece.kit,
        standing: standing.state,
        changes_on: standing.changes_on.into_iter().chain(later).min(),
        due_on: standing.next_inspection,
        words,
    })
}

fn words(piece: &Piece, group: &Group) -> Vec<String> {
    let is = piece.described(group);
    let model = is.model.and_then(|model| group.model(model));
    let texts = [Some(piece.label.clone()), piece.serial.clone(), is.gear, is.marking, is.size, is.material, is.shape]
        .into_iter()
        .chain([is.supplier, piece.site.clone()])
        .chain(model.map(|model| [Some(model.name.clone()), model.maker.clone()]).into_iter().flatten());
    let mut words: Vec<String> = texts.flatten().flat_map(|text| split(&text)).collect();
    words.sort_unstable();
    words.dedup();
    words
}

fn split(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_lowercase).collect()
}
