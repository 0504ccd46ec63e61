//! The rules of a fall, one by one.

use crate::rigs::{self, KILO};
use mechanics::GRAVITY;
use mechanics::fall::{self, Fall, Kind, Moment, Peaks};

/// Runs a fall and shows every moment.
fn watch(fall: &Fall<f64>, step: f64, mut see: impl FnMut(&Moment<'_, f64>)) -> Peaks<f64> {
    fall::run(fall, step, &mut |moment: &Moment<'_, f64>| see(moment)).expect("a run")
}

/// A climber of `climber` kg on a top rope over one fixed point, a standing belayer of `belayer` kg straight below it.
fn over_one_point(belayer: f64, climber: f64, friction: f64, slack: f64) -> Fall<f64> {
    let mut fall = rigs::empty(2.0);
    let below = rigs::point(&mut fall, Kind::Stands(belayer), [-0.2, 0.0, 0.0]);
    let above = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 6.0]);
    let climbing = rigs::point(&mut fall, Kind::Free(climber), [0.2, 0.0, 3.0]);
    rigs::line(&mut fall, rigs::ordinary(), &[below, above, climbing], friction, slack);
    fall
}

const BELAYER: usize = 0;
const CLIMBER: usize = 2;

#[test]
fn free_fall_is_free() {
    let fall = over_one_point(70.0, 80.0, 0.25, 3.0);
    watch(&fall, 1e-3, |moment| {
        if moment.time() < 0.7 {
            let fallen = 0.5 * GRAVITY * moment.time() * moment.time();
            assert!((moment.at(CLIMBER).0[2] - (3.0 - fallen)).abs() < 1e-9);
            assert_eq!(moment.tension(0, 1), 0.0);
        }
    });
}

#[test]
fn a_belayer_is_lifted_only_once_the_pull_exceeds_their_weight() {
    let fall = over_one_point(70.0, 80.0, 0.25, 0.5);
    let (mut most_on_the_ground, mut lifted) = (0.0_f64, false);
    watch(&fall, 5e-4, |moment| {
        let height = moment.at(BELAYER).0[2];
        let upward = moment.pull_on(BELAYER).0[2];
        if !lifted && height == 0.0 {
            most_on_the_ground = most_on_the_ground.max(upward);
        }
        if !lifted && height > 0.0 {
            lifted = true;
            // The step in which the pull passes the weight is the first that lifts.
            assert!(most_on_the_ground >= 70.0 * GRAVITY, "lifted by {most_on_the_ground}");
            assert!(most_on_the_ground < 1.05 * 70.0 * GRAVITY, "lifted by {most_on_the_ground}");
        }
    });
    assert!(lifted);
}

#[test]
fn a_heavy_belayer_stays_put_sideways_too() {
    let fall = over_one_point(300.0, 60.0, 0.25, 0.1);
    let peaks = watch(&fall, 1e-3, |moment| assert_eq!(moment.at(BELAYER), fall.nodes[BELAYER].at));
    assert!(peaks.nodes[BELAYER].ropes > 500.0 && peaks.nodes[BELAYER].ropes < 300.0 * GRAVITY);
}

#[test]
fn nobody_falls_through_the_floor_they_stood_on() {
    let mut fall = over_one_point(50.0, 90.0, 0.25, 1.5);
    fall.until = 6.0;
    let peaks = watch(&fall, 1e-3, |_| ());
    assert_eq!(peaks.nodes[BELAYER].lowest, 0.0);
    assert!(peaks.nodes[BELAYER].highest > 0.3);
}

#[test]
fn who_is_lifted_is_stopped_at_30_cm_and_the_run_goes_on() {
    let mut fall = over_one_point(45.0, 110.0, 0.1, 2.0);
    fall.nodes[BELAYER].at.0[2] = 4.5;
    let mut nearest = f64::INFINITY;
    let mut last = 0.0;
    let peaks = watch(&fall, 1e-3, |moment| {
        nearest = nearest.min((moment.at(BELAYER) - moment.at(1)).norm());
        last = moment.time();
    });
    assert!((nearest - 0.3).abs() < 1e-9, "{nearest}");
    assert!(peaks.nodes[BELAYER].stopped_at < 2.0);
    assert!((last - 2.0).abs() < 1e-9);
}

