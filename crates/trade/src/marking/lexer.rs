//! From typed text to atoms: runs of digits, words, pictograms, and what could not be read.

use super::words::{self, Attr};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Digits, perhaps with one decimal separator.
    Digits,
    /// A word, or a code of letters and digits.
    Letters,
    /// Something that may be a number and cannot be read as one.
    Damaged,
    /// A letter in a circle.
    Circled,
    /// A position pictogram.
    Sign(Attr),
    /// Comma, semicolon, bar, new line.
    Break,
    /// Any other punctuation.
    Soft,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Atom {
    pub kind: Kind,
    pub text: String,
    /// No white space between this one and the one before.
    pub glued: bool,
}

impl Atom {
    pub fn is_word(&self, list: &[&str]) -> bool {
        self.kind == Kind::Letters && words::is_in(&self.text, list)
    }
}

/// Cuts `text` into atoms. Every character but white space ends up in one.
pub(super) fn atoms(text: &str) -> Vec<Atom> {
    let chars: Vec<char> = plain(text).chars().collect();
    let mut found = Vec::new();
    let mut at = 0;
    let mut glued = false;
    while at < chars.len() {
        let (kinds, end) = next(&chars, at);
        for (kind, text) in kinds {
            found.push(Atom { kind, text, glued });
            glued = true;
        }
        glued = glued && !chars[at].is_whitespace();
        at = end;
    }
    mark_halves(&mut found);
    found
}

/// Figures with a point or comma between them that was taken for no decimal mark may be the halves of a number.
fn mark_halves(atoms: &mut [Atom]) {
    let figure = |atom: &Atom| matches!(atom.kind, Kind::Digits | Kind::Damaged) && atom.text.chars().count() <= 3;
    for at in 1..atoms.len() {
        let tail = atoms[at].glued && figure(&atoms[at]);
        if !tail || !matches!(atoms[at - 1].text.as_str(), "," | ".") {
            continue;
        }
        let before = at.checked_sub(2).filter(|_| atoms[at - 1].glued);
        let is_word = |before: usize| {
            let last = atoms[before].text.chars().next_back();
            last.is_some_and(|c| c.is_alphabetic() && !words::may_be_figure(c))
                || matches!(atoms[before].kind, Kind::Sign(_))
        };
        if !before.is_some_and(is_word) {
            atoms[at].kind = Kind::Damaged;
            atoms[at - 1].kind = Kind::Soft;
        }
        if let Some(head) = before.filter(|before| figure(&atoms[*before])) {
            atoms[head].kind = Kind::Damaged;
        }
    }
}

/// Without the points of "U.I.A.A.", and with one sign for three points.
fn plain(text: &str) -> String {
    let mut plain = text.replace("...", "…");
    while let Some(at) = plain.to_ascii_lowercase().find("u.i.a.a") {
        plain.replace_range(at..at + "u.i.a.a".len(), "UIAA");
    }
    plain
}

fn next(chars: &[char], at: usize) -> (Vec<(Kind, String)>, usize) {
    let here = chars[at];
    if let Some((attr, end)) = pictogram(chars, at) {
        return (vec![(Kind::Sign(attr), chars[at..end].iter().collect())], end);
    }
    if is_word_char(here) {
        let end = word_end(chars, at);
        return (split_word(&chars[at..end]), end);
    }
    let kind = match here {
        '\n' | ',' | ';' | '|' | '•' | '·' => Kind::Break,
        'Ⓐ'..='Ⓩ' => {
            let letter = char::from_u32(here as u32 - 'Ⓐ' as u32 + 'A' as u32).unwrap_or(here);
            return (vec![(Kind::Circled, letter.to_string())], at + 1);
        }
        _ if here.is_whitespace() => return (Vec::new(), at + 1),
        _ => Kind::Soft,
    };
    (vec![(kind, here.to_string())], at + 1)
}

fn pictogram(chars: &[char], at: usize) -> Option<(Attr, usize)> {
    words::PICTOGRAMS.iter().find_map(|(sign, attr)| {
        let end = at + sign.chars().count();
        let same = end <= chars.len()
            && sign.chars().zip(&chars[at..end]).all(|(wanted, typed)| typed.to_ascii_lowercase() == wanted);
        let spelled = sign.starts_with(char::is_alphabetic);
        let alone = may_start(chars, at) && !chars.get(end).is_some_and(|c| is_word_char(*c));
        (same && (!spelled || alone)).then_some((*attr, end))
    })
}

/// Whether a sign in letters may start here: at the head of a word, behind a figure or behind a unit.
fn may_start(chars: &[char], at: usize) -> bool {
    let before: String = chars[at.saturating_sub(2)..at].iter().collect::<String>().to_ascii_lowercase();
    !before.ends_with(char::is_alphabetic) || ["kn", "bf", "bs", "lb"].contains(&before.as_str())
}

