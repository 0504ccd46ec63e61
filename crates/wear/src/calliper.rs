//! Wear measured by hand: the sound bar less what is left in the groove, with its uncertainty.
//!
//! Standard uncertainties after JCGM 100:2008 (GUM): repeats give that of placing the jaws (4.2, type A; where they are
//! few, a table says how much it is at the least), the largest error of the instrument a, even between -a and a, gives
//! a / sqrt(3) (4.3.7, type B). Both readings carry them, and they add as squares (5.1.2).

use crate::practice::{Practice, practice};
use terms::{Length, coded};

/// Readings of one piece with one calliper.
#[derive(Debug, Clone, PartialEq)]
pub struct CalliperReadings {
    /// Thickness of the bar beside the groove, in the same direction, once or more.
    pub sound: Vec<Length>,
    /// Thickness of what is left in the groove, once or more.
    pub left: Vec<Length>,
    /// Width of the groove, if measured.
    pub groove_width: Option<Length>,
    /// Largest error of the calliper; the table's where not given.
    pub largest_error: Option<Length>,
}

/// A depth measured by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct CalliperDepth {
    /// Depth; may be a little below zero, as chance has it: the regression takes it as it is.
    pub depth: Length,
    /// Standard uncertainty of the depth.
    pub uncertainty: Length,
    /// Thickness of the sound bar.
    pub bar: Length,
    /// What to know about it.
    pub notes: Vec<CalliperNote>,
}

/// Number of standard deviations to either side that take in 95 % of a normal distribution.
pub const COVERS_95: f64 = 1.959_963_984_540_054;

impl CalliperDepth {
    /// The interval of 95 % of the depth, nowhere below zero.
    #[must_use]
    pub fn interval(&self) -> [Length; 2] {
        [-COVERS_95, COVERS_95].map(|count| Length::from_mm((self.depth.mm() + count * self.uncertainty.mm()).max(0.0)))
    }

    /// Depth as a share of the sound bar.
    #[must_use]
    pub fn share_of_bar(&self) -> f64 {
        self.depth.mm().max(0.0) / self.bar.mm()
    }
}

coded!(
    /// What to know about a depth measured by hand.
    CalliperNote {
        /// A calliper says nothing of a sharp edge: feel for it. Always there.
        FeelTheEdge = "feel-the-edge",
        /// The groove is narrower than the jaw, or its width was not measured: the jaw may rest on the shoulders, and the
        /// wear is more than it reads.
        JawMayRestOnShoulders = "jaw-may-rest-on-shoulders",
        /// One reading only: how well the jaws were placed is not known from it.
        ReadOnce = "read-once",
    }
);

coded!(
    /// Why readings are no measurement.
    CalliperTrouble {
        /// The bar beside the groove, or what is left in it, was not read.
        NotRead = "not-read",
        /// A thickness that no connector's bar has.
        NoSuchBar = "no-such-bar",
        /// What is left in the groove is thicker than the sound bar, by more than chance.
        LeftThickerThanBar = "left-thicker-than-bar",
    }
);

/// The depth that the readings give.
///
/// # Errors
/// Where they cannot be what they are said to be.
pub fn measure(readings: &CalliperReadings) -> Result<CalliperDepth, CalliperTrouble> {
    let table = practice();
    let error = readings.largest_error.map_or(table.calliper_error_mm.value, Length::mm);
    let bar = Averaged::of(&readings.sound, error, table)?;
    let left = Averaged::of(&readings.left, error, table)?;
    let (depth, uncertainty) = (bar.mean - left.mean, bar.uncertainty.hypot(left.uncertainty));
    let believable = table.bar_from_mm.value..=table.bar_to_mm.value;
    if !believable.contains(&bar.mean) || left.mean <= 0.0 || !uncertainty.is_finite() {
        return Err(CalliperTrouble::NoSuchBar);
    }
    if depth < -table.fell_deviations.value * uncertainty {
        return Err(CalliperTrouble::LeftThickerThanBar);
    }
    Ok(CalliperDepth {
        depth: Length::from_mm(depth),
        uncertainty: Length::from_mm(uncertainty),
        bar: Length::from_mm(bar.mean),
        notes: notes(readings, table),
    })
}

