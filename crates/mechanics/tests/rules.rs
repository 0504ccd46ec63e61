//! Single rules of the contract, each by name.

mod common;

use common::{DYNAMIC, ELASTIC, distance, four_clips, line, node, straight};
use mechanics::GRAVITY;
use mechanics::fall::{Element, Fall, Fault, Kind, Leg, Moment, run};
use mechanics::rope::Response;

/// A weight over one clip and a person standing at the other end of the rope.
fn pulled_up(weight: f64, person: f64, top: f64) -> Fall<f64> {
    let nodes = vec![
        node([0.0, 0.0, 0.0], Kind::Stands(person)),
        node([0.1, 0.0, top], Kind::Fixed),
        node([0.2, 0.0, top - 1.0], Kind::Free(weight)),
    ];
    let rope = line(&nodes, &[0, 1, 2], ELASTIC, 0.0, 0.0);
    Fall { nodes, lines: vec![rope], until: 4.0, ..Fall::default() }
}

#[test]
fn who_stands_stays_put_while_the_pull_does_not_lift_them() {
    // Dropped on a frictionless elastic rope a weight pulls with up to twice itself.
    let firm = run(&pulled_up(40.0, 85.0, 6.0), 1e-3, &mut ()).expect("a run");
    assert_eq!((firm.nodes[0].lowest, firm.nodes[0].highest), (0.0, 0.0));
    let lifted = run(&pulled_up(60.0, 85.0, 6.0), 1e-3, &mut ()).expect("a run");
    assert!(lifted.nodes[0].highest > 0.05 && lifted.nodes[0].lowest == 0.0);
}

#[test]
fn who_lands_loses_all_speed() {
    let fall = pulled_up(60.0, 85.0, 6.0);
    let (mut was_up, mut landings) = (false, 0);
    let mut before = [0.0; 3];
    run(&fall, 1e-3, &mut |moment: &Moment<'_, f64>| {
        let at = moment.at(0).0;
        if was_up && at[2] == 0.0 {
            landings += 1;
        }
        if !was_up && at[2] == 0.0 && landings > 0 {
            assert_eq!(at, before, "stands where they landed");
        }
        was_up = at[2] > 0.0;
        before = at;
    })
    .expect("a run");
    assert!(landings > 0);
}

#[test]
fn who_is_lifted_is_stopped_at_a_third_of_a_metre_from_the_first_piece_and_the_run_goes_on() {
    let fall = pulled_up(120.0, 50.0, 3.0);
    let mut nearest = f64::INFINITY;
    let peaks = run(&fall, 1e-3, &mut |moment: &Moment<'_, f64>| {
        nearest = nearest.min((moment.at(0) - moment.at(1)).norm());
    })
    .expect("a run");
    // Held against the pull they give way by what one step moves them, a tenth of a millimetre.
    assert!((nearest - 0.3).abs() < 3e-4, "{nearest}");
    let stopped = peaks.nodes[0].stopped_at;
    assert!(stopped > 0.0 && stopped < fall.until);
    assert!(run(&pulled_up(40.0, 85.0, 6.0), 1e-3, &mut ()).expect("a run").nodes[0].stopped_at.is_infinite());
}

#[test]
fn who_starts_nearer_than_that_comes_no_nearer() {
    let fall = pulled_up(120.0, 50.0, 0.2);
    let start = distance(&fall.nodes, 0, 1);
    run(&fall, 1e-3, &mut |moment: &Moment<'_, f64>| {
        assert!((moment.at(0) - moment.at(1)).norm() > start - 3e-4);
    })
    .expect("a run");
}

#[test]
fn slack_hangs_in_the_last_segment_and_is_used_up_first() {
    let fall = four_clips();
    run(&fall, 2e-3, &mut |moment: &Moment<'_, f64>| {
        if moment.time() < 1e-9 {
            assert!((moment.rope_length(0, 4) - fall.lines[0].lengths[4]).abs() < 1e-12);
        }
        if moment.tension(0, 4) == 0.0 && moment.time() < 1.0 {
            assert!(
                (0..4).all(|segment| moment.tension(0, segment) == 0.0),
                "no rope behind pulls before the last does"
            );
        }
    })
    .expect("a run");
}

#[test]
fn a_strand_with_slack_on_both_sides_takes_half_from_each() {
    // Three fixed points in a row with slack on both sides of a strand that is too short by 2 cm.
    let nodes = vec![
        node([0.0, 0.0, 0.0], Kind::Fixed),
        node([1.0, 0.0, 0.0], Kind::Fixed),
        node([2.0, 0.0, 0.0], Kind::Fixed),
        node([3.0, 0.0, 0.0], Kind::Fixed),
    ];
    let mut rope = line(&nodes, &[0, 1, 2, 3], ELASTIC, 0.0, 0.3);
    rope.lengths = vec![1.1, 0.98, 1.1];
    let fall = Fall { nodes, lines: vec![rope], until: 0.01, ..Fall::default() };
    let mut lengths = [0.0; 3];
    run(&fall, 1e-3, &mut |moment: &Moment<'_, f64>| lengths = [0, 1, 2].map(|s| moment.rope_length(0, s)))
        .expect("a run");
    for (length, expected) in lengths.iter().zip([1.09, 1.0, 1.09]) {
        assert!((length - expected).abs() < 1e-6, "{lengths:?}");
    }
}

/// q' = −(q / relax) slow / (slow + fast) while slack: the strand goes taut again at the strain −q / slow, which creeps
/// back to zero. A second fall on the same rope soon after the first starts on a longer strand.
#[test]
fn a_free_strand_recovers() {
    let response = Response { slow: 10e3, fast: 20e3, relax: 0.4 };
    let mut fall = straight(response, 80.0, 4.0);
    fall.until = 6.0;
    let (mut slack_since, mut set) = (None, Vec::new());
    run(&fall, 1e-3, &mut |moment: &Moment<'_, f64>| {
        let slack = moment.tension(0, 0) == 0.0;
        let strain = moment.at(1).norm() / 4.0 - 1.0;
        if moment.time() > 1.5 {
            match (slack, slack_since) {
                (true, None) => slack_since = Some((moment.time(), strain)),
                (false, Some((since, left))) => {
                    set.push((moment.time() - since, left, strain));
                    slack_since = None;
                }
                _ => {}
            }
        }
    })
    .expect("a run");
    let &(lasted, left, taken) = set.first().expect("it flies up and comes down again");
    let expected = left * (-lasted / response.relax * response.slow / (response.slow + response.fast)).exp();
    // Read off at whole steps, in which a fall at 5 m/s stretches 4 m of rope by a thousandth.
    assert!((taken - expected).abs() < 3e-3, "went slack at {left}, taut at {taken}, {lasted} s later, not {expected}");
}

