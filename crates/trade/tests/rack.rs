//! The rules of a rack: the built-in ones, and a group's own over them.

use terms::Quality;
use trade::gear::Gear;
use trade::policy::Policy;
use trade::rack::{AgeFrom, Body, Depth, Kind, Mishap, Occasion, Rack, Then, Whose, exposures, regimes};

fn rack(text: &str) -> Rack {
    Policy::parse(text).expect(text).rack
}

#[test]
fn every_built_in_row_has_its_source() {
    let text = include_str!("../data/rack.toml");
    let rows: toml::Table = text.parse().expect("rack.toml");
    fn sourced(key: &str, row: &toml::Value) {
        let Some(row) = row.as_table() else { return };
        let is_row = row.values().any(|value| !value.is_table());
        if is_row {
            for key_of_source in ["source", "quality"] {
                assert!(row.contains_key(key_of_source), "{key} has no {key_of_source}");
            }
        }
        row.iter().for_each(|(name, value)| sourced(&format!("{key}.{name}"), value));
    }
    assert!(rows.len() > 8);
    rows.iter().for_each(|(key, row)| sourced(key, row));
}

#[test]
fn no_regime_applies_until_somebody_says_so() {
    assert!(Rack::default().regimes.is_empty());
    let bound = rack("[rack]\nregimes = [\"fall-arrest-textile\"]");
    assert_eq!(bound.regimes_for(Some(Gear::Sling)).map(|regime| regime.months).collect::<Vec<_>>(), [6]);
    assert_eq!(bound.regimes_for(Some(Gear::Connector)).count(), 0);
    assert!(regimes().iter().all(|regime| regime.source().quality <= Quality::SecondarySource));
}

#[test]
fn every_kind_of_gear_has_an_interval_and_something_follows_a_drop() {
    let rack = Rack::default();
    for gear in Gear::ALL.iter().copied().map(Some).chain([None]) {
        assert_eq!(rack.interval(gear).map(|interval| interval.months), Some(12));
        assert!(rack.after(Mishap::Drop, gear).is_some() && rack.after(Mishap::SevereFall, gear).is_some());
    }
    assert!(Whose::ALL.iter().all(|whose| rack.overdue(*whose).is_some()));
    assert_eq!(rack.counts.occasions, [Occasion::BeforeFirstUse, Occasion::Periodic]);
}

#[test]
fn metal_has_no_age() {
    let rack = Rack::default();
    for gear in Gear::ALL.iter().copied().filter(|gear| gear.body() == Body::Metal) {
        assert!(AgeFrom::ALL.iter().all(|from| rack.life(Some(gear), *from).is_none()), "{}", gear.code());
    }
    for kind in ["connector", "metal", "any"] {
        let text = format!("[rack.life.{kind}.made]\nyears = 14\nthen = \"withdraw\"");
        let fault = Policy::parse(&text).expect_err("metal has no age");
        assert!(fault.message.contains("metal has no age but its maker's"), "{fault}");
        assert_eq!((fault.line, fault.column), (1, 12));
    }
}

#[test]
fn where_voices_disagree_the_range_is_kept_and_a_group_may_choose() {
    let life = Rack::default();
    let rope = life.life(Some(Gear::Rope), AgeFrom::Made).expect("a rope's age");
    assert_eq!((rope.years, rope.is_range(), rope.then), ([7, 12], true, Then::Withdraw));
    let source = rope.source().expect("a source");
    assert_eq!((source.quality, source.text.matches("; ").count() >= 2), (Quality::OurDefault, true));
    let chosen = rack("[rack.life.rope.made]\nyears = 8\nthen = \"withdraw\"");
    let chosen = chosen.life(Some(Gear::Rope), AgeFrom::Made).expect("a rope's age");
    assert_eq!((chosen.years, chosen.is_range(), chosen.source()), ([8, 8], false, None));
    let sling = Rack::default();
    assert_eq!(sling.life(Some(Gear::Sling), AgeFrom::Made).map(|life| life.years), Some([10, 12]));
}

