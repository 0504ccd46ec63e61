//! Swaps by hand: what else could take a piece's place, and what becomes of the choice with it.

use super::kept::whole;
use super::tell::mass_of;
use super::{Day, Kept, NotPlanned, fault};
use crate::figures::{mass, two_figures};
use crate::rack::Answer;
use crate::texts;
use plan::checker::{Objection, objections};
use plan::choice::{Choice, Exchange, Taken};
use plan::outing::{Need, Outing, Piece, Suit};
use plan::statement::Goal;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// The most that is offered in a piece's place one by one; past that, one of each kind.
const MOST: usize = 60;

/// A swap by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ByHand {
    /// The need, by its place in the outing from 0.
    #[serde(deserialize_with = "whole")]
    pub need: usize,
    /// What goes out.
    pub out: String,
    /// What comes in.
    #[serde(rename = "in")]
    pub into: String,
    /// How many of the times that the need takes it; a pair is one time.
    #[serde(default = "one", deserialize_with = "whole")]
    pub times: u32,
}

const fn one() -> u32 {
    1
}

/// What could take a piece's place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Other {
    /// Its label.
    pub label: String,
    /// What speaks for and against it, in few words.
    pub words: String,
}

/// A choice after swaps by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The choice.
    pub choice: Choice,
    /// What the checker says against it, in words.
    pub against: Vec<String>,
    /// What each swap changes, in words.
    pub changes: Vec<String>,
}

fn say(code: &str, values: &[(&str, String)]) -> String {
    texts::outing(code, values)
}

/// What else does for a need and is there, what is free first.
#[must_use]
pub fn others(outing: &Outing, choice: &Choice, need: usize, label: &str) -> Vec<Other> {
    let Some(now) = outing.piece(label) else { return Vec::new() };
    let asks = &outing.needs[need];
    let own = choice.taken(need);
    // One that goes for this need already is no other.
    let is_own = |piece: &Piece| own.iter().any(|taken| taken.label == piece.label && taken.count == piece.count);
    let there = outing.pieces.iter().filter(|piece| piece.stays.is_none() && piece.label != label && !is_own(piece));
    let mut found: Vec<(bool, Suit, &Piece)> = there
        .filter_map(|piece| Some((taken_of(outing, choice, piece) >= piece.count, asks.suit(piece).ok()?, piece)))
        .collect();
    found.sort_by_key(|(is_taken, suit, piece)| (*is_taken, suit.grade, outing.mass_g(piece), piece.label.clone()));
    if found.len() > MOST {
        found.dedup_by_key(|(is_taken, _, piece)| (*is_taken, Piece { label: String::new(), ..(*piece).clone() }));
        found.truncate(MOST);
    }
    let other = |(is_taken, suit, piece): (bool, Suit, &Piece)| Other {
        label: piece.label.clone(),
        words: in_few_words(outing, choice, (now, piece), &suit, is_taken.then_some(need)),
    };
    found.into_iter().map(other).collect()
}

fn in_few_words(
    outing: &Outing,
    choice: &Choice,
    (now, piece): (&Piece, &Piece),
    suit: &Suit,
    taken: Option<usize>,
) -> String {
    let is = piece.model.clone().or_else(|| Some(piece.is.shape?.code().to_owned()));
    let grams = i64::from(outing.mass_g(piece)) - i64::from(outing.mass_g(now));
    let mut parts = vec![is.unwrap_or_default(), lighter(grams)];
    parts.extend(suit.margin.map(|margin| say("hand-margin", &[("margin", two_figures(margin))])));
    parts.extend(taken.and_then(|need| other_need(outing, choice, need, &piece.label)));
    parts.retain(|part| !part.is_empty());
    parts.join(", ")
}

/// For which other need a piece goes now, in words.
fn other_need(outing: &Outing, choice: &Choice, need: usize, label: &str) -> Option<String> {
    let takes = |other: &usize| *other != need && choice.taken(*other).iter().any(|taken| taken.label == label);
    let of = (0..outing.needs.len()).find(takes)?;
    Some(say("hand-goes-for", &[("need", outing.needs[of].name.clone())]))
}

/// How many of a piece the choice takes, for all needs together.
fn taken_of(outing: &Outing, choice: &Choice, piece: &Piece) -> u32 {
    let all = (0..outing.needs.len()).flat_map(|need| choice.taken(need));
    all.filter(|taken| taken.label == piece.label).map(|taken| taken.count).sum()
}

fn lighter(grams: i64) -> String {
    let code = match grams {
        0 => "hand-as-heavy",
        1.. => "hand-heavier",
        _ => "hand-lighter",
    };
    say(code, &[("mass", mass(grams.abs()))])
}

/// Makes swaps, all at once, and judges what comes of them.
///
/// # Errors
/// Where a swap names a need that there is not, or a piece that nobody has.
pub fn by_hand(outing: &Outing, choice: &Choice, swaps: &[ByHand]) -> Result<Judged, NotPlanned> {
    let mut swapped = choice.clone().weighed(outing);
    for swap in swaps {
        if swap.need >= outing.needs.len() {
            return Err(fault("outing-no-such-need", &[("need", swap.need.to_string())]));
        }
        for label in [&swap.out, &swap.into] {
            outing.piece(label).ok_or_else(|| fault("outing-no-piece", &[("label", label.clone())]))?;
        }
    }
    for need in 0..outing.needs.len() {
        let of_need = swaps.iter().filter(|swap| swap.need == need);
        let exchange = |swap: &ByHand| Exchange { label: swap.out.clone(), to: swap.into.clone(), times: swap.times };
        let exchanges: Vec<Exchange> = of_need.map(exchange).collect();
        if !exchanges.is_empty() {
            swapped = swapped.exchanged(outing, need, &exchanges);
        }
    }
    let changes = swaps.iter().map(|swap| changed(outing, swap)).collect();
    Ok(Judged { against: against(outing, &swapped), choice: swapped, changes })
}

