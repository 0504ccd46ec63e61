//! Which number belongs to which sign of position.
//!
//! Signs stand before their numbers or behind them. A number is given a position only where every way of reading the
//! text gives it the same one.

use super::amount::{self, Amount, Units};
use super::reading::RatedPosition;
use super::token::Token;
use super::words::Attr;

/// What stands in a stretch of text, as far as ratings go.
#[derive(Debug, Clone, PartialEq)]
enum Item {
    At(RatedPosition),
    Of(Amount),
    Break,
    /// A mark of another kind: no sign reaches over it.
    Wall,
}

/// What the signs of position got, and what is left over.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Pairing {
    /// Each sign in the order of the text, and its number if that can be told.
    pub placed: Vec<(RatedPosition, Option<Amount>)>,
    pub unplaced: Vec<Amount>,
}

pub(super) fn pair_up(tokens: &[Token]) -> Pairing {
    let plain = items(tokens, false);
    let pairs = by_groups(&plain).or_else(|| agreed(&plain));
    let (items, pairs) = match pairs {
        Some(pairs) => (plain, pairs),
        None => {
            let all = items(tokens, true);
            let pairs = agreed(&all).unwrap_or_default();
            if pairs.is_empty() { (plain, pairs) } else { (all, pairs) }
        }
    };
    collect(&items, &pairs)
}

fn collect(items: &[Item], pairs: &[(usize, usize)]) -> Pairing {
    let mut found = Pairing::default();
    for (index, item) in items.iter().enumerate() {
        match item {
            Item::At(position) => {
                let number = pairs.iter().find(|(sign, _)| *sign == index).map(|(_, number)| &items[*number]);
                let amount =
                    number.and_then(|item| if let Item::Of(amount) = item { Some(amount.clone()) } else { None });
                found.placed.push((*position, amount));
            }
            Item::Of(amount) if !pairs.iter().any(|(_, number)| *number == index) => {
                found.unplaced.push(amount.clone())
            }
            _ => {}
        }
    }
    found
}

fn items(tokens: &[Token], last_resort: bool) -> Vec<Item> {
    let units = Units::of(tokens);
    let mut found = Vec::new();
    let mut at = 0;
    let mut adjacent = false;
    while at < tokens.len() {
        let (taken, item) = item(&tokens[at..], units, last_resort);
        at += taken;
        if let Some(item) = item {
            join(&mut found, item, adjacent);
            adjacent = true;
        } else if tokens[at - 1] != Token::Filler {
            run_on(&mut found, &tokens[at - 1], adjacent);
            adjacent = false;
        }
    }
    found
}

/// Where a letter that may be a figure stands right behind a number that may go on, the number is read as neither.
fn run_on(found: &mut [Item], token: &Token, adjacent: bool) {
    if let (Token::Class { letter, labelled: false, .. }, Some(Item::Of(last)), true) =
        (token, found.last_mut(), adjacent)
        && amount::may_run_on(last, *letter)
    {
        *last = amount::illegible(&format!("{} {}", last.typed, letter.code()), last.optional);
    }
}

fn item(tokens: &[Token], units: Units, last_resort: bool) -> (usize, Option<Item>) {
    if let Some((taken, position)) = position(tokens) {
        return (taken, position.map(Item::At));
    }
    let first = &tokens[0];
    let amount = amount::amount(first, units).or_else(|| amount::run_on_body(tokens));
    let amount = if last_resort { amount.or_else(|| amount::last_resort(first)) } else { amount };
    let item = match first {
        Token::Break => Some(Item::Break),
        other if amount.is_none() && is_other_mark(other) => Some(Item::Wall),
        _ => amount.map(Item::Of),
    };
    (1, item)
}

const fn is_other_mark(token: &Token) -> bool {
    matches!(
        token,
        Token::Standard { .. }
            | Token::StandardIllegible(_)
            | Token::OtherStandard(_)
            | Token::Conformity(..)
            | Token::Uiaa(_)
            | Token::Year(_)
            | Token::YearOrEdition(_)
            | Token::Batch { .. }
            | Token::Instructions
            | Token::Number { .. }
    )
}