/// A joint that swings toward the belayer who hangs against it does not push them: energy would come from nowhere.
#[test]
fn a_point_that_comes_toward_the_belayer_does_not_push_them() {
    let mut fall = rigs::empty(2.0);
    let belayer = rigs::point(&mut fall, Kind::Stands(51.0), [0.3, 0.2, 1.8]);
    let joint = rigs::draw(&mut fall, [0.43, 0.36, 3.2], 400.0 * KILO, 0.53, 0.23);
    let leader = rigs::point(&mut fall, Kind::Free(95.0), [0.6, 0.5, 4.0]);
    rigs::line(&mut fall, rigs::elastic(20e3), &[belayer, joint, leader], 0.25, 1.0);
    let (mut least, mut growth) = (f64::INFINITY, 0.0_f64);
    let peaks = watch(&fall, fall::default_step(&fall), |moment| {
        least = least.min(moment.energy());
        growth = growth.max(moment.energy() - least);
    });
    assert!(peaks.nodes[belayer].stopped_at.is_finite());
    assert!(growth < 1e-3 * 95.0 * GRAVITY, "{growth} J");
}

#[test]
fn a_brake_pays_out_at_exactly_its_tension_and_never_back() {
    let mut fall = rigs::lead(4);
    let slips_at = 0.4 * KILO;
    fall.lines[0].brake = slips_at;
    let segments = fall.lines[0].lengths.len();
    let drawn: f64 = fall.lines[0].lengths.iter().sum();
    let (mut length, mut slipping) = (drawn, 0);
    watch(&fall, 2e-3, |moment| {
        let now: f64 = (0..segments).map(|segment| moment.length(0, segment)).sum();
        let tension = moment.tension(0, 0);
        assert!(tension <= slips_at * (1.0 + 1e-9), "{tension}");
        assert!(now >= length - 1e-12, "ran back by {}", length - now);
        if now > length + 1e-9 {
            slipping += 1;
            assert!((tension / slips_at - 1.0).abs() < 1e-8, "slips at {tension}");
        }
        length = now;
    });
    assert!(slipping > 10 && length > drawn + 0.1, "{slipping} {}", length - drawn);
}

#[test]
fn a_brake_that_never_slips_keeps_all_rope() {
    let mut fall = rigs::lead(4);
    fall.lines[0].brake = f64::INFINITY;
    let drawn: f64 = fall.lines[0].lengths.iter().sum();
    let peaks = watch(&fall, 2e-3, |moment| {
        let now: f64 = (0..5).map(|segment| moment.length(0, segment)).sum();
        assert!((now - drawn).abs() < 1e-12);
    });
    assert!(peaks.segments[0][0] > 1.0 * KILO);
}

/// While rope runs over a turn the tensions differ by exactly exp(friction × angle), whichever way it runs.
#[test]
fn the_capstan_ratio_is_exact_while_rope_runs() {
    let friction: f64 = 0.1;
    let mut fall = over_one_point(500.0, 80.0, friction, 0.3);
    fall.lines[0].response = rigs::elastic(20e3);
    let (mut before, mut forward, mut backward) = (None, 0, 0);
    watch(&fall, 1e-3, |moment| {
        let place = |node: usize| moment.at(node);
        let angle = (place(1) - place(0)).angle_to(place(2) - place(1));
        let (behind, ahead, length) = (moment.tension(0, 0), moment.tension(0, 1), moment.length(0, 0));
        let ran = before.map_or(0.0, |before: f64| before - length);
        if ran.abs() > 1e-7 && behind.min(ahead) > 10.0 {
            let ratio = if ran > 0.0 { ahead / behind } else { behind / ahead };
            assert!((ratio / (friction * angle).exp() - 1.0).abs() < 1e-6, "{ratio} at {}", moment.time());
            if ran > 0.0 { forward += 1 } else { backward += 1 }
        }
        before = Some(length);
    });
    assert!(forward > 20 && backward > 20, "{forward} {backward}");
}

#[test]
fn without_friction_one_tension_goes_from_end_to_end() {
    let mut fall = rigs::lead(4);
    fall.lines[0].friction.fill(0.0);
    let peaks = watch(&fall, 2e-3, |moment| {
        for segment in 1..5 {
            assert!((moment.tension(0, segment) - moment.tension(0, 0)).abs() < 1e-3);
        }
    });
    assert!(peaks.segments[0][4] > KILO);
}

/// More friction: more on the leader, less on the belayer.
#[test]
fn friction_shifts_the_load_from_the_belayer_to_the_leader() {
    let peaks = [0.1, 0.2, 0.4].map(|friction| {
        let mut fall = rigs::lead(4);
        fall.lines[0].friction.fill(friction);
        watch(&fall, 2e-3, |_| ()).segments.remove(0)
    });
    for pair in peaks.windows(2) {
        assert!(pair[1][4] > pair[0][4] && pair[1][0] < pair[0][0], "{pair:?}");
    }
}

