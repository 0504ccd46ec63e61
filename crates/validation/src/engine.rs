//! The one door to what is checked: every call into the project's own rooms is here.

use mechanics::rope::Response;
use mechanics::sheet::{self, DataSheet, DropTest, FirstDrop, Unfit};
use rig::model::{Leg, PointId, Rig, RopeKind};
use rig::solve::{History, Loads, Prepared};
use terms::{Force, Length, STANDARD_GRAVITY};
use trade::standards::{self, Minimum, Standard, TypeLetter};
use wear::section::{Section, Shape};

/// Newtons in a kilonewton.
const KN: f64 = 1e3;
/// Mass in kg beyond the preload when static elongation is measured: by definition in `contract/rig-file.md`.
const STATIC_MASS: f64 = 75.0;

/// A rig with all that it gave.
#[derive(Debug)]
pub struct Solved {
    rig: Rig,
    loads: Loads,
    history: History,
}

impl Solved {
    /// Reads and solves a rig file with the numbers as typed.
    ///
    /// # Errors
    /// Says what is wrong with the file, or why it could not be solved.
    pub fn of(text: &str, file_name: &str) -> Result<Self, String> {
        let rig = rig::read(text, file_name).map_err(|faults| format!("{faults:?}"))?;
        let prepared = Prepared::new(&rig).map_err(|failure| format!("{file_name}: {failure}"))?;
        let (loads, history) = prepared.loads_and_history().map_err(|failure| format!("{file_name}: {failure}"))?;
        Ok(Self { loads, history, rig })
    }

    fn id(&self, name: &str) -> Result<PointId, String> {
        let place = self.rig.points.iter().position(|point| point.name == name);
        place.map(PointId).ok_or_else(|| format!("no point `{name}`"))
    }

    /// Largest load of a point in kN, and the direction of that load.
    ///
    /// # Errors
    /// Where there is no such point.
    pub fn point(&self, name: &str) -> Result<(f64, [f64; 3]), String> {
        let load = self.loads.points[self.id(name)?.0];
        Ok((load.peak_kn, load.direction))
    }

    /// Lowest and highest height of a point over the run, m.
    ///
    /// # Errors
    /// Where there is no such point.
    pub fn heights(&self, name: &str) -> Result<[f64; 2], String> {
        let load = self.loads.points[self.id(name)?.0];
        Ok([load.lowest_m, load.highest_m])
    }

    /// Where a point is drawn, m.
    ///
    /// # Errors
    /// Where there is no such point.
    pub fn drawn(&self, name: &str) -> Result<[f64; 3], String> {
        Ok(self.rig.points[self.id(name)?.0].at)
    }

    /// Where a point is in the end, m.
    ///
    /// # Errors
    /// Where there is no such point, or nothing was recorded.
    pub fn place(&self, name: &str) -> Result<[f64; 3], String> {
        let last = self.history.times_s.len().checked_sub(1).ok_or("nothing was recorded")?;
        Ok(self.history.at(last, self.id(name)?))
    }

    /// Largest tension of the leg between two points, kN.
    ///
    /// # Errors
    /// Where there is no such leg.
    pub fn leg(&self, from: &str, to: &str) -> Result<f64, String> {
        Ok(self.loads.legs[self.leg_place(from, to)?])
    }

    /// By how much the leg between two points has torn open, m.
    ///
    /// # Errors
    /// Where there is no such leg.
    pub fn torn(&self, from: &str, to: &str) -> Result<f64, String> {
        Ok(self.loads.torn_m[self.leg_place(from, to)?])
    }

    fn leg_place(&self, from: &str, to: &str) -> Result<usize, String> {
        let ends = [self.id(from)?, self.id(to)?];
        let joins = |leg: &Leg| [leg.from, leg.to] == ends || [leg.to, leg.from] == ends;
        self.rig.legs.iter().position(joins).ok_or_else(|| format!("no leg from `{from}` to `{to}`"))
    }

