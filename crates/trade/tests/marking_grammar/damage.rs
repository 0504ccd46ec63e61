//! What wear does to a marking, and what people type for it.

use super::{Dice, Marking, Of, Part, Piece};

/// Kinds of damage. What cannot be seen in the text at all is left out (`cannot_be_seen`): a figure that is dropped
/// without a trace and leaves another possible number, a batch code that runs into what stands beside it, and the like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Damage {
    /// A figure typed as `?`, `_`, `#` or `…`.
    FigureLost,
    /// A whole number typed as `?`, `??` or "illegible".
    NumberLost,
    /// A figure typed as the letter that it looks like: O, l, Z, S, B.
    FigureAsLetter,
    /// A number with a space in it.
    NumberPulledApart,
    /// A sign of position left out, or typed as `?`.
    SignLost,
    /// A type letter typed as `?`, or B as 8.
    LetterLost,
    /// A unit typed as "k?" or "?N".
    UnitLost,
    /// A space left out.
    RunTogether,
    /// More white space.
    Spaces,
    /// Upper and lower case mixed up.
    Case,
    /// A stray stroke, dot or comma between two marks.
    Speck,
}

pub const ALL: [Damage; 11] = [
    Damage::FigureLost,
    Damage::NumberLost,
    Damage::FigureAsLetter,
    Damage::NumberPulledApart,
    Damage::SignLost,
    Damage::LetterLost,
    Damage::UnitLost,
    Damage::RunTogether,
    Damage::Spaces,
    Damage::Case,
    Damage::Speck,
];

/// Damages `marking` and returns the mark that is hit; `None` if there is nothing to hit. `Gap` hits no mark.
pub fn apply(damage: Damage, marking: &mut Marking, dice: &mut Dice) -> Option<Of> {
    let at = target(damage, &marking.pieces, dice)?;
    let piece = &mut marking.pieces[at];
    match damage {
        Damage::FigureLost => replace_figure(piece, dice, |_, dice| dice.pick(&['?', '_', '#', '…']))?,
        Damage::FigureAsLetter => replace_figure(piece, dice, |figure, _| lookalike(figure).unwrap_or(figure))?,
        Damage::NumberLost => piece.text = (dice.pick(&["?", "??", " illegible "])).to_owned(),
        Damage::NumberPulledApart => {
            let chars: Vec<char> = piece.text.chars().collect();
            let cut = 1 + dice.roll(chars.len() - 1);
            piece.text = [&chars[..cut], &[' '], &chars[cut..]].concat().into_iter().collect();
        }
        Damage::SignLost => piece.text = (dice.pick(&["", "?"])).to_owned(),
        Damage::LetterLost => piece.text = if piece.text == "B" && dice.chance(50) { "8" } else { "?" }.to_owned(),
        Damage::UnitLost => {
            let gap: String = piece.text.chars().take_while(|c| *c == ' ').collect();
            piece.text = format!("{gap}{}", dice.pick(&["k?", "?N", "K_"]));
        }
        Damage::RunTogether => piece.text = piece.text.trim_matches(' ').to_owned(),
        Damage::Spaces => piece.text = format!("{}{}", piece.text, " ".repeat(1 + dice.roll(4))),
        Damage::Speck => piece.text = format!("{} {} ", piece.text, dice.pick(&["/", ".", "-", "'", ",", "*"])),
        Damage::Case => mix_case(marking, dice),
    }
    if cannot_be_seen(marking) {
        return None;
    }
    Some(if damage == Damage::Case { Of::Gap } else { marking.pieces[at].of })
}