/// What a swap changes for its need.
fn changed(outing: &Outing, swap: &ByHand) -> String {
    let need = &outing.needs[swap.need];
    let (Some(out), Some(into)) = (outing.piece(&swap.out), outing.piece(&swap.into)) else { return String::new() };
    let names = [("need", need.name.clone()), ("out", swap.out.clone()), ("in", swap.into.clone())];
    let Ok(suit) = need.suit(into) else {
        return say("hand-unfit", &[&names[..], &[("why", misfit(need, into))]].concat());
    };
    let grams = i64::from(outing.mass_g(into)) - i64::from(outing.mass_g(out));
    let mut parts = vec![lighter(grams * i64::from(swap.times) * i64::from(need.pieces_each()))];
    if let Ok(before) = need.suit(out) {
        let margins = suit.margin.zip(before.margin).filter(|(now, was)| now != was);
        parts.extend(
            margins.map(|(now, was)| say("hand-margins", &[("now", two_figures(now)), ("was", two_figures(was))])),
        );
        for (now, was, code) in
            [(suit.grade.shape, before.grade.shape, "shape"), (suit.grade.lock, before.grade.lock, "lock")]
        {
            if now != was {
                parts.push(say(&format!("hand-{code}-{}", if now > was { "later" } else { "sooner" }), &[]));
            }
        }
    }
    say("hand-fits", &[&names[..], &[("what", parts.join("; "))]].concat())
}

fn misfit(need: &Need, piece: &Piece) -> String {
    need.suit(piece).err().map_or_else(String::new, |misfit| say(&format!("misfit-{}", misfit.code()), &[]))
}

/// What the checker says against a choice, in words, each thing once.
#[must_use]
pub fn against(outing: &Outing, choice: &Choice) -> Vec<String> {
    let mut told = Vec::new();
    for (what, place, label) in objections(outing, choice) {
        let words = objected(outing, choice, what, place, &label);
        if !told.contains(&words) {
            told.push(words);
        }
    }
    told
}

fn objected(outing: &Outing, choice: &Choice, what: Objection, place: usize, label: &str) -> String {
    let need = outing.needs.get(place).map_or_else(String::new, |need| need.name.clone());
    let mut values = vec![("need", need), ("label", label.to_owned())];
    let piece = outing.piece(label);
    if let (Objection::Stock, Some(piece)) = (what, piece) {
        let taken = taken_of(outing, choice, piece);
        values.extend([("count", piece.count.to_string()), ("taken", taken.to_string())]);
    }
    let why = outing.needs.get(place).zip(piece).map(|(need, piece)| misfit(need, piece)).unwrap_or_default();
    match what {
        Objection::Stock
        | Objection::Stays
        | Objection::Pair
        | Objection::Unit
        | Objection::Count
        | Objection::Needs => say(&format!("against-{}", what.code()), &values),
        _ => {
            values.push(("why", why));
            say("against-unfit", &values)
        }
    }
}

impl Judged {
    /// Told, against the choice before.
    #[must_use]
    pub fn told(&self, day: &Day, outing: &Outing, before: &Choice) -> Answer {
        let (was, now) = (before.clone().weighed(outing).goal(Goal::Mass), self.choice.goal(Goal::Mass));
        let over = self.choice.goal(Goal::Over);
        let verdict = say(if self.against.is_empty() { "hand-stands" } else { "hand-breaks" }, &[]);
        let weighs = say("hand-mass", &[("now", mass(now)), ("was", mass(was))]);
        let over_words = (over > 0).then(|| say("over", &[("mass", mass(over))]));
        let lines = std::iter::once(verdict).chain(self.against.iter().cloned()).chain(self.changes.iter().cloned());
        let lines: Vec<String> = lines.chain([weighs]).chain(over_words).collect();
        let json = json!({
            "title": day.file.title, "stands": self.against.is_empty(), "told": lines, "against": self.against,
            "mass_g": now, "before_g": was, "over_g": over, "margins": margins(outing, &self.choice),
            "needs": Kept::of(outing, &self.choice).needs,
        });
        let mut answer = Answer::cautioned(lines.join("\n") + "\n", json);
        answer.counts = !self.against.is_empty();
        answer
    }
}

/// With which margin each piece bears what it will see, where that is known.
fn margins(outing: &Outing, choice: &Choice) -> Value {
    let mut told = Vec::new();
    for (place, need) in outing.needs.iter().enumerate() {
        let margin = |taken: &Taken| Some((taken.label.clone(), need.suit(outing.piece(&taken.label)?).ok()?.margin?));
        let known = choice.taken(place).iter().filter_map(margin).collect::<Vec<_>>();
        told.extend(
            known.into_iter().map(|(label, margin)| json!({ "need": need.name, "label": label, "margin": margin })),
        );
    }
    json!(told)
}

/// What the pieces of each time weigh and with which margin they bear what they will see, in few words.
#[must_use]
pub fn figures(outing: &Outing, need: usize, taken: &[Taken]) -> String {
    let asks = &outing.needs[need];
    let grams = taken.iter().map(|taken| mass_of(outing, taken)).sum::<Option<u32>>();
    let margins = taken.iter().filter_map(|taken| asks.suit(outing.piece(&taken.label)?).ok()?.margin);
    let margin = margins.min_by(f64::total_cmp).map(|margin| say("hand-margin", &[("margin", two_figures(margin))]));
    let grams = grams.filter(|grams| *grams > 0).map(|grams| mass(i64::from(grams)));
    grams.into_iter().chain(margin).collect::<Vec<_>>().join(", ")
}
