//! Ten thousand markings written by a grammar, most of them damaged: no number is ever read wrongly, and nearly all
//! that is legible is read.
//!
//! The reader was written against these ten thousand. Of 300,000 others, looked at once, thirteen were read wrongly, all
//! with two to four damages, none with one.

mod marking_grammar;

use marking_grammar::damage::{self, Damage};
use marking_grammar::{Dice, Marking, Of, TrueSet, marking};
use terms::Force;
use trade::marking::{Mark, RatedPosition, RatingSet, Reading, read};

const MARKINGS: u64 = 10_000;

struct Case {
    truth: Marking,
    text: String,
    hits: Vec<(Damage, Of)>,
}

/// Three in ten undamaged, half with one damage, the rest with two to four.
fn case(seed: u64) -> Case {
    let mut dice = Dice::new(seed);
    let truth = marking(&mut dice);
    let mut worn = truth.clone();
    let wanted = match dice.roll(10) {
        0..=2 => 0,
        3..=7 => 1,
        _ => 2 + dice.roll(3),
    };
    let mut hits = Vec::new();
    while hits.len() < wanted {
        let damage = dice.pick(&damage::ALL);
        let before = worn.clone();
        match damage::apply(damage, &mut worn, &mut dice) {
            Some(of) => hits.push((damage, of)),
            None => worn = before,
        }
    }
    Case { text: worn.text(), truth, hits }
}

fn equal(a: Force, b: Force) -> bool {
    (a.newtons() - b.newtons()).abs() < 1e-9 * b.newtons()
}

/// Every value that was read and is not the true one.
fn wrong(reading: &Reading, truth: &Marking) -> Vec<String> {
    let mut found = Vec::new();
    for set in &reading.sets {
        let same: Vec<&TrueSet> = truth.sets.iter().filter(|known| known.standard == set.standard).collect();
        // A set whose standard is illegible is judged by the sets that it may be.
        let candidates = if same.is_empty() { truth.sets.iter().collect() } else { same };
        for position in RatedPosition::ALL {
            let Some(read) = set.rating(*position).value() else { continue };
            let right = candidates.iter().filter_map(|set| set.rating(*position)).any(|known| equal(*read, known));
            if !right {
                found.push(format!("{} read as {} kN", position.code(), read.kn()));
            }
        }
        if let Some(letter) =
            set.class.value().filter(|letter| !candidates.iter().any(|set| set.class == Some(**letter)))
        {
            found.push(format!("class read as {}", letter.code()));
        }
    }
    found.extend(reading.year.value().filter(|year| truth.year != Some(**year)).map(|year| format!("year {year}")));
    let batch_differs = |batch: &&String| !truth.batch.as_ref().is_some_and(|known| known.eq_ignore_ascii_case(batch));
    found.extend(reading.batch.value().filter(batch_differs).map(|batch| format!("batch {batch}")));
    for conformity in &reading.conformity {
        let body = conformity.body.value().map(|number| (conformity.sign, number.clone()));
        found.extend(body.filter(|body| truth.body.as_ref() != Some(body)).map(|body| format!("body {body:?}")));
    }
    found
}

/// The marks that are legible and were not read, and those that are damaged and whose damage is not shown.
fn unread(reading: &Reading, case: &Case) -> Vec<String> {
    let hit = |of: Of| case.hits.iter().any(|(_, hit)| *hit == of);
    let standard_hit = (0..case.truth.sets.len()).any(|index| hit(Of::Standard(index)));
    let mut found = Vec::new();
    for (index, known) in case.truth.sets.iter().enumerate() {
        let place = if reading.sets.len() == case.truth.sets.len() { index } else { 0 };
        let Some(set) = reading.sets.iter().find(|set| set.standard == known.standard).or(reading.sets.get(place))
        else {
            found.push(format!("set {index}"));
            continue;
        };
        if set.standard != known.standard && !standard_hit {
            found.push(format!("standard of set {index}"));
        }
        found.extend(unread_ratings(set, known, |position| hit(Of::Rating(index, position))));
        if set.class.value().copied() != known.class && !hit(Of::Class(index)) && known.class.is_some() {
            found.push(format!("class of set {index}"));
        }
    }
    let truth = &case.truth;
    let body = reading.conformity.first().is_some_and(|conformity| conformity.body.value().is_some());
    let marks = [
        ("year", truth.year.is_some() && reading.year.value().is_none() && !hit(Of::Year)),
        ("batch", truth.batch.is_some() && reading.batch.value().is_none() && !hit(Of::Batch)),
        ("body", truth.body.is_some() && !body && !hit(Of::Body)),
        ("UIAA", truth.uiaa && !reading.uiaa_label && !hit(Of::Uiaa)),
        ("instructions", truth.instructions && !reading.instructions && !hit(Of::Instructions)),
    ];
    found.extend(marks.into_iter().filter(|(_, lost)| *lost).map(|(name, _)| name.to_owned()));
    found
}

