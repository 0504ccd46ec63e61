//! A grammar that writes markings as people type them, and the truth behind each.

pub mod damage;

use terms::Force;
use trade::marking::{ConformitySign, RatedPosition};
use trade::standards::{Standard, TypeLetter};

/// SplitMix64: a small generator with a seed, so that every run writes the same markings.
pub struct Dice(u64);

impl Dice {
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let a = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let b = (a ^ (a >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((b ^ (b >> 31)) % sides as u64) as usize
    }

    pub fn chance(&mut self, percent: usize) -> bool {
        self.roll(100) < percent
    }

    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.roll(from.len())]
    }

    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for at in (1..list.len()).rev() {
            list.swap(at, self.roll(at + 1));
        }
    }
}

/// The mark that a piece of text belongs to; the number is that of the set of ratings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Rating(usize, RatedPosition),
    Class(usize),
    Standard(usize),
    Body,
    Uiaa,
    Year,
    Batch,
    Instructions,
    Gap,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    Sign,
    Figures,
    Unit,
    Word,
    Gap,
}

#[derive(Debug, Clone)]
pub struct Piece {
    pub of: Of,
    pub part: Part,
    pub text: String,
}

#[derive(Debug, Clone)]
pub struct TrueSet {
    pub standard: Option<Standard>,
    pub class: Option<TypeLetter>,
    pub ratings: Vec<(RatedPosition, Force)>,
}

impl TrueSet {
    pub fn rating(&self, position: RatedPosition) -> Option<Force> {
        self.ratings.iter().find(|(at, _)| *at == position).map(|(_, force)| *force)
    }
}

#[derive(Debug, Clone)]
pub struct Marking {
    pub pieces: Vec<Piece>,
    pub sets: Vec<TrueSet>,
    pub year: Option<u16>,
    pub batch: Option<String>,
    pub body: Option<(ConformitySign, String)>,
    pub uiaa: bool,
    pub instructions: bool,
}

impl Marking {
    pub fn text(&self) -> String {
        self.pieces.iter().map(|piece| piece.text.as_str()).collect()
    }
}