#[test]
fn a_voice_from_memory_cannot_be_gone_by() {
    let text = "[rack.life.rope.first-use]\nvoices = [\"rope-used-weekly\"]\nthen = \"watch\"";
    assert!(Policy::parse(text).expect_err(text).message.contains("from memory"));
}

#[test]
fn the_narrowest_row_holds_and_a_group_s_row_takes_its_place_alone() {
    let rack = rack("[rack.interval.rope]\nmonths = 6\n[rack.after.drop.connector]\nthen = \"watch\"");
    assert_eq!(rack.interval(Some(Gear::Rope)).map(|row| row.months), Some(6));
    assert_eq!(rack.interval(Some(Gear::Sling)).map(|row| row.months), Some(12));
    assert_eq!(rack.after(Mishap::Drop, Some(Gear::Connector)).map(|row| row.then), Some(Then::Watch));
    assert_eq!(rack.after(Mishap::Drop, Some(Gear::Pulley)).map(|row| row.then), Some(Then::Quarantine));
    assert_eq!(rack.groove(Some(Gear::Connector), Depth::Limit).map(|row| row.um), Some(1000));
}

#[test]
fn what_stands_in_no_table_quarantines() {
    let rack = Rack::default();
    assert_eq!(rack.exposed("ghosts", Some(Gear::Rope)), (Then::Quarantine, None));
    assert_eq!(rack.exposed("acid", None).0, Then::Quarantine);
    assert_eq!(rack.exposed("acid", Some(Gear::Rope)).0, Then::Withdraw);
    assert!(exposures().iter().all(|row| row.source().quality >= Quality::CommonPractice));
    let own = self::rack("[rack.exposure.seawater.metal]\nthen = \"quarantine\"");
    assert_eq!(own.exposed("seawater", Some(Gear::Connector)).0, Then::Quarantine);
    assert_eq!(own.exposed("seawater", Some(Gear::Rope)).0, Then::Nothing);
}

#[test]
fn faults_name_their_place() {
    let cases = [
        ("[rack]\nintervals = 1", 2, 1, "unknown field `intervals`"),
        ("[rack.interval.ropes]\nmonths = 6", 1, 16, "\"ropes\" is no kind of gear; those are any, textile"),
        ("[rack.interval.rope]\nmonths = 0", 2, 10, "at least 1"),
        ("[rack.interval.rope]\nmonth = 6", 2, 1, "unknown field `month`"),
        (
            "[rack]\nregimes = [\"fall-protection\", \"ours\"]",
            2,
            11,
            "\"ours\" is no regime; those are lifting-persons",
        ),
        ("[rack.after.drop.any]\nthen = \"burn\"", 2, 8, "\"burn\" is no consequence; those are nothing, watch"),
        ("[rack.overdue.own]\nthen = \"withdraw\"", 2, 8, "can be made good"),
        ("[rack.after.dropped.any]\nthen = \"watch\"", 1, 13, "\"dropped\" is no mishap"),
        ("[rack.exposure.ghosts.any]\nthen = \"watch\"", 1, 16, "\"ghosts\" is no exposure"),
        ("[rack.life.rope.made]\nthen = \"watch\"", 1, 1, "either `years`, or `voices`"),
        ("[rack.life.rope.made]\nyears = [9, 8]\nthen = \"watch\"", 1, 1, "the lesser first"),
        ("[rack.life.rope.made]\nyears = \"old\"\nthen = \"watch\"", 2, 9, "written as 8 or as [8, 10]"),
    ];
    for (text, line, column, part) in cases {
        let fault = Policy::parse(text).expect_err(text);
        assert!(fault.message.contains(part), "{text}: {fault}");
        assert_eq!((fault.line, fault.column), (line, column), "{text}: {fault}");
    }
}

#[test]
fn a_kind_that_is_not_known_has_the_widest_rule() {
    assert_eq!(Kind::covering(None), [Kind::Any]);
    assert_eq!(Rack::default().after(Mishap::Drop, None).map(|row| row.then), Some(Then::Quarantine));
}
