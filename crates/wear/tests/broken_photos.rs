//! Broken photos by the thousand: whatever the bytes, reading them ends with an answer.
//!
//! Photos of the fuzzer's corpus are changed at random from a fixed seed. No coverage guides this, unlike `scripts/fuzz`; it needs
//! nothing but the stable toolchain, and does the same work on every machine.

use std::collections::BTreeMap;
use wear::measure::{Settings, read};

/// How many broken photos: about half a minute of one core.
const COUNT: usize = 3000;

/// SplitMix64 (Steele, Lea and Flood, Fast splittable pseudorandom number generators, OOPSLA 2014).
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((bits ^ (bits >> 31)) % end.max(1) as u64) as usize
    }

    /// A place in a photo: in every second case near its start, where the heads are.
    fn place(&mut self, bytes: &[u8]) -> usize {
        let end = if self.below(2) == 0 { bytes.len().min(700) } else { bytes.len() };
        self.below(end)
    }
}

fn corpus() -> Vec<Vec<u8>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fuzz/corpus/read");
    let mut paths: Vec<_> =
        std::fs::read_dir(folder).expect("the corpus").map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).expect("a photo")).collect()
}

/// One to four changes: a byte, a run of noise, a part cut out, doubled, or taken from another photo.
fn broken(chance: &mut Chance, photos: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = photos[chance.below(photos.len())].clone();
    for _ in 0..=chance.below(4) {
        let start = chance.place(&bytes);
        let end = (start + 1 + chance.below(64)).min(bytes.len());
        match chance.below(6) {
            0 | 1 if start < bytes.len() => bytes[start] = chance.below(256) as u8,
            2 => bytes[start..end].fill_with(|| chance.below(256) as u8),
            3 => drop(bytes.drain(start..end)),
            4 => {
                let part = bytes[start..end].to_vec();
                bytes.splice(start..start, part);
            }
            _ => {
                let other = &photos[chance.below(photos.len())];
                let from = chance.place(other);
                bytes.splice(start..end, other[from..(from + 64).min(other.len())].to_vec());
            }
        }
    }
    bytes
}

#[test]
fn every_broken_photo_gets_an_answer() {
    let photos = corpus();
    assert!(photos.len() >= 6, "{} photos in the corpus", photos.len());
    let mut chance = Chance(20_261_125);
    let mut answers: BTreeMap<&str, usize> = BTreeMap::new();
    for _ in 0..COUNT {
        let answer = read(&broken(&mut chance, &photos), &Settings::default());
        *answers.entry(answer.map_or_else(|trouble| trouble.code.code(), |_| "read")).or_default() += 1;
    }
    println!("{answers:?}");
    // The changes reach both the decoder and what comes behind it.
    assert!(
        answers["unreadable"] > COUNT / 20 && answers["read"] + answers["too-few-marks"] > COUNT / 20,
        "{answers:?}"
    );
}
