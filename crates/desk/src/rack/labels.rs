//! Labels as people type them: one, several by commas, and whole ranges such as `C-001..C-040`.

use super::Fault;

/// The most labels that one range may stand for.
const MOST: u64 = 65_536;

/// Every label that `text` stands for, in its order.
///
/// # Errors
/// Where a range is none, or a label stands there twice.
pub fn expand(text: &str) -> Result<Vec<String>, Fault> {
    let mut labels = Vec::new();
    for part in text.split(',').map(str::trim) {
        match part.split_once("..") {
            Some((first, last)) => labels.extend(range(first.trim(), last.trim())?),
            None => labels.push(fit(part)?.to_owned()),
        }
    }
    let mut sorted: Vec<_> = labels.iter().collect();
    sorted.sort_unstable();
    match sorted.windows(2).find(|pair| pair[0] == pair[1]) {
        Some(pair) => Err(Fault::new("label-twice", &[("label", pair[0].clone())])),
        None => Ok(labels),
    }
}

/// A label that can stand on a list by itself.
///
/// # Errors
/// Where it is empty, or holds what parts labels from one another.
pub fn fit(label: &str) -> Result<&str, Fault> {
    let is_fit = !label.is_empty() && label.trim() == label && !label.contains("..");
    if is_fit && !label.contains(|c: char| c == ',' || c.is_control()) {
        return Ok(label);
    }
    Err(Fault::new("no-label", &[("label", label.to_owned())]))
}

fn range(first: &str, last: &str) -> Result<Vec<String>, Fault> {
    let fault = |code| Fault::new(code, &[("first", first.to_owned()), ("last", last.to_owned())]);
    let (name, from) = number_of(first);
    let (other, to) = number_of(last);
    let is_one_series = other == name || other.is_empty();
    let numbers = from.parse::<u64>().ok().zip(to.parse::<u64>().ok()).filter(|_| is_one_series);
    let (low, high) = numbers.ok_or_else(|| fault("no-range"))?;
    if low > high || high - low >= MOST {
        return Err(fault("range-too-long"));
    }
    fit(first)?;
    Ok((low..=high).map(|number| format!("{name}{number:0width$}", width = from.len())).collect())
}

/// A label parted into what stands before its number, and its number.
fn number_of(label: &str) -> (&str, &str) {
    label.split_at(label.trim_end_matches(|c: char| c.is_ascii_digit()).len())
}

/// Labels in few words: runs of numbers as ranges.
#[must_use]
pub fn compact(labels: &[String]) -> String {
    let mut runs: Vec<(&str, &str)> = Vec::new();
    for label in labels {
        match runs.last_mut() {
            Some(run) if follows(run.1, label) => run.1 = label,
            _ => runs.push((label, label)),
        }
    }
    let word = |(first, last): (&str, &str)| if first == last { first.to_owned() } else { format!("{first}..{last}") };
    runs.into_iter().map(word).collect::<Vec<_>>().join(", ")
}

fn follows(before: &str, label: &str) -> bool {
    let ((name, low), (other, high)) = (number_of(before), number_of(label));
    let next = low.parse::<u64>().ok().and_then(|low| low.checked_add(1));
    name == other && next.is_some_and(|next| format!("{next:0width$}", width = low.len()) == high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_counts_with_the_zeros_of_its_first_label() {
        let labels = expand("C-008..C-011, S-3, R-1..3").expect("labels");
        assert_eq!(labels, ["C-008", "C-009", "C-010", "C-011", "S-3", "R-1", "R-2", "R-3"]);
        assert_eq!(compact(&labels), "C-008..C-011, S-3, R-1..R-3");
    }

    #[test]
    fn compact_labels_expand_to_themselves() {
        for text in ["A-1", "A-1..A-9", "A-9..A-12, B, C-07", "9..11"] {
            let labels = expand(text).expect(text);
            assert_eq!(expand(&compact(&labels)).expect(text), labels);
        }
    }

    #[test]
    fn what_is_no_range_is_told_by_its_code() {
        let code = |text| expand(text).expect_err(text).code;
        assert_eq!(code("C-001..D-004"), "no-range");
        assert_eq!(code("C-..C-"), "no-range");
        assert_eq!(code("C-9..D-11"), "no-range");
        assert_eq!(code("C..D"), "no-range");
        assert_eq!(code(".."), "no-range");
        assert_eq!(code("C-9..C-1"), "range-too-long");
        assert_eq!(code("C-1..C-99999999"), "range-too-long");
        assert_eq!(code("C-1,,C-2"), "no-label");
        assert_eq!(code("C-1..C-3,C-2"), "label-twice");
    }
}
