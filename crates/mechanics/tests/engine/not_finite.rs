//! Every number that is not finite is caught where it arises, and the element is named.

use crate::rigs;
use mechanics::fall::{self, Element, Fall, Fault, Kind};
use mechanics::vector::Vector;

/// The element that a run of the spoilt fall names, and when.
fn named(mut fall: Fall<f64>, spoil: impl Fn(&mut Fall<f64>)) -> (Element, f64) {
    let step = fall::default_step(&fall);
    spoil(&mut fall);
    match fall::run(&fall, step, &mut ()) {
        Err(Fault::NotFinite { element, time }) => (element, time),
        other => panic!("{other:?}"),
    }
}

const BAD: [f64; 3] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY];

#[test]
fn a_place_that_is_not_finite_is_named_at_the_start() {
    for bad in BAD {
        for axis in 0..3 {
            assert_eq!(named(rigs::lead(4), |fall| fall.nodes[5].at.0[axis] = bad), (Element::Node(5), 0.0));
        }
    }
}

#[test]
fn a_fixed_place_that_is_not_finite_is_named_itself() {
    for bad in BAD {
        assert_eq!(named(rigs::lead(4), |fall| fall.nodes[2].at = Vector([bad, 0.0, 6.0])), (Element::Node(2), 0.0));
    }
}

#[test]
fn a_mass_that_is_not_finite_is_named() {
    let (element, time) = named(rigs::swinging_draws(3), |fall| fall.nodes[7].kind = Kind::Free(f64::NAN));
    assert_eq!(element, Element::Node(7));
    assert!(time <= 2.0 * 2e-3, "{time}");
}

#[test]
fn a_rope_whose_numbers_are_not_finite_is_named_by_segment() {
    let first = Element::Segment { line: 0, segment: 0 };
    assert_eq!(named(rigs::lead(4), |fall| fall.lines[0].response.slow = f64::NAN), (first, 0.0));
    assert_eq!(named(rigs::lead(4), |fall| fall.lines[0].response.relax = f64::NAN).0, first);
    let third = Element::Segment { line: 0, segment: 2 };
    assert_eq!(named(rigs::lead(4), |fall| fall.lines[0].lengths[2] = f64::NAN), (third, 0.0));
}

#[test]
fn friction_that_is_not_finite_is_named_by_the_rope() {
    for bad in [f64::NAN, f64::INFINITY] {
        let (element, _) = named(rigs::lead(4), |fall| fall.lines[0].friction[3] = bad);
        assert!(matches!(element, Element::Segment { line: 0, segment: 2 | 3 }), "{element:?}");
    }
}

#[test]
fn a_sling_that_is_not_finite_is_named() {
    for bad in [f64::NAN, f64::INFINITY] {
        let (element, time) = named(rigs::swinging_draws(3), |fall| fall.legs[1].stiffness = bad);
        assert!(element == Element::Leg(1) && time <= 2e-3, "{element:?} at {time}");
    }
    let (element, time) = named(rigs::swinging_draws(3), |fall| fall.legs[1].length = f64::NAN);
    assert!(element == Element::Leg(1) && time <= 2e-3, "{element:?} at {time}");
}

/// Numbers that are finite but beyond all measure overflow in the run: the element where they do is named, with a
/// moment after the start.
#[test]
fn what_overflows_on_the_way_is_named() {
    let (element, time) = named(rigs::lead(4), |fall| fall.nodes[5].kind = Kind::Free(1e308));
    assert!(element == Element::Node(5) && time > 0.0, "{element:?} at {time}");
    let (element, time) = named(rigs::straight_drop(rigs::ordinary(), 80.0, 2.6, 1.0), |fall| {
        fall.lines[0].response.slow = 1e308;
        fall.lines[0].lengths[0] = 1e-3;
        fall.nodes[1].at.0[2] = 0.0;
    });
    assert!(matches!(element, Element::Segment { .. }) && time > 0.0, "{element:?} at {time}");
}

#[test]
fn the_words_of_a_fault_name_element_and_time() {
    let fault = Fault::NotFinite { element: Element::Leg(1), time: 0.25 };
    assert_eq!(fault.to_string(), "Leg(1) is not finite at 0.25 s");
}
