//! Duties: what each job in a system asks of the piece that does it.

use crate::cited::{self, Read};
use crate::connector::{Class, Lock, Shape};
use crate::gear::Gear;
use serde::Deserialize;
use std::sync::LazyLock;
use terms::{Force, Length, Source, coded};

/// A job in a system, and what it asks for. What is empty or `None` asks for nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Duty {
    /// Its name, in the trade's words.
    pub name: String,
    /// What it is.
    pub title: String,
    /// The kind of gear that does it.
    pub gear: Gear,
    /// Type letters that do.
    pub classes: Vec<Class>,
    /// Shapes that do, the one to take first in front.
    pub shapes: Vec<Shape>,
    /// Locks that do, the one to take first in front.
    pub locks: Vec<Lock>,
    /// The least that must be marked.
    pub least: Strengths,
    /// Whether it takes two, opposite and opposed, of one size.
    pub is_paired: bool,
    /// Whether it goes into a device, whose instructions win over shapes and locks.
    pub goes_into_device: bool,
    /// What the piece touches.
    pub side: Option<Side>,
    /// Why it asks for that.
    pub reason: String,
    /// Where that comes from.
    pub source: Source,
}

coded!(
    /// What a connector touches: burrs from bolts cut rope.
    Side {
        /// Bolts and hangers.
        Bolt = "bolt",
        /// Rope.
        Rope = "rope",
    }
);

/// Strengths by position; of gear that is no connector, only the first is known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Strengths {
    /// Major axis, gate closed.
    pub closed: Option<Force>,
    /// Major axis, gate open.
    pub open: Option<Force>,
    /// Minor axis, gate closed.
    pub minor: Option<Force>,
}

impl Strengths {
    /// By position, in the order closed, open, minor.
    #[must_use]
    pub const fn by_position(&self) -> [Option<Force>; 3] {
        [self.closed, self.open, self.minor]
    }
}

/// What a piece is, as far as duties ask. What is `None` is unknown, never assumed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Traits {
    /// Kind of gear.
    pub gear: Option<Gear>,
    /// Type letter.
    pub class: Option<Class>,
    /// Outline.
    pub shape: Option<Shape>,
    /// Lock.
    pub lock: Option<Lock>,
    /// What is marked.
    pub bears: Strengths,
    /// Size as marked.
    pub size: Option<String>,
    /// Length.
    pub length: Option<Length>,
    /// Diameter or width.
    pub diameter: Option<Length>,
}

/// What the instructions of a device say of the connector in it; an empty list says nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Manual {
    /// Shapes that it allows.
    pub shapes: Vec<Shape>,
    /// Locks that it allows.
    pub locks: Vec<Lock>,
}

coded!(
    /// Why a piece does not do for a duty.
    Unfit {
        /// Another kind of gear, or of an unknown kind.
        Gear = "gear",
        /// A type letter that does not do, or none.
        Class = "class",
        /// A shape that does not do, or an unknown one.
        Shape = "shape",
        /// A lock that does not do, or an unknown one.
        Lock = "lock",
        /// The device's instructions do not allow it.
        Manual = "manual",
        /// No legible mark for a strength that is asked for: nothing is lent.
        Unmarked = "unmarked",
        /// Marked for less than is asked for.
        Weak = "weak",
    }
);

/// How well a piece does: lower is better, in the order in which they count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Grade {
    /// Place of its shape in the order of preference.
    pub shape: u32,
    /// Place of its lock in the order of preference.
    pub lock: u32,
}

impl Duty {
    /// How well a piece does this, in a device with such instructions.
    ///
    /// # Errors
    /// Why it does not do, the first that was found.
    pub fn grade(&self, piece: &Traits, manual: Option<&Manual>) -> Result<Grade, Unfit> {
        if piece.gear != Some(self.gear) {
            return Err(Unfit::Gear);
        }
        let manual = manual.filter(|_| self.goes_into_device);
        place(&self.classes, piece.class).ok_or(Unfit::Class)?;
        let grade = Grade {
            shape: told(&self.shapes, manual.map(|manual| &manual.shapes), piece.shape, Unfit::Shape)?,
            lock: told(&self.locks, manual.map(|manual| &manual.locks), piece.lock, Unfit::Lock)?,
        };
        for (asked, marked) in self.least.by_position().into_iter().zip(piece.bears.by_position()) {
            let Some(asked) = asked else { continue };
            if marked.ok_or(Unfit::Unmarked)? < asked {
                return Err(Unfit::Weak);
            }
        }
        Ok(grade)
    }
}

/// The place of `own` in an order; 0 where nothing is asked for.
fn place<T: PartialEq>(order: &[T], own: Option<T>) -> Option<u32> {
    if order.is_empty() {
        return Some(0);
    }
    let own = own?;
    order.iter().position(|one| *one == own).and_then(|place| u32::try_from(place).ok())
}