    /// Height of the lowest place of a segment of the first line of a rope at rest, m; segments are counted from 1.
    ///
    /// # Errors
    /// Where there is no such line or segment, or the rig is not at rest.
    pub fn hangs(&self, rope: &str, segment: &str) -> Result<f64, String> {
        let line = self.rig.lines.iter().position(|line| self.rig.ropes[line.of.0].name == rope);
        let hanging = line.and_then(|line| self.history.hanging.get(line));
        let place = segment.parse::<usize>().ok().and_then(|segment| segment.checked_sub(1));
        let span = hanging.zip(place).and_then(|(hanging, place)| hanging.get(place));
        span.map(|span| span.lowest_m).ok_or_else(|| format!("no segment {segment} of `{rope}` at rest"))
    }

    /// Largest tension of each segment of each line, kN, in the order of the file.
    #[must_use]
    pub fn lines(&self) -> &[Vec<f64>] {
        &self.loads.lines
    }

    /// Largest tension of the first line of a rope, kN.
    ///
    /// # Errors
    /// Where there is no such line.
    pub fn line(&self, rope: &str) -> Result<f64, String> {
        let place = self.rig.lines.iter().position(|line| self.rig.ropes[line.of.0].name == rope);
        let segments = place.map(|place| &self.loads.lines[place]).ok_or_else(|| format!("no line of `{rope}`"))?;
        Ok(segments.iter().copied().fold(0.0, f64::max))
    }

    /// What the legs store, kN m: half of tension times stretch.
    #[must_use]
    pub fn stored(&self) -> f64 {
        let stored = |(leg, tension): (&Leg, &f64)| {
            let stiffness = self.rig.slings[leg.of.0].stiffness.kn() * leg.strands / leg.length.m();
            tension * tension / (2.0 * stiffness)
        };
        self.rig.legs.iter().zip(&self.loads.legs).map(stored).sum()
    }
}

/// The capstan ratio.
#[must_use]
pub fn capstan_ratio(friction: f64, angle_deg: f64) -> f64 {
    mechanics::capstan::ratio(friction, angle_deg.to_radians())
}

