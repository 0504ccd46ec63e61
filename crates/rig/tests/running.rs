//! Rigs on the move, from file to what they take, against closed forms.

use rig::band::bands;
use rig::change::{Change, Helped, offers};
use rig::check::{LinkKind, check};
use rig::moving::{Grasp, Moving, moving};
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
    let check = check(&rig, &bands, &Policy::default());
    let moving = moving(&prepared, &bands, &check, &Policy::default()).expect("it runs");
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

/// Published: 1.95 with the better pulley at the anchor, 2.35 with it at the hands (after R. Delaney, Pulley system analysis).
#[test]
fn the_better_pulley_is_offered_a_place_nearest_the_hands() {
    let offered = |anchor_pulley, hand_pulley| {
        with(&z_rig(anchor_pulley, hand_pulley), |prepared, bands, _| {
            let check = check(prepared.rig(), bands, &Policy::default());
            offers(prepared, bands, &check, &Policy::default())
        })
    };
    let rated = |text: String| text.replace("efficiency = 0.9\n", "efficiency = 0.9\nstrength_kn = 20\n");
    let text = rated(z_rig(0.9, 0.5));
    let swap = with(&text, |prepared, bands, _| {
        let check = check(prepared.rig(), bands, &Policy::default());
        let offers = offers(prepared, bands, &check, &Policy::default());
        offers.into_iter().find(|offer| matches!(offer.change, Change::SwapPulleys { .. })).expect("an offer")
    });
    let Helped::Pull { before_kn, after_kn } = swap.helps else { panic!("it eases the pull") };
    close(before_kn, WEIGHT_KN / 1.95, 1e-4);
    close(after_kn, WEIGHT_KN / 2.35, 1e-4);
    let is_swap = |offer: &rig::change::Offer| matches!(offer.change, Change::SwapPulleys { .. });
    assert!(!offered(0.5, 0.9).iter().any(is_swap), "nothing to gain");
}

/// Mauthner, quoted by Moyer 2006: 46 to 425 N a hand.
#[test]
fn what_a_hand_gives_stands_beside_what_it_is_asked_for() {
    let rappel = |ratio: f64| {
        let device = format!("[[device]]\nname = \"tube\"\nat = \"top\"\nratio = {ratio}\n");
        let line = format!("paid_out_at = \"belayer\"\n{device}");
        with(&top_rope("mass_kg = 80\nanchored = true", &line), |_, _, moving| moving.hands[0].clone())
    };
    for (ratio, grasp) in [(1.5, Grasp::TooWeak), (8.0, Grasp::InDoubt), (20.0, Grasp::Within)] {
        let held = rappel(ratio);
        close(held.pull_kn.typed, WEIGHT_KN / ratio, 1e-4);
        assert_eq!(held.grasp, grasp, "{ratio}");
    }
    let weak = top_rope("mass_kg = 80\nanchored = true", "paid_out_at = \"belayer\"\nhands = 0");
    with(&weak, |_, _, moving| assert!(moving.hands.is_empty() && !moving.cannot_be(), "no hand holds it"));
}

/// Four hands of 425 N: 1.7 kN, times 1 + e at the traveller, times 1 + e + e^2 on the load's strand.
#[test]
fn a_party_pulls_on_what_is_jammed_with_all_its_hands() {
    let text = z_rig(0.9, 0.8).replace("taken_in_at = \"hands\"", "taken_in_at = \"hands\"\nhands = 4");
    with(&text, |_, _, moving| {
        let party = moving.party.expect("several hands haul");
        close(party.pull_kn, 4.0 * 0.425, 1e-9);
        let seen = |name: &str| party.links.iter().find(|link| link.name == name).expect("a link").as_typed.kn();
        close(seen("two"), 1.7 * 1.8, 1e-3);
        close(seen("top"), 1.7 * 0.8 * 1.9, 1e-3);
        close(seen("hitch"), 1.7 * (1.0 + 0.8), 1e-3);
        assert_eq!(party.weakest().expect("rated").name, "hitch");
    });
    with(&z_rig(0.9, 0.8), |_, _, moving| assert!(moving.party.is_none(), "one hand is no party"));
}