/// Adds an item; two amounts side by side become one where they are one figure in two units, or may be one number.
fn join(found: &mut Vec<Item>, next: Item, adjacent: bool) {
    let over_comma = matches!(found[..], [.., Item::Of(_), Item::Break]);
    let before = found.len().checked_sub(if over_comma { 2 } else { 1 });
    if let (Some(before), Item::Of(second)) = (before.filter(|_| adjacent), &next)
        && let Item::Of(first) = &found[before]
    {
        let one = amount::pair(first, second).or_else(|| amount::fused(first, second));
        if let Some(one) = one.filter(|_| !over_comma || may_span_comma(first, second)) {
            found.truncate(before);
            let beside = matches!(found.last(), Some(Item::Of(_)));
            join(found, Item::Of(one), beside);
            return;
        }
    }
    match (found.last_mut(), &next) {
        // A sign does not reach over two commas.
        (Some(last @ Item::Break), Item::Break) => *last = Item::Wall,
        _ => found.push(next),
    }
}

/// A comma may stand inside a number, or between two figures of one rating; not beside a lone sign of damage.
fn may_span_comma(first: &Amount, second: &Amount) -> bool {
    let figures = |amount: &Amount| amount.typed.contains(|c: char| c.is_ascii_digit());
    let letter = |amount: &Amount| amount.typed.len() == 1 && amount.typed.contains(char::is_alphabetic);
    let legible = first.force.is_ok() && second.force.is_ok();
    legible || (figures(first) && !first.has_unit && (figures(second) || letter(second) || second.has_unit))
}

/// The position that one sign, or several side by side, stand for; `None` inside where they exclude each other.
fn position(tokens: &[Token]) -> Option<(usize, Option<RatedPosition>)> {
    let mut signs = Vec::new();
    let mut taken = 0;
    for (index, token) in tokens.iter().enumerate() {
        match token {
            Token::Position(attr) => {
                let together = signs.is_empty() || meaning(&[signs.as_slice(), &[*attr]].concat()).is_some();
                if !together {
                    break;
                }
                signs.push(*attr);
                taken = index + 1;
            }
            Token::Filler if !signs.is_empty() => {}
            // "major axis, gate open: 7 kN"
            Token::Break
                if matches!(signs[..], [Attr::Major | Attr::Minor]) && opens_with_gate(&tokens[index + 1..]) => {}
            _ => break,
        }
    }
    (!signs.is_empty()).then(|| (taken, meaning(&signs)))
}

fn opens_with_gate(tokens: &[Token]) -> bool {
    let first = tokens.iter().find(|token| **token != Token::Filler);
    matches!(first, Some(Token::Position(Attr::GateOpen | Attr::GateClosed)))
}

fn meaning(signs: &[Attr]) -> Option<RatedPosition> {
    let has = |attr| signs.contains(&attr);
    match (has(Attr::Major), has(Attr::Minor), has(Attr::GateOpen), has(Attr::GateClosed)) {
        (_, false, true, false) => Some(RatedPosition::Open),
        (_, false, false, _) => Some(RatedPosition::Closed),
        (false, true, false, _) => Some(RatedPosition::Minor),
        _ => None,
    }
}

/// Commas that set off one sign with one number each decide, if they do so throughout and in one order.
fn by_groups(items: &[Item]) -> Option<Vec<(usize, usize)>> {
    let indexed: Vec<(usize, &Item)> = items.iter().enumerate().collect();
    let groups = indexed.split(|(_, item)| matches!(item, Item::Break | Item::Wall));
    let mut pairs = Vec::new();
    let mut bare = 0;
    for group in groups.filter(|group| !group.is_empty()) {
        match group {
            [(a, Item::At(_)), (b, Item::Of(_))] | [(b, Item::Of(_)), (a, Item::At(_))] => pairs.push((*a, *b)),
            _ if group.iter().all(|(_, item)| matches!(item, Item::Of(_))) => bare += 1,
            _ => return None,
        }
    }
    let one_order = pairs.iter().all(|(a, b)| a < b) || pairs.iter().all(|(a, b)| b < a);
    let enough = pairs.len() >= 2 || (pairs.len() == 1 && bare == 0);
    (enough && (one_order || bare == 0)).then_some(pairs)
}