fn unread_ratings(set: &RatingSet, known: &TrueSet, hit: impl Fn(RatedPosition) -> bool) -> Vec<String> {
    let judge = |position: &RatedPosition| {
        let mark = set.rating(*position);
        let lost = match (known.rating(*position), hit(*position)) {
            (Some(force), false) => !mark.value().is_some_and(|read| equal(*read, force)),
            // Damaged: whatever was made of it, it must not look as if nothing were there.
            (Some(_), true) => mark.is_absent(),
            (None, _) => false,
        };
        lost.then(|| format!("{} {:?}", position.code(), mark))
    };
    RatedPosition::ALL.iter().filter_map(judge).collect()
}

#[test]
fn no_value_is_ever_read_wrongly() {
    let mut read_values = 0;
    let mut failures = Vec::new();
    for seed in 0..MARKINGS {
        let case = case(seed);
        let reading = read(&case.text);
        let wrong = wrong(&reading, &case.truth);
        if !wrong.is_empty() {
            failures.push(shown(seed, &case, &wrong));
        }
        read_values += reading.sets.iter().map(read_ratings).sum::<usize>();
    }
    println!("{MARKINGS} markings, {read_values} ratings read, {} markings read wrongly", failures.len());
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    assert!(read_values > 15_000, "a reader that reads nothing is never wrong: {read_values}");
}

fn shown(seed: u64, case: &Case, faults: &[String]) -> String {
    format!("seed {seed}: {:?}\n  typed {:?}\n  {:?}\n  {faults:?}", case.truth.text(), case.text, case.hits)
}

fn read_ratings(set: &RatingSet) -> usize {
    RatedPosition::ALL.iter().filter(|position| matches!(set.rating(**position), Mark::Read(_))).count()
}

#[test]
fn all_undamaged_are_read_in_full() {
    let cases = (0..MARKINGS).map(|seed| (seed, case(seed))).filter(|(_, case)| case.hits.is_empty());
    let faults: Vec<(String, bool)> = cases
        .map(|(seed, case)| {
            let unread = unread(&read(&case.text), &case);
            (shown(seed, &case, &unread), unread.is_empty())
        })
        .collect();
    let failures: Vec<&str> = faults.iter().filter(|(_, in_full)| !in_full).map(|(text, _)| text.as_str()).collect();
    println!("{} undamaged markings, {} not read in full", faults.len(), failures.len());
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    assert!(faults.len() > 2_500, "{}", faults.len());
}

/// Light: one damage of any kind. In full: every mark that the damage does not hit is read, and a rating that it hits
/// is read rightly or shown as illegible, undecided or contradictory, never as absent.
#[test]
fn nine_in_ten_of_the_lightly_damaged_are_read_in_full() {
    let mut counts = [(0, 0); damage::ALL.len()];
    for seed in 0..MARKINGS {
        let case = case(seed);
        let [(damage, _)] = case.hits[..] else { continue };
        let kind = damage::ALL.iter().position(|known| *known == damage).expect("every damage is listed");
        let in_full = unread(&read(&case.text), &case).is_empty();
        counts[kind].0 += 1;
        counts[kind].1 += usize::from(in_full);
    }
    for (damage, (all, full)) in damage::ALL.iter().zip(counts) {
        println!("{damage:?}: {full} of {all} read in full");
        assert!(all > 100, "{damage:?} too rare to say anything: {all}");
    }
    let (all, full) = counts.iter().fold((0, 0), |sum, count| (sum.0 + count.0, sum.1 + count.1));
    println!("lightly damaged: {full} of {all} read in full");
    assert!(full * 10 >= all * 9, "{full} of {all}");
}