fn rappel(more: &str) -> String {
    format!(
        "{HEAD}[[joint]]\nname = \"device\"\nat_m = [0, 0, 0.6]\n[sling.tape]\nstiffness_kn = 1e4\n\
         [[leg]]\nfrom = \"device\"\nto = \"climber\"\nof = \"tape\"\n\
         [[device]]\nname = \"tube\"\nat = \"device\"\nratio = 8\n{more}"
    )
}

const STRAND: &str =
    "[[line]]\nof = \"main\"\nthrough = [\"top\", \"device\", \"climber\"]\npaid_out_at = \"climber\"\n";

/// bergundsteigen: 2.6 kN with 86 kg, 3.08 times the weight.
#[test]
fn an_abrupt_stop_multiplies_what_the_anchor_sees() {
    with(&rappel(STRAND), |prepared, bands, moving| {
        let descent = moving.descent.expect("somebody comes down");
        let check = check(prepared.rig(), bands, &Policy::default());
        let (place, abrupt) = descent.anchors[0];
        assert_eq!(check.links[place].name, "top");
        close(abrupt.kn(), 3.08 * WEIGHT_KN, 1e-3);
    });
    with(&top_rope("mass_kg = 80\nanchored = true", "paid_out_at = \"belayer\""), |_, _, moving| {
        assert!(moving.descent.is_none(), "lowering is not rappelling");
    });
}

#[test]
fn a_hitch_below_the_device_holds_both_strands() {
    let hitch = "[[grip]]\nname = \"hitch\"\nat = \"climber\"\nof = \"main\"\nslips_at_kn = 2\n";
    let held = |strands: usize| {
        with(&rappel(&(STRAND.repeat(strands) + hitch)), |prepared, bands, moving| {
            let check = check(prepared.rig(), bands, &Policy::default());
            let link = check.links.into_iter().find(|link| link.kind == LinkKind::Grip).expect("a hitch");
            assert_eq!(moving.hands.len(), 1, "one hand for all strands");
            close(moving.hands[0].pull_kn.typed, WEIGHT_KN / 8.0, 2e-2);
            link.as_typed.kn()
        })
    };
    close(held(1), WEIGHT_KN / 8.0, 2e-2);
    close(held(2), held(1), 2e-2);
}

#[test]
fn rope_over_cloth_and_hitches_that_melt_are_named() {
    let over = |fibre: &str, connector: &str| {
        let text = format!(
            "case = \"running\"\n[rope.main]\nresponse = {{ slow_kn = 1e5, fast_kn = 0, relax_s = 1 }}\n\
             [sling.cord]\nstiffness_kn = 1e4\n{fibre}\n[[anchor]]\nname = \"top\"\nat_m = [0, 0, 1]\n\
             [[joint]]\nname = \"master\"\nat_m = [0, 0, 0]\n[[leg]]\nfrom = \"top\"\nto = \"master\"\nof = \"cord\"\n\
             [[person]]\nname = \"climber\"\nmass_kg = 80\nat_m = [0, 0, -9]\n\
             [[person]]\nname = \"belayer\"\nmass_kg = 80\nanchored = true\nat_m = [1, 0, -9]\n\
             [[line]]\nof = \"main\"\nthrough = [\"belayer\", \"master\", \"climber\"]\npaid_out_at = \"belayer\"\n{connector}"
        );
        with(&text, |_, _, moving| moving.textiles)
    };
    let bare = over("fibre = \"HMPE\"", "");
    assert_eq!((bare.len(), bare[0].piece.as_str(), bare[0].is_hitch), (1, "cord", false));
    assert!(over("", "").is_empty(), "what it is made of is not known");
    assert!(over("fibre = \"HMPE\"", "[[connector]]\nname = \"pear\"\nat = \"master\"\n").is_empty());
    let hitch = "[[grip]]\nname = \"hitch\"\nat = \"climber\"\nof = \"main\"\nfibre = \"HMPE\"\n";
    assert!(over("", hitch).iter().any(|found| found.is_hitch));
}