/// The place of `own` in a duty's order, where the device's instructions may say more: what they do not allow does not do, and what
/// they allow does, after all that the duty lists.
fn told<T: PartialEq>(order: &[T], manual: Option<&Vec<T>>, own: Option<T>, unfit: Unfit) -> Result<u32, Unfit> {
    let Some(allowed) = manual.filter(|allowed| !allowed.is_empty()) else {
        return place(order, own).ok_or(unfit);
    };
    let own = own.ok_or(unfit)?;
    if !allowed.contains(&own) {
        return Err(Unfit::Manual);
    }
    Ok(place(order, Some(own)).unwrap_or_else(|| u32::try_from(order.len()).unwrap_or(u32::MAX)))
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    duty: Vec<Row>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    title: String,
    gear: String,
    #[serde(default)]
    classes: Vec<String>,
    #[serde(default)]
    shapes: Vec<String>,
    #[serde(default)]
    locks: Vec<String>,
    #[serde(default)]
    least_kn: Least,
    #[serde(default)]
    paired: bool,
    #[serde(default)]
    device: bool,
    side: Option<String>,
    reason: String,
    source: String,
    quality: Read,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Least {
    closed: Option<f64>,
    open: Option<f64>,
    minor: Option<f64>,
}

static DUTIES: LazyLock<Vec<Duty>> = LazyLock::new(|| {
    cited::parse::<Table>(include_str!("../data/duties.toml")).duty.into_iter().map(Duty::from).collect()
});

/// All duties, in the order of the file.
#[must_use]
pub fn duties() -> &'static [Duty] {
    &DUTIES
}

impl From<Row> for Duty {
    fn from(row: Row) -> Self {
        Self {
            gear: word(&row.gear, Gear::from_code),
            classes: words(&row.classes, Class::from_code),
            shapes: words(&row.shapes, Shape::from_code),
            locks: words(&row.locks, Lock::from_code),
            least: Strengths {
                closed: row.least_kn.closed.map(Force::from_kn),
                open: row.least_kn.open.map(Force::from_kn),
                minor: row.least_kn.minor.map(Force::from_kn),
            },
            is_paired: row.paired,
            goes_into_device: row.device,
            side: row.side.as_deref().map(|side| word(side, Side::from_code)),
            source: cited::source(&row.source, row.quality),
            name: row.name,
            title: row.title,
            reason: row.reason,
        }
    }
}

fn words<T>(codes: &[String], from_code: fn(&str) -> Option<T>) -> Vec<T> {
    codes.iter().map(|code| word(code, from_code)).collect()
}

fn word<T>(code: &str, from_code: fn(&str) -> Option<T>) -> T {
    from_code(code).unwrap_or_else(|| panic!("built-in duties: no such word: {code}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::standards::{Standard, TypeLetter, minimum};

    fn duty(name: &str) -> &'static Duty {
        duties().iter().find(|duty| duty.name == name).expect(name)
    }

    fn locker(shape: Shape) -> Traits {
        let kn = |kn| Some(Force::from_kn(kn));
        Traits {
            gear: Some(Gear::Connector),
            class: Some(Class::H),
            shape: Some(shape),
            lock: Some(Lock::Screw),
            bears: Strengths { closed: kn(22.0), open: kn(8.0), minor: kn(8.0) },
            ..Traits::default()
        }
    }

    #[test]
    fn names_are_unique_and_every_row_says_why() {
        let mut names: Vec<_> = duties().iter().map(|duty| &duty.name).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), duties().len());
        assert!(duties().iter().all(|duty| !duty.reason.is_empty() && !duty.title.is_empty()));
    }

    /// What a duty asks for is at least what EN 12275 asks of the types of the shapes that it takes first.
    #[test]
    fn strengths_are_those_of_the_standard() {
        let letters = [
            ("munter", TypeLetter::H),
            ("runner-rope-end", TypeLetter::B),
            ("via-ferrata", TypeLetter::K),
            ("pulley", TypeLetter::X),
        ];
        for (name, letter) in letters {
            let least = minimum(Standard::En12275, letter).expect(name);
            assert_eq!(duty(name).least.by_position(), [least.closed, least.open, least.minor], "{name}");
        }
    }

    #[test]
    fn shapes_have_an_order_and_what_is_not_listed_does_not_do() {
        let belay = duty("belay");
        let grade = |shape| belay.grade(&locker(shape), None).map(|grade| grade.shape);
        assert_eq!((grade(Shape::Pear), grade(Shape::OffsetD), grade(Shape::D)), (Ok(0), Ok(1), Ok(2)));
        assert_eq!(grade(Shape::Oval), Err(Unfit::Shape));
        assert_eq!(belay.grade(&Traits { shape: None, ..locker(Shape::D) }, None), Err(Unfit::Shape));
        assert_eq!(belay.grade(&Traits { lock: Some(Lock::None), ..locker(Shape::D) }, None), Err(Unfit::Lock));
    }

    /// Common practice: the device's instructions win over shape.
    #[test]
    fn the_manual_of_a_device_wins() {
        let manual = Manual { shapes: vec![Shape::Oval, Shape::D], locks: Vec::new() };
        let grade = |shape| duty("belay").grade(&locker(shape), Some(&manual)).map(|grade| grade.shape);
        assert_eq!((grade(Shape::D), grade(Shape::Oval), grade(Shape::Pear)), (Ok(2), Ok(3), Err(Unfit::Manual)));
        let munter = duty("munter").grade(&locker(Shape::Pear), Some(&manual));
        assert_eq!(munter.map(|grade| grade.shape), Ok(0), "no device, no manual");
    }

    #[test]
    fn no_legible_mark_is_no_strength() {
        let bears = Strengths { open: None, ..locker(Shape::D).bears };
        assert_eq!(duty("belay").grade(&Traits { bears, ..locker(Shape::D) }, None), Err(Unfit::Unmarked));
        let bears = Strengths { minor: Some(Force::from_kn(6.9)), ..locker(Shape::D).bears };
        assert_eq!(duty("belay").grade(&Traits { bears, ..locker(Shape::D) }, None), Err(Unfit::Weak));
    }
}