fn notes(readings: &CalliperReadings, table: &Practice) -> Vec<CalliperNote> {
    let is_wide = readings.groove_width.is_some_and(|width| width.mm() > table.calliper_jaw_mm.value);
    let is_once = readings.sound.len().min(readings.left.len()) < 2;
    let mut notes = vec![CalliperNote::FeelTheEdge];
    notes.extend((!is_wide).then_some(CalliperNote::JawMayRestOnShoulders));
    notes.extend(is_once.then_some(CalliperNote::ReadOnce));
    notes
}

/// Mean of repeated readings and its standard uncertainty, mm.
struct Averaged {
    mean: f64,
    uncertainty: f64,
}

impl Averaged {
    fn of(readings: &[Length], largest_error: f64, table: &Practice) -> Result<Self, CalliperTrouble> {
        if readings.is_empty() {
            return Err(CalliperTrouble::NotRead);
        }
        let count = readings.len() as f64;
        let mean = readings.iter().map(|reading| reading.mm()).sum::<f64>() / count;
        let squares: f64 = readings.iter().map(|reading| (reading.mm() - mean) * (reading.mm() - mean)).sum();
        let seen = if count > 1.0 { (squares / (count - 1.0)).sqrt() } else { 0.0 };
        let placing = seen.max(table.calliper_placing_mm.value) / count.sqrt();
        Ok(Self { mean, uncertainty: placing.hypot(largest_error / 3_f64.sqrt()) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(sound: &[f64], left: &[f64]) -> CalliperReadings {
        let lengths = |values: &[f64]| values.iter().map(|value| Length::from_mm(*value)).collect();
        CalliperReadings {
            sound: lengths(sound),
            left: lengths(left),
            groove_width: Some(Length::from_mm(10.0)),
            largest_error: Some(Length::from_mm(0.03)),
        }
    }

    #[test]
    fn depth_is_the_difference_and_uncertainties_add_as_squares() {
        let measured = measure(&read(&[10.0, 10.2], &[9.3])).unwrap();
        let spread = 0.02_f64.sqrt();
        let instrument = 2.0 * 0.03 * 0.03 / 3.0;
        let placing = practice().calliper_placing_mm.value;
        let expected = (instrument + spread * spread / 2.0 + placing * placing).sqrt();
        assert!((measured.depth.mm() - 0.8).abs() < 1e-12);
        assert!((measured.uncertainty.mm() - expected).abs() < 1e-12, "{measured:?}");
    }

    #[test]
    fn the_same_depth_is_a_larger_share_of_a_slimmer_bar() {
        let share = |bar: f64| measure(&read(&[bar], &[bar - 1.0])).unwrap().share_of_bar();
        assert!((share(10.0) - 0.1).abs() < 1e-12 && (share(8.0) - 0.125).abs() < 1e-12);
    }

    #[test]
    fn repeats_narrow_the_interval_and_it_stays_above_zero() {
        let once = measure(&read(&[10.0], &[10.0])).unwrap();
        let often = measure(&read(&[10.0; 6], &[10.0; 6])).unwrap();
        assert!(often.uncertainty < once.uncertainty);
        assert_eq!(once.interval()[0], Length::from_mm(0.0));
        assert!((once.interval()[1].mm() - 1.959_963_984_540_054 * once.uncertainty.mm()).abs() < 1e-12);
    }

    #[test]
    fn notes_say_what_the_jaws_cannot_tell() {
        let notes = |readings: &CalliperReadings| measure(readings).unwrap().notes;
        assert_eq!(notes(&read(&[10.0; 2], &[9.0; 2])), [CalliperNote::FeelTheEdge]);
        let narrow = CalliperReadings { groove_width: Some(Length::from_mm(2.0)), ..read(&[10.0], &[9.0]) };
        assert_eq!(notes(&narrow), CalliperNote::ALL);
    }

    #[test]
    fn impossible_readings_are_refused() {
        let trouble = |sound: &[f64], left: &[f64]| measure(&read(sound, left)).unwrap_err();
        assert_eq!(trouble(&[], &[9.0]), CalliperTrouble::NotRead);
        assert_eq!(trouble(&[10.0], &[]), CalliperTrouble::NotRead);
        assert_eq!(trouble(&[100.0], &[9.0]), CalliperTrouble::NoSuchBar);
        assert_eq!(trouble(&[f64::NAN], &[9.0]), CalliperTrouble::NoSuchBar);
        assert_eq!(trouble(&[10.0], &[-1.0]), CalliperTrouble::NoSuchBar);
        assert_eq!(trouble(&[10.0], &[10.5]), CalliperTrouble::LeftThickerThanBar);
    }
}