fn target(damage: Damage, pieces: &[Piece], dice: &mut Dice) -> Option<usize> {
    let fits = |at: &usize| {
        let piece = &pieces[*at];
        match damage {
            Damage::FigureLost | Damage::NumberLost => piece.part == Part::Figures,
            Damage::FigureAsLetter => piece.part == Part::Figures && piece.text.contains(|c| lookalike(c).is_some()),
            Damage::NumberPulledApart => {
                piece.part == Part::Figures
                    && piece.text.len() > 1
                    && piece.text.starts_with(|c: char| c.is_ascii_digit())
            }
            Damage::SignLost => piece.part == Part::Sign && matches!(piece.of, Of::Rating(..)),
            Damage::LetterLost => piece.part == Part::Sign && matches!(piece.of, Of::Class(_)),
            Damage::UnitLost => piece.part == Part::Unit && piece.text.trim().eq_ignore_ascii_case("kN"),
            Damage::RunTogether => piece.part == Part::Gap && piece.text.contains(' ') && !beside_batch(pieces, *at),
            Damage::Spaces | Damage::Speck => piece.part == Part::Gap && !piece.text.is_empty(),
            Damage::Case => true,
        }
    };
    let all: Vec<usize> = (0..pieces.len()).filter(fits).collect();
    (!all.is_empty()).then(|| dice.pick(&all))
}

/// Whether the text is now an undamaged marking that means something else: an 8 typed as B, which is a type letter,
/// where a sign of position is gone too or where the B stands apart; two numbers that a lone comma makes one.
fn cannot_be_seen(marking: &Marking) -> bool {
    let pieces = &marking.pieces;
    let sign_lost = pieces.iter().any(|piece| {
        matches!(piece.of, Of::Rating(..)) && piece.part == Part::Sign && matches!(piece.text.as_str(), "" | "?")
    });
    let figures = || pieces.iter().filter(|piece| piece.part == Part::Figures && matches!(piece.of, Of::Rating(..)));
    let bare_b = figures().any(|piece| piece.text.eq_ignore_ascii_case("B"));
    let b_apart = figures().any(|piece| {
        piece.text.contains(' ') && piece.text.split([' ', ',', '.']).any(|part| part.eq_ignore_ascii_case("B"))
    });
    (sign_lost && bare_b) || b_apart || commas_join(pieces)
}

fn commas_join(pieces: &[Piece]) -> bool {
    let typed: Vec<&Piece> = pieces.iter().filter(|piece| !piece.text.is_empty()).collect();
    typed.windows(3).any(|three| {
        three[1].text == ","
            && three[0].text.ends_with(|c: char| c.is_ascii_digit())
            && three[2].text.starts_with(|c: char| c.is_ascii_digit())
    })
}

fn beside_batch(pieces: &[Piece], at: usize) -> bool {
    [at.checked_sub(1), Some(at + 1)]
        .into_iter()
        .flatten()
        .filter_map(|beside| pieces.get(beside))
        .any(|piece| piece.of == Of::Batch)
}

fn replace_figure(piece: &mut Piece, dice: &mut Dice, with: impl Fn(char, &mut Dice) -> char) -> Option<()> {
    let mut chars: Vec<char> = piece.text.chars().collect();
    let figures: Vec<usize> = (0..chars.len()).filter(|at| chars[*at].is_ascii_digit()).collect();
    if figures.is_empty() {
        return None;
    }
    let lookalikes: Vec<usize> = figures.iter().copied().filter(|at| lookalike(chars[*at]).is_some()).collect();
    let at = dice.pick(if lookalikes.is_empty() { &figures } else { &lookalikes });
    chars[at] = with(chars[at], dice);
    piece.text = chars.into_iter().collect();
    Some(())
}

const fn lookalike(figure: char) -> Option<char> {
    match figure {
        '0' => Some('O'),
        '1' => Some('l'),
        '2' => Some('Z'),
        '5' => Some('S'),
        '8' => Some('B'),
        _ => None,
    }
}

fn mix_case(marking: &mut Marking, dice: &mut Dice) {
    let way = dice.roll(3);
    for piece in &mut marking.pieces {
        let change = |c: char| match way {
            0 => c.to_ascii_uppercase(),
            1 => c.to_ascii_lowercase(),
            _ if dice.chance(50) => c.to_ascii_uppercase(),
            _ => c.to_ascii_lowercase(),
        };
        piece.text = piece.text.chars().map(change).collect();
    }
}
