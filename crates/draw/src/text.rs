//! Where text goes: its estimated width, its breaking into lines, and labels that make room for each other.

use crate::svg::Px;

/// An upright rectangle in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Area {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Area {
    pub fn around(centre: Px, width: f64, height: f64) -> Area {
        let (half, tall) = (width / 2.0, height / 2.0);
        Area { left: centre[0] - half, right: centre[0] + half, top: centre[1] - tall, bottom: centre[1] + tall }
    }

    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// The same with its left and right edges moved inwards by `by`, outwards where that is negative.
    pub fn narrowed(&self, by: f64) -> Area {
        Area { left: self.left + by, right: self.right - by, ..*self }
    }

    /// The same with every edge moved outwards.
    pub fn grown(&self, by: f64) -> Area {
        Area { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    pub fn overlaps(&self, other: &Area) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    pub fn within(&self, outer: &Area) -> bool {
        self.left >= outer.left && self.right <= outer.right && self.top >= outer.top && self.bottom <= outer.bottom
    }

    /// The part of a segment that lies inside, as fractions of it (Liang and Barsky's clipping).
    pub fn clip(&self, from: Px, to: Px) -> Option<(f64, f64)> {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let walls = [
            (-dx, from[0] - self.left),
            (dx, self.right - from[0]),
            (-dy, from[1] - self.top),
            (dy, self.bottom - from[1]),
        ];
        let mut span = (0.0_f64, 1.0_f64);
        for (towards, room) in walls {
            if towards == 0.0 && room < 0.0 {
                return None;
            } else if towards < 0.0 {
                span.0 = span.0.max(room / towards);
            } else if towards > 0.0 {
                span.1 = span.1.min(room / towards);
            }
        }
        (span.0 < span.1).then_some(span)
    }
}

/// Width of a text `size` pixels high, on the generous side for any common sans-serif.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    let ems = |letter: char| match letter {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' | '·' | '(' | ')' | '/' | 'f' | 't'
        | 'r' => 0.4,
        'm' | 'w' | 'M' | 'W' | '@' | '%' | '—' => 0.95,
        'A'..='Z' => 0.7,
        '\u{1100}'.. if !('\u{2000}'..='\u{2bff}').contains(&letter) => 1.05,
        _ => 0.61,
    };
    text.chars().map(ems).sum::<f64>() * size
}

/// A text broken at spaces, or inside words that are too long by themselves, into lines at most `room` pixels wide.
pub(crate) fn wrap(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace().flat_map(|word| pieces(word, size, room)) {
        if !line.is_empty() && width(&format!("{line} {word}"), size) > room {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(&word);
    }
    lines.extend((!line.is_empty()).then_some(line));
    lines
}

fn pieces(word: &str, size: f64, room: f64) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for letter in word.chars() {
        let last = pieces.last_mut().expect("there is always a piece");
        if !last.is_empty() && width(last, size) + width(&letter.to_string(), size) > room {
            pieces.push(String::new());
        }
        pieces.last_mut().expect("there is always a piece").push(letter);
    }
    pieces
}

/// Tops of labels that keep their order and `gap` between each other, stay between `low` and `high` where there is
/// room, and lie as near as they can (least squares) to the tops they want. `wanted` is (top, height), sorted by top.
///
/// Less the heights above it each label only has to be no higher than the one before: an isotonic regression, solved by
/// pooling adjacent violators.
pub(crate) fn spread(wanted: &[(f64, f64)], gap: f64, low: f64, high: f64) -> Vec<f64> {
    let mut total = 0.0;
    let mut above = Vec::with_capacity(wanted.len());
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (top, height) in wanted {
        above.push(total);
        pools.push((top - total, 1));
        total += height + gap;
        while let [.., before, last] = pools[..]
            && before.0 > last.0
        {
            let count = before.1 + last.1;
            pools.truncate(pools.len() - 2);
            pools.push(((before.0 * before.1 as f64 + last.0 * last.1 as f64) / count as f64, count));
        }
    }
    let most = (high - total + gap).max(low);
    let levels = pools.iter().flat_map(|(level, count)| std::iter::repeat_n(level.clamp(low, most), *count));
    levels.zip(above).map(|(level, above)| level + above).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_with_room_stay_where_they_want_to_be() {
        assert_eq!(spread(&[(10.0, 5.0), (40.0, 5.0)], 2.0, 0.0, 100.0), [10.0, 40.0]);
    }

    #[test]
    fn crowded_labels_share_the_shift_and_respect_the_ends() {
        assert_eq!(spread(&[(10.0, 6.0), (10.0, 6.0)], 2.0, 0.0, 100.0), [6.0, 14.0]);
        assert_eq!(spread(&[(95.0, 6.0), (99.0, 6.0)], 2.0, 0.0, 100.0), [86.0, 94.0]);
    }

    #[test]
    fn lines_fit_and_lose_no_letter() {
        let text = "closed 4.1–6.0 of 22 kN Donaudampfschifffahrtsgesellschaft";
        let lines = wrap(text, 12.0, 90.0);
        assert!(lines.iter().all(|line| width(line, 12.0) <= 90.0), "{lines:?}");
        assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
    }

    #[test]
    fn clipping_keeps_what_is_inside() {
        let area = Area { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 };
        assert_eq!(area.clip([5.0, 5.0], [25.0, 5.0]), Some((0.0, 0.25)));
        assert_eq!(area.clip([-5.0, 20.0], [25.0, 20.0]), None);
    }
}