/// The tension count of a 3:1 on a 3:1: 9.0 without loss, 7.3441 with e = 0.9 (computed here; the anchors' own table).
#[test]
fn a_line_that_no_hand_holds_is_moved_along_with_its_losses() {
    let on_it = |e: f64| {
        format!(
            "{HEAD}[[joint]]\nname = \"one\"\nat_m = [0, 0, 50]\n[[joint]]\nname = \"two\"\nat_m = [0, 0, 150]\n\
             [[anchor]]\nname = \"high\"\nat_m = [0, 0, 250]\n[[anchor]]\nname = \"hands\"\nat_m = [0.001, 0, 251]\n\
             [rope.second]\nresponse = {{ slow_kn = 1e5, fast_kn = 0, relax_s = 1 }}\n\
             [[line]]\nof = \"main\"\nthrough = [\"climber\", \"one\"]\n\
             [[line]]\nof = \"main\"\nthrough = [\"one\", \"top\", \"one\", \"two\"]\nruns_to = \"two\"\n\
             [[line]]\nof = \"second\"\nthrough = [\"two\", \"high\", \"two\", \"hands\"]\ntaken_in_at = \"hands\"\n"
        ) + &["one", "top", "two", "high"]
            .map(|at| format!("[[device]]\nname = \"pulley at {at}\"\nat = \"{at}\"\nefficiency = {e}\n"))
            .concat()
    };
    for (e, advantage) in [(1.0, 9.0), (0.9, 7.3441), (0.66, 4.3915)] {
        with(&on_it(e), |_, _, moving| {
            assert_eq!(moving.lines.len(), 1, "only one line is held");
            close(moving.advantage(), advantage, 1e-4);
            close(moving.ideal_advantage().expect("it rests"), 9.0, 1e-4);
            if e < 1.0 {
                assert!(moving.lines[0].back_kn.expect("it runs back").typed < moving.lines[0].pull_kn.typed);
            }
        });
    }
}

/// Each clip turns the rope by its angle: the capstan ratio over all of them, times what is left on the rope below.
#[test]
fn drag_grows_by_the_capstan_ratio_from_clip_to_clip() {
    let text = "case = \"running\"\n[clip_table]\nclips = 3\n[rope.main]\nresponse = { slow_kn = 1e5, fast_kn = 0, relax_s = 1 }\n\
        [[anchor]]\nname = \"one\"\nat_m = [0, 0, 10]\n[[anchor]]\nname = \"two\"\nat_m = [10, 0, 20]\n\
        [[anchor]]\nname = \"three\"\nat_m = [0, 0, 30]\n\
        [[anchor]]\nname = \"below\"\nat_m = [0, 0, 0]\n\
        [[person]]\nname = \"leader\"\nmass_kg = 80\nat_m = [10, 0, 40]\nanchored = true\n\
        [[line]]\nof = \"main\"\nthrough = [\"below\", \"one\", \"two\", \"three\", \"leader\"]\npaid_out_at = \"below\"\npull_kn = 0.01\nhands = 0\n";
    with(text, |_, _, moving| {
        let turned = [45.0, 135.0, 225.0].map(|degrees: f64| degrees.to_radians());
        assert_eq!(moving.drag.len(), 3);
        for (dragged, turned) in moving.drag.iter().zip(turned) {
            close(dragged.pull_kn.typed, 0.01 * (0.25 * turned).exp(), 1e-4);
        }
        assert_eq!(moving.drag.iter().map(|dragged| dragged.from_m).collect::<Vec<_>>(), [20.0, 30.0, 40.0]);
    });
}
