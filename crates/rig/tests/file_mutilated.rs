//! Whatever stands in a file, reading it ends in a rig or in faults that lie inside the text.

use std::path::Path;

/// A small generator (xorshift64, G. Marsaglia, "Xorshift RNGs", 2003): the same files in every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % bound.max(1) as u64).expect("below a usize")
    }
}

/// What people and editors leave behind, and what parsers stumble over.
const SCRAPS: [&str; 16] =
    ["\"", "'''", "[", "]", "[[", "{", "}", "=", ",", "\n", "nan", "-1", "1e400", "\u{feff}", "山", "name = \"bolt\""];

fn valid_files() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../validation/contract");
    let entries = std::fs::read_dir(folder).expect("the contract's rigs are there");
    let paths = entries.map(|entry| entry.expect("a readable folder").path());
    let mut files: Vec<_> = paths.filter(|path| path.extension().is_some_and(|end| end == "toml")).collect();
    files.sort();
    files.iter().map(|path| std::fs::read_to_string(path).expect("a readable file")).collect()
}

fn mutilate_bytes(text: &str, dice: &mut Dice) -> String {
    let mut bytes = text.as_bytes().to_vec();
    let place = dice.below(bytes.len());
    match dice.below(4) {
        0 => drop(bytes.remove(place)),
        1 => bytes.insert(place, bytes[place]),
        2 => bytes[place] = u8::try_from(dice.below(256)).expect("a byte"),
        _ => drop(bytes.splice(place..place, SCRAPS[dice.below(SCRAPS.len())].bytes())),
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

fn mutilate_lines(text: &str, dice: &mut Dice) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    let (place, other) = (dice.below(lines.len()), dice.below(lines.len()));
    match dice.below(4) {
        0 => drop(lines.remove(place)),
        1 => lines.insert(place, lines[other]),
        2 => lines.swap(place, other),
        _ => lines[place] = lines[other],
    }
    lines.join(if dice.below(8) == 0 { "\r\n" } else { "\n" })
}

/// Reads `text`; whether it was faulty.
fn is_faulty(text: &str) -> bool {
    let Err(faults) = rig::read(text, "rig.toml") else { return false };
    assert!(!faults.list().is_empty(), "{text}");
    let mut last = 0;
    for fault in faults.list() {
        assert!(last <= fault.span.start && fault.span.end <= text.len(), "{fault:?} in\n{text}");
        assert!(fault.line >= 1 && fault.line <= text.matches('\n').count() + 1, "{fault:?} in\n{text}");
        assert!(!fault.message.is_empty() && !fault.help.is_empty(), "{fault:?} in\n{text}");
        last = fault.span.start;
    }
    true
}

#[test]
fn mutilated_files_are_read_or_refused() {
    let files = valid_files();
    let mut dice = Dice(0x5EED);
    let (mut faulty, mut read) = (0, 0);
    for round in 0..20_000 {
        let mut text = files[round % files.len()].clone();
        for _ in 0..=dice.below(3) {
            text = if dice.below(2) == 0 { mutilate_bytes(&text, &mut dice) } else { mutilate_lines(&text, &mut dice) };
        }
        if is_faulty(&text) { faulty += 1 } else { read += 1 }
    }
    // Both ways out were taken often: a changed title does no harm, a lost quote does.
    assert!(faulty > 1000 && read > 1000, "{faulty} faulty, {read} read");
}

#[test]
fn a_file_cut_off_anywhere_is_read_or_refused() {
    for text in valid_files() {
        let cuts = text.char_indices().map(|(place, _)| place);
        let faulty = cuts.filter(|cut| is_faulty(&text[..*cut])).count();
        assert!(faulty > text.len() / 2, "{faulty} of {} cuts", text.len());
    }
}

#[test]
fn deep_nesting_is_refused() {
    let deep = 100_000;
    assert!(is_faulty(&format!("case = {}", "[".repeat(deep))));
    assert!(is_faulty(&format!("case = {}1{}", "[".repeat(deep), "]".repeat(deep))));
    assert!(is_faulty(&format!("case = {}", "{ a = ".repeat(deep))));
    assert!(is_faulty(&format!("{}case = 1", "a.".repeat(deep))));
    assert!(is_faulty(&format!("[{}a]", "a.".repeat(deep))));
}