/// The friction at which the capstan ratio has a given value, found by halving an interval.
#[must_use]
pub fn friction_for(ratio: f64, angle_deg: f64) -> f64 {
    let (mut low, mut high) = (0.0, 10.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if capstan_ratio(middle, angle_deg) < ratio { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Largest force (kN) and elongation (percent) of a fall of given factor on a purely elastic rope, length of EN 892.
#[must_use]
pub fn elastic_drop(modulus_kn: f64, mass_kg: f64, fall_factor: f64) -> [f64; 2] {
    let standard = DropTest::en_892(mass_kg);
    let test = DropTest { free_fall: fall_factor * standard.rope, ..standard };
    let shown = sheet::first_drop(&test, &Response { slow: modulus_kn * KN, fast: 0.0, relax: 1.0 });
    [shown.impact_force / KN, 100.0 * shown.elongation]
}

/// Impact force (kN), static and dynamic elongation (percent): as declared, or as a fitted response gives them back.
pub type Declared = [f64; 3];

/// What the fitted response of a data sheet gives back, or the figure that the refusal names.
///
/// # Errors
/// The figure that no sensible response meets.
pub fn fit_and_drop(declared: Declared, mass_kg: f64) -> Result<Declared, &'static str> {
    let [impact_kn, static_pct, dynamic_pct] = declared;
    let test = DropTest::en_892(mass_kg);
    let data_sheet = DataSheet {
        impact_force: impact_kn * KN,
        static_elongation: static_pct / 100.0,
        dynamic_elongation: dynamic_pct / 100.0,
    };
    let response = sheet::fit(&test, &data_sheet).map_err(|unfit| match unfit {
        Unfit::ImpactForce { .. } => "impact force",
        Unfit::DynamicElongation { .. } => "dynamic elongation",
    })?;
    let FirstDrop { impact_force, elongation } = sheet::first_drop(&test, &response);
    let at_rest = STATIC_MASS * STANDARD_GRAVITY / response.slow;
    Ok([impact_force / KN, 100.0 * at_rest, 100.0 * elongation])
}

/// What an edition of a standard asks of a class.
///
/// # Errors
/// Where there is no such standard, edition or letter.
pub fn minimum(standard: &str, edition: u16, letter: &str) -> Result<Option<Minimum>, String> {
    let standard = Standard::from_code(standard).ok_or_else(|| format!("no standard `{standard}`"))?;
    let letter = TypeLetter::from_code(letter).ok_or_else(|| format!("no letter `{letter}`"))?;
    if !standards::is_edition(standard, edition) {
        return Err(format!("no edition of {edition}"));
    }
    Ok(standards::minimum_of_edition(standard, edition, letter))
}

/// The least strength of accessory cord, kN.
#[must_use]
pub fn cord_kn(diameter_mm: f64) -> Option<f64> {
    standards::en564_minimum_kn(diameter_mm)
}

/// The least strength of a part under a standard, kN.
#[must_use]
pub fn gear_kn(standard: &str, part: &str) -> Option<f64> {
    standards::gear(standard).find(|gear| gear.part == part).map(|gear| gear.minimum.kn())
}

/// The least and the most that a knot leaves by one source, in percent, and the source; the source is named by any part
/// of its text that no other has.
///
/// # Errors
/// Where the knot is not listed, or not exactly one of its figures is from that source.
pub fn knot_pct(knot: &str, source: &str) -> Result<[f64; 2], String> {
    let range = trade::sling::knot_range(knot).ok_or_else(|| format!("no knot `{knot}`"))?;
    let figures: Vec<_> = range.figures.iter().filter(|figure| figure.source.text.contains(source)).collect();
    match figures[..] {
        [figure] => Ok([figure.low_pct, figure.high_pct]),
        _ => Err(format!("{} figures for `{knot}` from `{source}`", figures.len())),
    }
}

/// The drop test of a kind of rope.
///
/// # Errors
/// Where there is no such kind.
pub fn drop_test(rope: &str) -> Result<DropTest, String> {
    match rope {
        "single" => Ok(rig::solve::drop_test(RopeKind::Single)),
        "half" => Ok(rig::solve::drop_test(RopeKind::Half)),
        "twin" => Ok(rig::solve::drop_test(RopeKind::Twin)),
        other => Err(format!("no kind of rope `{other}`")),
    }
}

/// A force from one unit into another.
///
/// # Errors
/// Where a unit is not one of N, kN, lbf, kgf.
pub fn convert(value: f64, from: &str, to: &str) -> Result<f64, String> {
    let force = match from {
        "N" => Force::from_newtons(value),
        "kN" => Force::from_kn(value),
        "lbf" => Force::from_lbf(value),
        "kgf" => Force::from_newtons(value * STANDARD_GRAVITY),
        other => return Err(format!("no unit `{other}`")),
    };
    match to {
        "N" => Ok(force.newtons()),
        "kN" => Ok(force.kn()),
        "lbf" => Ok(force.lbf()),
        "kgf" => Ok(force.newtons() / STANDARD_GRAVITY),
        other => Err(format!("no unit `{other}`")),
    }
}

/// The section of a curved beam by the name of its shape; lengths in m, the depth of a circle its diameter.
///
/// # Errors
/// Where there is no such shape, or its lengths do not go together.
pub fn curved_beam(shape: &str, widths: [f64; 2], depth: f64, inner_radius: f64) -> Result<Section, String> {
    let [inner_width, outer_width] = widths.map(Length::from_m);
    let depth = Length::from_m(depth);
    let shape = match shape {
        "rectangle" => Shape::Rectangle { width: inner_width, depth },
        "trapezium" => Shape::Trapezium { inner_width, outer_width, depth },
        "circle" => Shape::Circle { diameter: depth },
        other => return Err(format!("no shape `{other}`")),
    };
    Section::sound(shape, Length::from_m(inner_radius)).ok_or_else(|| "no such section".to_owned())
}