/// How one person types ratings.
struct Style {
    signs: [&'static str; 3],
    signs_first: bool,
    unit: UnitStyle,
    comma: bool,
    /// Between sign and figures, between figures and unit, between ratings.
    gaps: [&'static str; 3],
}

#[derive(Clone, Copy, PartialEq)]
enum UnitStyle {
    Each(&'static str),
    Last(&'static str),
    None,
    Pounds(&'static str),
    Both,
}

const SIGNS: [[&str; 3]; 9] = [
    ["↔", "⊂", "↕"],
    ["<->", "o/g", "^v"],
    ["<>", "(open)", "cross"],
    ["closed", "open", "minor"],
    ["major axis", "gate open", "minor axis"],
    ["--", "⊂", "⟂"],
    ["⇔", "open gate", "⇕"],
    ["gate closed", "open-gate", "cross-loaded"],
    ["MAJOR", "OPEN", "MINOR"],
];

fn style(dice: &mut Dice) -> Style {
    let signs = dice.pick(&SIGNS);
    let spelled = signs.iter().any(|sign| sign.contains(char::is_alphabetic));
    let unit = match dice.roll(10) {
        0..=4 => UnitStyle::Each(dice.pick(&["kN", "KN", "kn"])),
        5 | 6 => UnitStyle::Last("kN"),
        7 => UnitStyle::None,
        8 => UnitStyle::Pounds(dice.pick(&["lbf", "lbs"])),
        _ => UnitStyle::Both,
    };
    let before = if spelled || dice.chance(60) { " " } else { "" };
    Style {
        signs,
        signs_first: dice.chance(60),
        unit,
        comma: dice.chance(50),
        gaps: [before, dice.pick(&["", " "]), dice.pick(&[" ", " ", ", ", "  ", " / ", "; ", " | ", "\n"])],
    }
}

/// A marking in a random style, undamaged.
pub fn marking(dice: &mut Dice) -> Marking {
    let mut made = Marking {
        pieces: Vec::new(),
        sets: true_sets(dice),
        year: dice.chance(60).then(|| year(dice)),
        batch: dice.chance(40).then(|| format!("{}{}", dice.pick(&["A", "HX", "K-"]), 100 + dice.roll(90_000))),
        body: dice.chance(70).then(|| (dice.pick(ConformitySign::ALL), format!("{:04}", 1 + dice.roll(1800)))),
        uiaa: dice.chance(50),
        instructions: dice.chance(30),
    };
    let style = style(dice);
    let mut ratings: Vec<Vec<Piece>> = Vec::new();
    let trailing = made.sets.len() == 2 && dice.chance(30);
    for index in 0..made.sets.len() {
        ratings.push(set_pieces(dice, &mut made, index, &style, trailing));
    }
    let mut extras = extras(dice, &made);
    dice.shuffle(&mut extras);
    let split = dice.roll(extras.len() + 1);
    let groups: Vec<Vec<Piece>> =
        extras[..split].iter().cloned().chain(ratings).chain(extras[split..].iter().cloned()).collect();
    let between = dice.pick(&[" ", "  ", ", ", "; ", "\n"]);
    for (index, group) in groups.into_iter().enumerate() {
        if index > 0 {
            made.pieces.push(gap(between));
        }
        made.pieces.extend(group);
    }
    made
}

/// No year that is also an edition: behind a standard's number it could be either, and the reader says so.
fn year(dice: &mut Dice) -> u16 {
    loop {
        let year = 1985 + dice.roll(41) as u16;
        if ![1998, 2004, 2013].contains(&year) {
            return year;
        }
    }
}

fn true_sets(dice: &mut Dice) -> Vec<TrueSet> {
    use TypeLetter::{A, B, H, K, M, Q, T, X};
    let climbing = |dice: &mut Dice| dice.chance(70).then(|| dice.pick(&[B, H, K, A, T, Q, X]));
    let work = |dice: &mut Dice| dice.chance(80).then(|| dice.pick(&[B, M, T, A, Q]));
    let kinds: Vec<(Option<Standard>, Option<TypeLetter>)> = match dice.roll(10) {
        0..=2 => vec![(None, climbing(dice))],
        3..=6 => vec![(Some(Standard::En12275), climbing(dice))],
        7 => vec![(Some(Standard::En362), work(dice))],
        _ => vec![(Some(Standard::En12275), climbing(dice)), (Some(Standard::En362), work(dice))],
    };
    kinds.into_iter().map(|(standard, class)| TrueSet { standard, class, ratings: Vec::new() }).collect()
}

/// Writes the ratings of one set in a random order, and puts the forces that they stand for into the truth.
fn set_pieces(dice: &mut Dice, made: &mut Marking, index: usize, style: &Style, trailing: bool) -> Vec<Piece> {
    let mut positions = vec![RatedPosition::Closed];
    positions.extend([RatedPosition::Open, RatedPosition::Minor].into_iter().filter(|_| dice.chance(85)));
    dice.shuffle(&mut positions);
    let mut groups: Vec<Vec<Piece>> = Vec::new();
    for (place, position) in positions.iter().enumerate() {
        let last = place + 1 == positions.len();
        let (pieces, force) = rating(dice, Of::Rating(index, *position), *position, style, last);
        groups.push(pieces);
        made.sets[index].ratings.push((*position, force));
    }
    let class = made.sets[index].class.map(|letter| class_pieces(dice, index, letter));
    let standard = made.sets[index].standard.map(|standard| standard_pieces(dice, index, standard));
    let two = made.sets.len() == 2;
    let inside = dice.roll(groups.len() + 1);
    if let Some(class) = class {
        let edge = if trailing { groups.len() } else { 0 };
        groups.insert(if two { edge } else { inside }, class);
    }
    if let Some(standard) = standard {
        let last = groups.len();
        groups.insert(if (two && trailing) || (!two && dice.chance(50)) { last } else { 0 }, standard);
    }
    let mut pieces = Vec::new();
    for (place, group) in groups.into_iter().enumerate() {
        if place > 0 {
            pieces.push(gap(style.gaps[2]));
        }
        pieces.extend(group);
    }
    pieces
}

fn class_pieces(dice: &mut Dice, index: usize, letter: TypeLetter) -> Vec<Piece> {
    let code = letter.code();
    let (before, after) = dice.pick(&[("", ""), ("", ""), ("(", ")"), ("type ", ""), ("class ", "")]);
    let of = Of::Class(index);
    [(Part::Word, before), (Part::Sign, code), (Part::Word, after)]
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(part, text)| piece(of, part, text))
        .collect()
}

fn standard_pieces(dice: &mut Dice, index: usize, standard: Standard) -> Vec<Piece> {
    let of = Of::Standard(index);
    let label = dice.pick(&["EN ", "EN", "en ", "EN-"]);
    vec![piece(of, Part::Word, label), piece(of, Part::Figures, standard.code().trim_start_matches("EN "))]
}

fn rating(dice: &mut Dice, of: Of, position: RatedPosition, style: &Style, last: bool) -> (Vec<Piece>, Force) {
    let halves = match position {
        RatedPosition::Closed => 40 + dice.roll(20),
        RatedPosition::Open => 12 + dice.roll(10),
        RatedPosition::Minor => 14 + dice.roll(16),
    };
    let halves = if dice.chance(75) { halves / 2 * 2 } else { halves };
    let (mut number, force) = amount(dice, of, halves, style, last);
    let sign = style.signs[match position {
        RatedPosition::Closed => 0,
        RatedPosition::Open => 1,
        RatedPosition::Minor => 2,
    }];
    let sign = piece(of, Part::Sign, sign);
    let between = gap(style.gaps[0]);
    let mut pieces = Vec::new();
    if style.signs_first {
        pieces.extend([sign, between]);
        pieces.append(&mut number);
    } else {
        pieces.append(&mut number);
        pieces.extend([between, sign]);
    }
    (pieces, force)
}

fn amount(dice: &mut Dice, of: Of, halves: usize, style: &Style, last: bool) -> (Vec<Piece>, Force) {
    let kn = halves as f64 / 2.0;
    let mark = if style.comma { "," } else { "." };
    let text = if halves.is_multiple_of(2) { format!("{}", halves / 2) } else { format!("{}{mark}5", halves / 2) };
    let pounds = (Force::from_kn(kn).lbf() / 50.0).round() as usize * 50;
    let pounds_text =
        if dice.chance(30) { format!("{},{:03}", pounds / 1000, pounds % 1000) } else { pounds.to_string() };
    let figures = |text: &str| piece(of, Part::Figures, text);
    let unit = |unit: &str| piece(of, Part::Unit, &format!("{}{unit}", style.gaps[1]));
    match style.unit {
        UnitStyle::Each(name) => (vec![figures(&text), unit(name)], Force::from_kn(kn)),
        UnitStyle::Last(name) if last => (vec![figures(&text), unit(name)], Force::from_kn(kn)),
        UnitStyle::Last(_) | UnitStyle::None => (vec![figures(&text)], Force::from_kn(kn)),
        UnitStyle::Pounds(name) => (vec![figures(&pounds_text), unit(name)], Force::from_lbf(pounds as f64)),
        UnitStyle::Both => {
            let mut pieces = vec![figures(&text), unit("kN"), piece(of, Part::Word, " (")];
            pieces.extend([figures(&pounds_text), unit("lbf"), piece(of, Part::Word, ")")]);
            (pieces, Force::from_kn(kn))
        }
    }
}

fn extras(dice: &mut Dice, made: &Marking) -> Vec<Vec<Piece>> {
    let mut extras = Vec::new();
    if let Some((sign, number)) = &made.body {
        let gap = dice.pick(&["", " "]);
        extras.push(vec![
            piece(Of::Body, Part::Word, &format!("{}{gap}", sign.code())),
            piece(Of::Body, Part::Figures, number),
        ]);
    }
    if let Some(year) = made.year {
        let label = dice.pick(&["", "", "year ", "mfd "]);
        let month =
            if label.is_empty() && dice.chance(20) { format!("{:02}/", 1 + dice.roll(12)) } else { String::new() };
        extras.push(vec![
            piece(Of::Year, Part::Word, &format!("{label}{month}")),
            piece(Of::Year, Part::Figures, &year.to_string()),
        ]);
    }
    if let Some(batch) = &made.batch {
        let label = dice.pick(&["batch ", "lot: ", "s/n ", "serial no. "]);
        extras.push(vec![piece(Of::Batch, Part::Word, label), piece(Of::Batch, Part::Word, batch)]);
    }
    if made.uiaa {
        extras.push(vec![piece(Of::Uiaa, Part::Word, dice.pick(&["UIAA", "(UIAA)", "U.I.A.A.", "uiaa"]))]);
    }
    if made.instructions {
        extras.push(vec![piece(
            Of::Instructions,
            Part::Word,
            dice.pick(&["(i)", "[i]", "i book", "read the instructions"]),
        )]);
    }
    extras
}

pub fn piece(of: Of, part: Part, text: &str) -> Piece {
    Piece { of, part, text: text.to_owned() }
}

fn gap(text: &str) -> Piece {
    piece(Of::Gap, Part::Gap, text)
}
