//! Rigs on the move, from file to what they take, against closed forms.

use rig::band::bands;
use rig::check::{LinkKind, check};
use rig::running::{Moving, moving};
use rig::solve::{Failure, Prepared};
use std::f64::consts::PI;
use trade::policy::Policy;

const WEIGHT_KN: f64 = 80.0 * 9.80665e-3;

const HEAD: &str = "case = \"running\"\n[rope.main]\nresponse = { slow_kn = 1e5, fast_kn = 0, relax_s = 1 }\n\
    [[anchor]]\nname = \"top\"\nat_m = [0, 0, 100]\n\
    [[person]]\nname = \"climber\"\nmass_kg = 80\nat_m = [0, 0, 0]\n";

fn with<T>(text: &str, see: impl FnOnce(&Prepared<'_>, &rig::band::Bands, Moving) -> T) -> T {
    let rig = rig::read(text, "rig.toml").unwrap_or_else(|faults| panic!("{faults}"));
    let prepared = Prepared::new(&rig).expect("a rope");
    let bands = bands(&prepared).expect("steady");
    let moving = moving(&prepared, &bands).expect("it runs");
    see(&prepared, &bands, moving)
}

fn top_rope(belayer: &str, line: &str) -> String {
    format!(
        "{HEAD}[[person]]\nname = \"belayer\"\nat_m = [0.001, 0, 0]\n{belayer}\n\
         [[line]]\nof = \"main\"\nthrough = [\"belayer\", \"top\", \"climber\"]\n{line}"
    )
}

fn close(got: f64, asked: f64, share: f64) {
    assert!((got - asked).abs() <= share * asked.abs(), "{got} is not {asked}");
}

#[test]
fn a_top_rope_is_lowered_and_raised_by_the_capstan_ratio() {
    let ratio = (0.25 * PI).exp();
    let text = top_rope("mass_kg = 70\nstands = true", "paid_out_at = \"belayer\"");
    with(&text, |_, bands, moving| {
        close(moving.lines[0].pull_kn.typed, WEIGHT_KN / ratio, 1e-4);
        close(moving.lines[0].back_kn.expect("it runs back").typed, WEIGHT_KN * ratio, 1e-4);
        close(moving.lines[0].ideal_kn.expect("it rests"), WEIGHT_KN, 1e-4);
        close(bands.typed().points[0].peak_kn, WEIGHT_KN * (1.0 + 1.0 / ratio), 1e-4);
        close(moving.lines[0].pull_kn.least, WEIGHT_KN / (0.30 * PI).exp(), 1e-4);
        close(moving.lines[0].pull_kn.most, WEIGHT_KN / (0.14 * PI).exp(), 1e-4);
        assert!(moving.lifted.is_empty());
    });
}

#[test]
fn a_light_belayer_leaves_the_floor_unless_a_leg_holds_them_down() {
    let light = "mass_kg = 30\nstands = true";
    with(&top_rope(light, "paid_out_at = \"belayer\""), |_, _, moving| {
        let most = WEIGHT_KN / (0.14 * PI).exp() - 30.0 * 9.80665e-3;
        assert_eq!(moving.lifted.len(), 1);
        close(moving.lifted[0].1, most, 1e-4);
    });
    let tied = top_rope(light, "paid_out_at = \"belayer\"")
        + "\n[sling.tape]\nstiffness_kn = 60\n[[anchor]]\nname = \"stake\"\nat_m = [0.001, 0, -1]\n\
           [[leg]]\nfrom = \"stake\"\nto = \"belayer\"\nof = \"tape\"\n";
    with(&tied, |_, bands, moving| {
        assert!(moving.lifted.is_empty());
        close(bands.typed().legs[0], WEIGHT_KN / (0.25 * PI).exp() - 30.0 * 9.80665e-3, 1e-3);
    });
}

/// Delaney's Z rigs: the better pulley belongs nearest the hands.
fn z_rig(anchor_pulley: f64, hand_pulley: f64) -> String {
    format!(
        "{HEAD}[[joint]]\nname = \"traveller\"\nat_m = [0, 0, 50]\n\
         [[anchor]]\nname = \"hands\"\nat_m = [0.001, 0, 99]\n\
         [[line]]\nof = \"main\"\nthrough = [\"climber\", \"traveller\"]\n\
         [[line]]\nof = \"main\"\nthrough = [\"traveller\", \"top\", \"traveller\", \"hands\"]\ntaken_in_at = \"hands\"\n\
         [[device]]\nname = \"one\"\nat = \"top\"\nefficiency = {anchor_pulley}\n\
         [[device]]\nname = \"two\"\nat = \"traveller\"\nefficiency = {hand_pulley}\nstrength_kn = 20\n\
         [[grip]]\nname = \"hitch\"\nat = \"traveller\"\nof = \"main\"\nslips_at_kn = 7\n"
    )
}

#[test]
fn pulley_order_advantage_device_and_hitch() {
    for (anchor_pulley, hand_pulley) in [(0.9, 0.5), (0.5, 0.9)] {
        with(&z_rig(anchor_pulley, hand_pulley), |prepared, bands, moving| {
            let pull = WEIGHT_KN / (1.0 + hand_pulley + anchor_pulley * hand_pulley);
            close(moving.advantage(), WEIGHT_KN / pull, 1e-4);
            close(moving.ideal_advantage().expect("it rests"), 3.0, 1e-4);
            let check = check(prepared.rig(), bands, &Policy::default());
            let seen = |kind| check.links.iter().rfind(|link| link.kind == kind).expect("a link").as_typed.kn();
            close(seen(LinkKind::Device), pull * (1.0 + hand_pulley), 1e-4);
            close(seen(LinkKind::Grip), WEIGHT_KN - pull * anchor_pulley * hand_pulley, 1e-4);
        });
    }
}

#[test]
fn a_rope_that_does_not_reach_is_told_with_what_is_wanting() {
    let short = |rope_m: f64| {
        let line = format!("paid_out_at = \"belayer\"\nrope_m = {rope_m}\nreaches_m = -5");
        with(&top_rope("mass_kg = 80\nanchored = true", &line), |_, _, moving| moving.lines[0].short_m)
    };
    assert_eq!(short(210.0), 0.0);
    close(short(201.0), 4.0, 1e-2);
}

/// A hanging rappel on a stretchy rope: 8.6 m as drawn and 19.4 m to the ground.
#[test]
fn what_stretch_gives_does_not_make_a_short_rope_long_enough() {
    let example = include_str!("../../../examples/rappel-sea-cliff.toml").replace("rope_m = 30.0", "rope_m = 25.0");
    with(&example, |_, _, moving| moving.lines.iter().for_each(|line| close(line.short_m, 3.0, 1e-9)));
}

#[test]
fn the_tail_below_the_hand_is_weighed_down_to_the_ground() {
    let text = format!(
        "{}[[joint]]\nname = \"device\"\nat_m = [0, 0, 0.6]\n[sling.tape]\nstiffness_kn = 1e4\n\
         [[leg]]\nfrom = \"device\"\nto = \"climber\"\nof = \"tape\"\n\
         [[line]]\nof = \"main\"\nthrough = [\"top\", \"device\", \"climber\"]\npaid_out_at = \"climber\"\n\
         rope_m = 150\nreaches_m = -30\n[[device]]\nname = \"tube\"\nat = \"device\"\nratio = 8\nband = [5, 12]\n",
        HEAD.replace("relax_s = 1 }", "relax_s = 1 }\nmass_kg_per_m = 0.06")
    );
    with(&text, |_, bands, moving| {
        let tail = 30.0 * 0.06 * 9.80665e-3;
        close(moving.lines[0].tail_kn, tail, 1e-9);
        let hand = (WEIGHT_KN + tail) / 8.0;
        // The rope's own weight above the device is what the tolerance leaves room for, 0.6 m of it.
        close(moving.lines[0].pull_kn.typed, hand, 3e-3);
        assert!(moving.lines[0].pull_kn.least < hand / 1.4 && moving.lines[0].pull_kn.most > hand * 1.5);
        close(bands.typed().points[0].peak_kn, WEIGHT_KN + tail + 100.0 * 0.06 * 9.80665e-3, 3e-3);
    });
}

#[test]
fn a_load_that_a_given_pull_cannot_balance_is_an_error_that_names_it() {
    let text = top_rope("mass_kg = 80\nanchored = true", "taken_in_at = \"belayer\"\npull_kn = 0.1");
    let rig = rig::read(&text, "rig.toml").expect("a rig");
    let prepared = Prepared::new(&rig).expect("a rope");
    assert_eq!(bands(&prepared).expect_err("it falls"), Failure::NotBalanced { point: "climber".to_owned() });
}
