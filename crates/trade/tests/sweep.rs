//! What holds for every setting, over a fixed sequence of many; and that every reason of this room is brought about.

use std::collections::BTreeSet;
use terms::{Force, How, Reason};
use trade::anchor::{self, ByDirection};
use trade::connector::{Class, Connector, Gate, Keeper, Lock, Nose, Shape};
use trade::position::{Place, Position, PullOn, Setting, Slip, slips};
use trade::sling::{StrengthBy, knots, sling_bears};

/// A fixed sequence of choices: Knuth's 64-bit linear congruential generator (MMIX), its upper bits.
struct Choices(u64);

impl Choices {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % count
    }

    fn of<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }

    /// One of the list, or unknown.
    fn maybe<T: Copy>(&mut self, list: &[T]) -> Option<T> {
        list.get(self.below(list.len() + 1)).copied()
    }

    fn connector(&mut self, name: &str) -> Connector {
        let forces = [20.0, 7.0, 24.0].map(Force::from_kn);
        Connector {
            name: name.into(),
            class: self.maybe(Class::ALL),
            shape: self.maybe(Shape::ALL),
            closed: self.maybe(&forces),
            open: self.maybe(&forces),
            minor: self.maybe(&forces),
            gate: self.maybe(Gate::ALL),
            lock: self.maybe(Lock::ALL),
            locked: self.maybe(&[true, false]),
            nose: self.maybe(Nose::ALL),
            joins: (0..self.below(6)).map(|_| self.of(&["a", "b", "rope", "other", "master knot"]).into()).collect(),
            free_to_turn: self.maybe(&[true, false]),
            keeper: self.maybe(Keeper::ALL),
            over_edge: self.maybe(&[true, false]),
            duty: self.maybe(&["belay", "gear loop", "master point"]).map(Into::into),
            ..Connector::default()
        }
    }

    fn pull(&mut self) -> PullOn<'static> {
        let (sin, cos) = (self.below(24) as f64 * 15.0).to_radians().sin_cos();
        PullOn {
            name: self.of(&["a", "b", "rope"]),
            direction: [sin, 0.0, cos],
            force: Force::from_kn(self.below(6) as f64),
            runs_through: self.of(&[true, false]),
        }
    }
}

fn sweep(mut visit: impl FnMut(&Setting, &[Slip])) {
    let mut choices = Choices(1);
    for _ in 0..20_000 {
        let (connector, other) = (choices.connector("this"), choices.connector("other"));
        let pulls: Vec<_> = (0..choices.below(5)).map(|_| choices.pull()).collect();
        let setting = Setting {
            pulls: &pulls,
            rope_runs: choices.of(&[true, false]),
            leads: choices.of(&[true, false]),
            runners_on_line: choices.below(4),
            opposed: choices.maybe(&[&other]),
            neighbours: choices.of(&[&["other"][..], &[]]),
            open_sling: choices.maybe(&[true, false]),
            ..Setting::new(
                &connector,
                choices.of(&[Place::Anchor, Place::Joint, Place::BoltEnd, Place::RopeEnd, Place::Person]),
            )
        };
        visit(&setting, &slips(&setting));
    }
}

#[test]
fn the_intended_position_comes_first_then_those_in_use_then_errors() {
    sweep(|setting, slips| {
        assert_eq!(slips[0].position, Position::Closed, "{setting:?}");
        assert!(slips.windows(2).all(|pair| pair[0].position < pair[1].position), "{setting:?}");
        assert!(slips.iter().all(|slip| slip.how == slip.position.how()));
    });
}

#[test]
fn a_strength_is_the_mark_of_that_position_and_no_other() {
    sweep(|setting, slips| {
        for slip in slips {
            let marked = match slip.position {
                Position::Closed => setting.connector.closed,
                Position::GateOpen => setting.connector.open,
                Position::CrossLoaded => setting.connector.minor,
                _ => None,
            };
            assert_eq!(slip.bears, marked, "{}: {setting:?}", slip.position.code());
        }
    });
}

#[test]
fn every_position_but_the_intended_says_why() {
    sweep(|setting, slips| {
        for slip in slips {
            let least = if slip.how == How::Intended { 1 } else { 2 };
            assert!(slip.because.len() >= least, "{}: {setting:?}", slip.position.code());
        }
    });
}

#[test]
fn every_position_is_brought_about_and_every_one_but_the_intended_kept_away() {
    let (mut brought, mut kept_away) = (BTreeSet::new(), BTreeSet::new());
    sweep(|_, slips| {
        let found: BTreeSet<_> = slips.iter().map(|slip| slip.position).collect();
        kept_away.extend(Position::ALL.iter().copied().filter(|position| !found.contains(position)));
        brought.extend(found);
    });
    assert_eq!(brought.len(), Position::ALL.len());
    assert_eq!(kept_away.len(), Position::ALL.len() - 1);
    assert!(!kept_away.contains(&Position::Closed));
}

#[test]
fn every_reason_of_this_room_is_brought_about() {
    let mut given: BTreeSet<&str> = BTreeSet::new();
    sweep(|_, slips| given.extend(slips.iter().flat_map(|slip| &slip.because).map(Reason::code)));
    let holds = ByDirection {
        along: Force::from_kn(12.0),
        across: Force::from_kn(5.0),
        upward: Force::from_kn(2.0),
        direction: [0.0, 0.0, -1.0],
    };
    given.extend((0..=180).map(|deg: u32| {
        let (sin, cos) = f64::from(deg).to_radians().sin_cos();
        anchor::bears(&holds, [sin, 0.0, -cos]).1.code()
    }));
    for knot in knots().into_iter().chain(["granny knot"]) {
        given.extend(
            sling_bears(Some(Force::from_kn(10.0)), StrengthBy::CordStandard, Some(knot))
                .because
                .iter()
                .map(Reason::code),
        );
    }
    given.extend(sling_bears(None, StrengthBy::CordStandard, None).because.iter().map(Reason::code));
    let here: BTreeSet<_> =
        Reason::CATALOGUE.iter().filter(|entry| entry.room == "trade").map(|entry| entry.code).collect();
    assert_eq!(given, here);
}