#[test]
fn friction_divides_the_load_as_the_capstan_says() {
    let peak = |friction: f64| {
        let mut fall = four_clips();
        fall.lines[0].friction = vec![friction; 6];
        run(&fall, 2e-3, &mut ()).expect("a run").segments.remove(0)
    };
    let (smooth, rough) = (peak(0.0), peak(0.3));
    assert!((smooth[0] / smooth[4] - 1.0).abs() < 1e-6, "without friction one tension: {smooth:?}");
    assert!(rough[4] > smooth[4] && rough[0] < rough[4] / 2.0, "{rough:?}");
}

#[test]
fn a_leg_pulls_and_never_pushes_and_rings_out() {
    // A light joint dropped by 1 cm onto its leg.
    let nodes = vec![node([0.0; 3], Kind::Fixed), node([0.0, 0.0, -0.49], Kind::Free(0.1))];
    let legs = vec![Leg { ends: [0, 1], stiffness: 1e5, length: 0.5 }];
    let fall = Fall { nodes, legs, until: 4.0, ..Fall::default() };
    let mut last = 0.0;
    run(&fall, 1e-4, &mut |moment: &Moment<'_, f64>| {
        assert!(moment.leg_tension(0) >= 0.0);
        last = moment.leg_tension(0);
    })
    .expect("a run");
    assert!((last / (0.1 * GRAVITY) - 1.0).abs() < 1e-2, "hangs at its weight: {last}");
}

#[test]
fn a_slack_leg_does_not_push() {
    let nodes = vec![node([0.0; 3], Kind::Fixed), node([0.0, 0.0, -0.3], Kind::Free(0.1))];
    let legs = vec![Leg { ends: [0, 1], stiffness: 1e5, length: 0.5 }];
    let fall = Fall { nodes, legs, until: 0.15, ..Fall::default() };
    run(&fall, 1e-4, &mut |moment: &Moment<'_, f64>| {
        let free = -0.3 - GRAVITY * moment.time().powi(2) / 2.0;
        assert!((moment.at(1).0[2] - free).abs() < 1e-9, "falls free while its leg is slack");
    })
    .expect("a run");
}

#[test]
fn what_is_not_finite_is_named_with_its_time() {
    let mut fall = four_clips();
    fall.lines[0].lengths[2] = f64::NAN;
    let fault = run(&fall, 2e-3, &mut ()).expect_err("a length that is no number");
    assert_eq!(fault, Fault::NotFinite { element: Element::Segment { line: 0, segment: 2 }, time: 0.0 });
    let mut fall = four_clips();
    fall.nodes[4].at.0[0] = f64::INFINITY;
    assert!(matches!(run(&fall, 2e-3, &mut ()), Err(Fault::NotFinite { element: Element::Node(4), .. })));
    let nodes = vec![node([0.0; 3], Kind::Fixed), node([0.0, 0.0, -1.0], Kind::Free(1.0))];
    let legs = vec![Leg { ends: [0, 1], stiffness: f64::NAN, length: 0.5 }];
    let fall = Fall { nodes, legs, until: 1.0, ..Fall::default() };
    let fault = run(&fall, 1e-3, &mut ()).expect_err("a stiffness that is no number");
    assert!(
        matches!(fault, Fault::NotFinite { element: Element::Leg(0) | Element::Node(1), time } if time <= 2e-3),
        "{fault}"
    );
}

#[test]
fn relaxation_takes_from_the_second_swing() {
    let stiff = Response { slow: DYNAMIC.slow + DYNAMIC.fast, fast: 0.0, relax: 1.0 };
    // How high they fly up again after the fall.
    let rebound = |response| {
        let mut fall = straight(response, 80.0, 3.0);
        fall.until = 3.5;
        let (mut lowest, mut height) = (f64::INFINITY, f64::NEG_INFINITY);
        run(&fall, 1e-3, &mut |moment: &Moment<'_, f64>| {
            let z = moment.at(1).0[2];
            if z < lowest {
                (lowest, height) = (z, z);
            }
            height = height.max(z);
        })
        .expect("a run");
        height - lowest
    };
    let (rope, spring) = (rebound(DYNAMIC), rebound(stiff));
    assert!(rope < 0.8 * spring, "{rope} m, on a spring {spring} m");
}