fn is_word_char(c: char) -> bool {
    (c.is_alphanumeric() && !('Ⓐ'..='Ⓩ').contains(&c)) || words::is_damage(c)
}

fn word_end(chars: &[char], start: usize) -> usize {
    let mut end = start;
    while end < chars.len() {
        let inner = end > start && end + 1 < chars.len();
        let joins = inner && (is_decimal_mark(chars, start, end) || is_apostrophe(chars, end));
        if !is_word_char(chars[end]) && !joins || pictogram(chars, end).is_some() {
            break;
        }
        end += 1;
    }
    end
}

fn is_apostrophe(chars: &[char], at: usize) -> bool {
    matches!(chars[at], '\'' | '’') && chars[at - 1].is_alphabetic() && chars[at + 1].is_alphabetic()
}

/// A point or comma between one or two figures and one to three, in no longer chain, is taken for a decimal mark
/// (or, with three behind it, for a mark of thousands). Letters that look like figures count as such.
fn is_decimal_mark(chars: &[char], start: usize, at: usize) -> bool {
    let figure = |c: &&char| words::may_be_figure(**c);
    let before = chars[start..at].iter().rev().take_while(figure).count();
    let rest = &chars[at + 1..];
    let after = (0..rest.len()).take_while(|at| figure(&&rest[*at]) && !starts_unit(&rest[*at..])).count();
    let (head, tail) = (at - before, at + 1 + after);
    let is_mark = |c: Option<&char>| matches!(c, Some('.' | ','));
    let chained = (head > start && is_mark(chars.get(head - 1)))
        || (is_mark(chars.get(tail)) && chars.get(tail + 1).is_some_and(|c| figure(&c)));
    let bounded = (head == start || !chars[head - 1].is_alphanumeric()) && is_word_end(&chars[tail..]);
    is_mark(chars.get(at)) && (1..=2).contains(&before) && (1..=3).contains(&after) && !chained && bounded
}

/// Whether figures may end here: at a unit, or at anything that is no letter.
fn is_word_end(rest: &[char]) -> bool {
    rest.first().is_none_or(|c| !c.is_alphanumeric()) || starts_unit(rest)
}

fn starts_unit(rest: &[char]) -> bool {
    let head: String = rest.iter().take(2).collect::<String>().to_ascii_lowercase();
    ["k", "lb", "n"].iter().any(|unit| head.starts_with(unit))
}

fn split_word(word: &[char]) -> Vec<(Kind, String)> {
    let text: String = word.iter().collect();
    if word.iter().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',')) {
        return vec![(Kind::Digits, text)];
    }
    known_parts(word).unwrap_or_else(|| peel(&text))
}

/// The parts of a word in which every run of letters is known and no letter can be a figure misread.
fn known_parts(word: &[char]) -> Option<Vec<(Kind, String)>> {
    let is_letter = |c: &char| c.is_alphabetic() || matches!(c, '\'' | '’');
    let damaged = word.iter().any(|c| words::is_damage(*c));
    let runs: Vec<&[char]> = word.chunk_by(|a, b| is_letter(a) == is_letter(b)).collect();
    let mut parts = Vec::new();
    for (index, run) in runs.iter().enumerate() {
        let text: String = run.iter().collect();
        if !is_letter(&run[0]) {
            let whole = !run.iter().any(|c| words::is_damage(*c));
            parts.push((if whole { Kind::Digits } else { Kind::Damaged }, text));
            continue;
        }
        let segments = words::segments(&text)?;
        let plain = !damaged || segments.iter().all(|segment| segment.chars().count() > 1);
        if !plain || !may_join(&segments, index > 0, index + 1 < runs.len()) {
            return None;
        }
        parts.extend(segments.into_iter().map(|segment| (Kind::Letters, segment)));
    }
    Some(parts)
}

fn may_join(segments: &[String], after_figures: bool, before_figures: bool) -> bool {
    let solid = |segment: &String| segment.chars().count() > 1 || words::is_in(segment, words::UNMISTAKABLE_LETTERS);
    let is_unit = |segment: &String| words::unit(segment).is_some();
    let unit_leads = segments.iter().skip(1).all(|segment| !is_unit(segment));
    let first = !after_figures || solid(&segments[0]) || is_unit(&segments[0]);
    let last = !before_figures || segments.last().is_some_and(solid);
    unit_leads && first && last
}

/// Takes a known prefix ("CE") and a unit off a word that is not known as a whole, and judges what is left.
fn peel(word: &str) -> Vec<(Kind, String)> {
    let (prefix, rest) = words::split_prefix(word);
    let (core, unit) = words::split_unit(rest);
    let kind = if !unit.is_empty() || words::may_be_number(core) { Kind::Damaged } else { Kind::Letters };
    [(Kind::Letters, prefix), (kind, core), (Kind::Letters, unit)]
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(kind, text)| (kind, text.to_owned()))
        .collect()
}