/// The slack of a line hangs in its last segment: as long as that is slack nothing runs.
#[test]
fn slack_in_the_last_segment_is_used_first() {
    let fall = over_one_point(500.0, 80.0, 0.25, 1.0);
    let drawn = fall.lines[0].lengths[0];
    watch(&fall, 1e-3, |moment| {
        let straight = (moment.at(2) - moment.at(1)).norm();
        if straight < fall.lines[0].lengths[1] {
            assert!((moment.length(0, 0) - drawn).abs() < 1e-12);
            assert_eq!((moment.tension(0, 0), moment.tension(0, 1)), (0.0, 0.0));
        }
    });
}

/// A person who is thrown up takes rope with them: slack at zero tension goes to the nearest segment.
#[test]
fn a_segment_that_needs_rope_takes_slack_from_its_neighbour_at_no_tension() {
    let mut fall = rigs::empty(0.5);
    let end = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let near = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 2.0]);
    let far = rigs::point(&mut fall, Kind::Fixed, [1.0, 0.0, 2.0]);
    let mass = rigs::point(&mut fall, Kind::Free(80.0), [1.0, 0.0, 1.0]);
    rigs::line(&mut fall, rigs::elastic(20e3), &[end, near, far, mass], 0.25, 0.0);
    fall.lines[0].lengths[1] += 0.5;
    watch(&fall, 1e-3, |moment| {
        if moment.length(0, 1) > 1.0 + 1e-9 {
            let tension = moment.tension(0, 2);
            assert!(tension < 1e-3, "{tension}");
            assert!((moment.length(0, 0) - 2.0).abs() < 1e-9, "taken from afar");
        }
    });
}

/// Where two slack strands can both give rope, each gives half.
#[test]
fn a_strand_between_two_slack_ones_takes_half_from_each() {
    let mut fall = rigs::empty(0.3);
    let left = rigs::point(&mut fall, Kind::Fixed, [-1.0, 0.0, 0.0]);
    let edge = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 1.0]);
    let mass = rigs::point(&mut fall, Kind::Free(80.0), [1.0, 0.0, 1.0]);
    let right = rigs::point(&mut fall, Kind::Fixed, [1.0, 1.0, 1.0]);
    rigs::line(&mut fall, rigs::elastic(20e3), &[left, edge, mass, right], 0.25, 0.0);
    let drawn = fall.lines[0].lengths.clone();
    fall.lines[0].lengths[0] += 0.5;
    fall.lines[0].lengths[2] += 1.0;
    let mut taken = [0.0; 2];
    let slack = |moment: &Moment<'_, f64>| {
        let straight = (moment.at(3) - moment.at(2)).norm();
        moment.length(0, 0) > drawn[0] + 1e-3 && moment.length(0, 2) > straight + 1e-3
    };
    watch(&fall, 1e-3, |moment| {
        if slack(moment) {
            taken = [0.5 + drawn[0] - moment.length(0, 0), 1.0 + drawn[2] - moment.length(0, 2)];
        }
    });
    assert!(taken[0] > 0.02, "{taken:?}");
    assert!((taken[0] - taken[1]).abs() < 1e-6 * taken[0], "{taken:?}");
}

/// A length given shorter than drawn is a rope that is taut at t = 0, with nothing relaxing yet: T = slow × strain.
#[test]
fn a_rope_shorter_than_drawn_pulls_from_the_start_by_its_slow_part_alone() {
    let mut fall = rigs::straight_drop(rigs::ordinary(), 80.0, 2.0, 0.0);
    fall.lines[0].lengths[0] = 1.9;
    let mut first = None;
    watch(&fall, 1e-3, |moment| {
        first.get_or_insert(moment.tension(0, 0));
    });
    let expected = 10.0 * KILO * (2.0 / 1.9 - 1.0);
    assert!((first.expect("a moment") / expected - 1.0).abs() < 1e-12);
}

/// The fast part of the rope makes a hard catch harder than the slow part alone.
#[test]
fn the_fast_part_of_a_rope_makes_the_catch_harder() {
    let [slow, both] = [rigs::elastic(10.0 * KILO), rigs::ordinary()].map(|response| {
        let fall = rigs::straight_drop(response, 80.0, 2.6, 2.6);
        watch(&fall, 1e-3, |_| ()).segments[0][0]
    });
    assert!(both > 1.2 * slow, "{both} {slow}");
}

/// A body so heavy that no rope stirs it stretches the rope as it falls: strain g t² / (2 l). With T = slow ε + q and
/// q' = fast ε' − q / relax: q = fast (g / l) relax (t − relax (1 − exp(−t / relax))).
#[test]
fn a_rope_under_a_known_stretch_answers_as_the_standard_linear_solid() {
    let (length, response) = (2.0, rigs::ordinary());
    let mut fall = rigs::straight_drop(response, 1e12, length, 0.0);
    fall.until = 0.3;
    watch(&fall, 1e-3, |moment| {
        let time = moment.time();
        let strain = 0.5 * GRAVITY * time * time / length;
        let late = time - response.relax * (1.0 - (-time / response.relax).exp());
        let expected = response.slow * strain + response.fast * GRAVITY / length * response.relax * late;
        assert!((moment.tension(0, 0) - expected).abs() < 2e-5 * expected + 1e-2, "at {time}");
    });
}