/// What all ways of reading agree on; `None` if there is no way in which every sign has a number.
fn agreed(items: &[Item]) -> Option<Vec<(usize, usize)>> {
    let mut ways: Vec<Vec<(usize, usize)>> = Vec::new();
    for (signs_first, with_optional) in [(true, true), (true, false), (false, true), (false, false)] {
        ways.extend(way(items, signs_first, with_optional));
    }
    if ways.iter().any(|way| is_possible(items, way)) {
        ways.retain(|way| is_possible(items, way));
    }
    let (first, others) = ways.split_first()?;
    Some(first.iter().filter(|pair| others.iter().all(|way| way.contains(pair))).copied().collect())
}

fn way(items: &[Item], signs_first: bool, with_optional: bool) -> Option<Vec<(usize, usize)>> {
    let counts = |item: &Item| match item {
        Item::At(_) | Item::Wall => true,
        Item::Of(amount) => with_optional || !amount.optional,
        Item::Break => false,
    };
    let row: Vec<usize> = (0..items.len()).filter(|index| counts(&items[*index])).collect();
    let mut pairs = Vec::new();
    for (place, sign) in row.iter().enumerate().filter(|(_, index)| matches!(items[**index], Item::At(_))) {
        let number = if signs_first { row.get(place + 1) } else { place.checked_sub(1).and_then(|at| row.get(at)) };
        pairs.push((*sign, *number.filter(|index| matches!(items[**index], Item::Of(_)))?));
    }
    (!pairs.is_empty()).then_some(pairs)
}

/// No connector bears more with its gate open, or across, than along its spine with its gate closed.
fn is_possible(items: &[Item], way: &[(usize, usize)]) -> bool {
    let forces = |wanted_closed: bool| {
        way.iter().filter_map(move |(sign, number)| match (&items[*sign], &items[*number]) {
            (Item::At(position), Item::Of(amount)) if (*position == RatedPosition::Closed) == wanted_closed => {
                amount.force.ok()
            }
            _ => None,
        })
    };
    forces(true).all(|closed| forces(false).all(|other| other <= closed))
}

#[cfg(test)]
mod tests {
    use super::super::{lexer, token};
    use super::*;

    fn placed(text: &str) -> Vec<(RatedPosition, Option<String>)> {
        let pairing = pair_up(&token::tokens(&lexer::atoms(text)));
        pairing.placed.into_iter().map(|(position, amount)| (position, amount.map(|amount| amount.typed))).collect()
    }

    fn all(of: [&str; 3]) -> Vec<(RatedPosition, Option<String>)> {
        let [closed, minor, open] = of.map(|typed| Some(typed.to_owned()));
        vec![(RatedPosition::Closed, closed), (RatedPosition::Minor, minor), (RatedPosition::Open, open)]
    }

    #[test]
    fn signs_before_or_behind_their_numbers() {
        assert_eq!(placed("↔ 22 ↕ 8 ⊂ 7"), all(["22", "8", "7"]));
        assert_eq!(placed("22 ↔ 8 ↕ 7 ⊂"), all(["22", "8", "7"]));
        assert_eq!(placed("22 kN closed, minor 8 kN, 7 kN open"), all(["22 kN", "8 kN", "7 kN"]));
    }

    #[test]
    fn a_lost_sign_at_the_edge_leaves_nothing_certain() {
        assert_eq!(placed("22 ↕ 8 ⊂ 7"), vec![(RatedPosition::Minor, None), (RatedPosition::Open, None)]);
    }

    #[test]
    fn figures_pulled_apart_are_no_number() {
        assert_eq!(placed("↔ 2 2 kN ↕ 8 kN ⊂ 7 kN"), all(["2 2 kN", "8 kN", "7 kN"]));
    }
}
