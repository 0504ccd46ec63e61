//! Days out of a large school, all of it invented, the same for the same seed: outing files as text.
//!
//! Twenty stations ask for six things each. Nine pieces in ten are new ones of a model, one in ten was weighed and used by itself. Most days
//! can be met in full; now and then pears, long ropes or connectors for via ferratas run short, and half of them have a budget.

use crate::rack::Chance;
use std::fmt::Write as _;

/// How large a day is.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    /// Labels, one piece each.
    pub pieces: u64,
    /// Models.
    pub models: u64,
    /// Needs.
    pub needs: u64,
}

/// What was asked for: 2,000 pieces of at least 100 models, and 120 needs.
pub const LARGE: Size = Size { pieces: 2000, models: 112, needs: 120 };

/// What a station asks for; its number decides among variants.
const ASKS: u64 = 6;
/// Pieces of a set.
const SET: u64 = 8;

/// The outing file of a seed.
#[must_use]
pub fn text(size: Size, seed: u64) -> String {
    let mut day = Writer { text: String::new(), chance: Chance(seed.wrapping_mul(0x5851_f42d_4c95_7f2d)) };
    day.line("title", &quoted(&format!("Day {seed} of an invented school")));
    day.line("day", &quoted("2026-05-09"));
    if day.chance.below(2) == 0 {
        let grams = size.needs * (300 + day.chance.below(250));
        day.line("budget_kg", &format!("{}.{:03}", grams / 1000, grams % 1000));
    }
    for number in 0..size.needs {
        day.need(number);
    }
    let models: Vec<String> = (0..size.models).map(|number| day.model(number)).collect();
    for number in 0..size.pieces {
        day.piece(number, &models);
    }
    day.text
}

fn quoted(text: &str) -> String {
    format!("\"{text}\"")
}

/// A file in the making.
struct Writer {
    text: String,
    chance: Chance,
}

impl Writer {
    fn line(&mut self, key: &str, value: &str) {
        let _ = writeln!(self.text, "{key} = {value}");
    }

    fn of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[usize::try_from(self.chance.below(choices.len() as u64)).unwrap_or(0)]
    }

    fn need(&mut self, number: u64) {
        let station = number / ASKS;
        let (duty, times) = match number % ASKS {
            0 => ("belay", 4),
            1 => ("master-point", 3),
            2 => ("anchor-point", 6),
            3 => (self.of(&["rappel", "munter", "lower", "redirect", "via-ferrata", "glacier-tie-in"]), 1),
            4 => (self.of(&["friction-hitch-backup", "tether", "guide-mode-hang", "pulley", "aid", "hitch-cord"]), 2),
            _ => (self.of(&["runner-bolt-end", "runner-rope-end", "draw", "rope", "rope"]), 6),
        };
        self.text += "\n[[need]]\n";
        self.line("name", &quoted(&format!("station {station}: {duty} ({number})")));
        self.line("duty", &quoted(duty));
        self.line("times", &(if duty == "rope" { 1 } else { times }).to_string());
        match duty {
            "belay" | "rappel" | "lower" if self.chance.below(2) == 0 => {
                let manual = self.of(&[
                    "{ shapes = [\"pear\", \"D\", \"offset-D\"] }",
                    "{ shapes = [\"pear\"] }",
                    "{ shapes = [\"pear\", \"offset-D\"], locks = [\"screw\", \"three-action\"] }",
                ]);
                self.line("manual", manual);
            }
            "master-point" | "anchor-point" | "redirect" => {
                let (kn, tenths) = (3 + self.chance.below(7), self.chance.below(10));
                self.line("load_kn", &format!("{{ closed = {kn}.{tenths} }}"));
                if duty == "master-point" && self.chance.below(4) == 0 {
                    self.line("mixed_locks", "true");
                }
            }
            "rope" => {
                let least = self.of(&[30, 40, 50, 60]);
                self.line("at_least_m", &least.to_string());
            }
            _ => {}
        }
    }

    /// What all pieces of a model have in common, but for mass and use.
    fn model(&mut self, number: u64) -> String {
        let connector = |letter: &str, shape: &str, lock: &str, size: &str, kn: u64, open: u64, minor: u64| {
            format!(
                "gear = \"connector\"\nmodel = \"Model {number}\"\nmarking = \"EN 12275 {letter} <-> {kn} kN open {open} cross {minor} CE 0123\"\n\
                 shape = \"{shape}\"\ngate = \"solid\"\nlock = \"{lock}\"\nsize = \"{size}\"\n"
            )
        };
        let other = |gear: &str| format!("gear = \"{gear}\"\nmodel = \"Model {number}\"\n");
        let lock = self.of(&["screw", "screw", "two-action", "three-action"]);
        let size = self.of(&["S", "M", "L"]);
        let kn = self.of(&[20, 22, 22, 24]);
        match number % 16 {
            0..=1 => connector("H", "pear", lock, size, kn, 7, 7),
            2..=4 => connector("B", "offset-D", lock, size, kn, 8, 8),
            5..=6 => connector("B", "D", lock, size, kn, 8, 8),
            7 => connector("X", "oval", lock, size, 20, 6, 7),
            8..=9 => connector("B", "D", "none", size, kn, 9, 7),
            10..=11 => connector("B", "offset-D", "none", size, kn, 9, 7),
            12 => connector("K", "offset-D", self.of(&["two-action", "three-action"]), "L", 30, 10, 10),
            13 => other("draw"),
            14 => other("cord"),
            _ => {
                let length = self.of(&[30, 40, 50, 60, 60, 70]);
                other("rope") + &format!("length_m = {length}\ndiameter_mm = {}.{}\n", 9, self.chance.below(9))
            }
        }
    }

    fn piece(&mut self, number: u64, models: &[String]) {
        let model = self.chance.below(models.len() as u64);
        // A school has fewer ropes than connectors.
        let model = if model % 16 == 15 && self.chance.below(8) > 0 { model - 7 } else { model };
        let usual = match model % 16 {
            0..=1 => 70 + model % 30,
            15 => 1900 + 37 * (model % 60),
            13 => 90 + model % 25,
            14 => 60 + model % 20,
            8..=11 => 28 + model % 20,
            _ => 45 + model % 40,
        };
        self.text += "\n[[piece]]\n";
        self.line("label", &quoted(&format!("P-{number:04}")));
        self.text += &models[usize::try_from(model).unwrap_or(0)];
        if self.chance.below(10) == 0 {
            let own = usual + self.chance.below(7);
            self.line("mass_g", &own.to_string());
            let days = 1 + self.chance.below(90);
            self.line("days_used", &days.to_string());
            if self.chance.below(8) == 0 {
                self.line("lives_on", &quoted("bolt"));
            }
        } else {
            self.line("mass_g", &usual.to_string());
        }
        // One piece in ten belongs to a guide's own set.
        if number % 80 < SET {
            self.line("set", &quoted(&format!("set {}", number / 80)));
        }
    }
}
