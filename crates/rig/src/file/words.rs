//! The closed lists of words, and the nearest of them to a word that is none.

use trade::connector::{Class, Gate, Keeper, Lock, Nose, Shape};

use crate::model::RopeKind;

/// A value that stands in a file as a word of its own.
pub(super) trait Word: Copy + 'static {
    /// Every value.
    const EVERY: &'static [Self];
    /// Its word.
    fn code(self) -> &'static str;
    /// The value of a word that the schema has let through.
    fn named(code: &str) -> Option<Self> {
        Self::EVERY.iter().copied().find(|value| value.code() == code)
    }
}

macro_rules! words_of_trade {
    ($($name:ident),+) => {
        $(impl Word for $name {
            const EVERY: &'static [Self] = Self::ALL;
            fn code(self) -> &'static str {
                Self::code(self)
            }
        })+
    };
}
words_of_trade!(Class, Shape, Gate, Lock, Nose, Keeper);

/// What a file can ask for.
#[derive(Clone, Copy)]
pub(super) enum CaseWord {
    Rest,
    Fall,
    Running,
}

/// The words of `case`.
pub(super) const CASES: &[CaseWord] = &[CaseWord::Rest, CaseWord::Fall, CaseWord::Running];

impl Word for CaseWord {
    const EVERY: &'static [Self] = CASES;
    fn code(self) -> &'static str {
        match self {
            Self::Rest => "rest",
            Self::Fall => "fall",
            Self::Running => "running",
        }
    }
}

/// The words of a rope's `kind`.
pub(super) const ROPE_KINDS: &[RopeKind] = &[RopeKind::Single, RopeKind::Half, RopeKind::Twin];

impl Word for RopeKind {
    const EVERY: &'static [Self] = ROPE_KINDS;
    fn code(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::Half => "half",
            Self::Twin => "twin",
        }
    }
}

/// The words of some values.
pub(super) fn codes<W: Word>(values: &[W]) -> Vec<&'static str> {
    values.iter().map(|value| value.code()).collect()
}

/// Names longer than this are not compared: nobody mistypes a page.
const LONGEST_COMPARED: usize = 40;
/// As many names as are compared, so that a huge file full of faults is answered in time.
const MOST_COMPARED: usize = 200;
/// As many names as a help lists.
const MOST_LISTED: usize = 24;

/// "did you mean …? KIND: a, b, c", or that there is none.
pub(super) fn suggest<'a>(wrong: &str, kind: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    let guess = nearest(wrong, known.clone()).map_or_else(String::new, |near| format!("did you mean \"{near}\"? "));
    let total = known.clone().count();
    if total == 0 {
        return format!("{kind}: none");
    }
    let listed: Vec<&str> = known.take(MOST_LISTED).collect();
    let more = if total > MOST_LISTED { format!(" and {} more", total - MOST_LISTED) } else { String::new() };
    format!("{guess}{kind}: {}{more}", listed.join(", "))
}

/// The known name that is nearest to `wrong`, if a third of the letters of the longer or fewer are off.
fn nearest<'a>(wrong: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let letters = |name: &str| name.chars().count();
    let length = letters(wrong);
    let allowed = |name: &str| length.max(letters(name)).div_ceil(3);
    known
        .filter(|name| length.max(letters(name)) <= LONGEST_COMPARED && length.abs_diff(letters(name)) <= allowed(name))
        .take(MOST_COMPARED)
        .map(|name| (edit_distance(&wrong.to_lowercase(), &name.to_lowercase()), name))
        .filter(|(distance, name)| *distance <= allowed(name))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// Levenshtein distance: the fewest letters to insert, delete or replace.
fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, other) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(letter != *other);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edit_distance_counts_single_letters() {
        // The textbook example: two replaced, one inserted.
        assert_eq!(edit_distance("kitten", "sitting"), 3);
        assert_eq!(edit_distance("", "abc"), 3);
        assert_eq!(edit_distance("abc", ""), 3);
        assert_eq!(edit_distance("same", "same"), 0);
    }

    #[test]
    fn a_near_name_is_suggested_and_a_far_one_is_not() {
        let known = ["master", "left"];
        assert_eq!(nearest("mastr", known.into_iter()), Some("master"));
        assert_eq!(nearest("mass", ["at_m", "mass_kg"].into_iter()), Some("mass_kg"));
        // The nearer of two near names, wherever it stands.
        assert_eq!(nearest("piece 1", ["piece 22", "piece 11", "piece one"].into_iter()), Some("piece 11"));
        assert_eq!(nearest("Left", known.into_iter()), Some("left"));
        assert_eq!(nearest("belayer", known.into_iter()), None);
    }
}