/// tension = k (d − length) + 2 × 0.1 × √(k m) d' while a leg is stretched and the sum is positive, else 0.
#[test]
fn a_leg_pulls_by_stretch_and_rate_and_never_pushes() {
    let (stiffness, length, mass) = (5e4, 1.0, 20.0);
    let mut fall = rigs::empty(1.0);
    let anchor = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let below = rigs::point(&mut fall, Kind::Free(mass), [0.0, 0.0, -0.9]);
    rigs::leg(&mut fall, [anchor, below], stiffness * length, length);
    let damping = 0.2 * (stiffness * mass).sqrt();
    let (mut pulling, mut silent) = (0, 0);
    watch(&fall, 2e-4, |moment| {
        let stretch = moment.at(1).norm() - length;
        let expected = stiffness * stretch - damping * moment.velocity(1).0[2];
        let tension = moment.leg_tension(0);
        if stretch <= 0.0 {
            assert_eq!(tension, 0.0);
            silent += 1;
        } else if tension > 0.0 {
            assert!((tension - expected).abs() < 1e-6 * stiffness, "{tension} {expected}");
            pulling += 1;
        }
    });
    assert!(pulling > 100 && silent > 100, "{pulling} {silent}");
}

/// The ringing of a light end dies at a tenth of critical damping: exp(−2π × 0.1 / √(1 − 0.01)) from peak to peak.
#[test]
fn a_leg_rings_at_a_tenth_of_critical_damping() {
    let (stiffness, mass) = (1e5, 10.0);
    let mut fall = rigs::empty(0.3);
    let anchor = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let rest = 1.0 + mass * GRAVITY / stiffness;
    let below = rigs::point(&mut fall, Kind::Free(mass), [0.0, 0.0, -rest - 0.0005]);
    rigs::leg(&mut fall, [anchor, below], stiffness, 1.0);
    let mut heights = Vec::new();
    watch(&fall, 1e-4, |moment| heights.push(-moment.at(1).0[2] - rest));
    let peaks: Vec<f64> = heights.windows(3).filter(|w| w[1] > w[0] && w[1] > w[2]).map(|w| w[1]).collect();
    let expected = (-0.2 * std::f64::consts::PI / 0.99_f64.sqrt()).exp();
    assert!(peaks.len() >= 3);
    for pair in peaks.windows(2) {
        assert!((pair[1] / pair[0] / expected - 1.0).abs() < 0.01, "{pair:?} {expected}");
    }
}

#[test]
fn the_lighter_end_that_moves_decides_the_damping() {
    // A light joint between two legs, on a heavy person: the leg to the person is damped by the joint's mass.
    let mut fall = rigs::empty(0.2);
    let anchor = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let joint = rigs::point(&mut fall, Kind::Free(0.5), [0.0, 0.0, -1.0]);
    let person = rigs::point(&mut fall, Kind::Free(80.0), [0.0, 0.0, -2.0]);
    rigs::leg(&mut fall, [anchor, joint], 1e5, 1.0);
    rigs::leg(&mut fall, [joint, person], 1e5, 1.0);
    let damping = 0.2 * (1e5_f64 * 0.5).sqrt();
    watch(&fall, 1e-4, |moment| {
        let (span, speed) = (moment.at(2) - moment.at(1), moment.velocity(2) - moment.velocity(1));
        let expected = 1e5 * (span.norm() - 1.0) - damping * speed.0[2];
        if moment.leg_tension(1) > 0.0 {
            assert!((moment.leg_tension(1) - expected).abs() < 1e-3, "{} {expected}", moment.leg_tension(1));
        }
    });
}

#[test]
fn peaks_are_the_largest_of_all_moments() {
    let fall = rigs::swinging_draws(3);
    let mut most = vec![0.0_f64; fall.nodes.len()];
    let mut legs = vec![0.0_f64; fall.legs.len()];
    let peaks = watch(&fall, fall::default_step(&fall), |moment| {
        most.iter_mut().enumerate().for_each(|(node, most)| *most = most.max(moment.pull_on(node).norm()));
        legs.iter_mut().enumerate().for_each(|(leg, most)| *most = most.max(moment.leg_tension(leg)));
    });
    assert_eq!(legs, peaks.legs);
    for (node, most) in peaks.nodes.iter().zip(most) {
        assert!((node.all - most).abs() <= 1e-12 * most);
        assert!((node.all_vector.norm() - node.all).abs() <= 1e-9 * most);
    }
}
