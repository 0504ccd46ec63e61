//! Outings as a user sees them: planned, swapped, booked, and what happens without the helper program.

mod common;

use common::{Folder, repository};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const LINKWRIGHT: &str = env!("CARGO_BIN_EXE_linkwright");

fn example() -> String {
    repository().join("examples/outing-sea-cliff.toml").to_string_lossy().into_owned()
}

fn run_by(program: &Path, folder: &Folder, arguments: &[&str]) -> Output {
    run_on("2026-05-10", program, folder, arguments)
}

fn run_on(day: &str, program: &Path, folder: &Folder, arguments: &[&str]) -> Output {
    let mut command = Command::new(program);
    command.args(arguments).current_dir(folder.at()).env("PATH", "");
    command.env("LINKWRIGHT_TODAY", day).env("LINKWRIGHT_STORE", folder.at().join("rack.db"));
    command.output().expect("it starts")
}

fn run(folder: &Folder, arguments: &[&str]) -> Output {
    run_by(Path::new(LINKWRIGHT), folder, arguments)
}

fn json(folder: &Folder, arguments: &[&str]) -> Value {
    let output = run(folder, &[arguments, &["--json"]].concat());
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&output.stderr)))
}

/// The labels of a need, with their counts.
fn taken(plan: &Value, name: &str) -> Vec<(String, u64)> {
    let need = plan["needs"].as_array().expect("needs").iter().find(|need| need["name"] == name).expect(name);
    let units = need["units"].as_array().expect("units").iter().flat_map(|unit| unit.as_array().expect("a unit"));
    units
        .map(|taken| (taken["label"].as_str().expect("a label").to_owned(), taken["count"].as_u64().expect("a count")))
        .collect()
}

#[test]
fn the_example_is_planned_as_the_trade_would() {
    let folder = Folder::new("outing-plan");
    let plan = json(&folder, &["outing", "plan", &example()]);
    assert_eq!(plan["goals"]["short"], 0);
    let pairs = taken(&plan, "master points");
    assert!(
        pairs.iter().all(|(label, count)| label.starts_with("H-0") && *count == 2),
        "pairs are of one size: {pairs:?}"
    );
    let rope_ends = taken(&plan, "draws, rope ends");
    assert!(
        rope_ends.iter().all(|(label, _)| label == "W-01"),
        "what lived on bolts stays off the rope: {rope_ends:?}"
    );
    assert!(plan["cautions"].as_array().is_some_and(|cautions| !cautions.is_empty()));
    assert_eq!(plan, json(&folder, &["outing", "plan", &example()]), "the same each time");
}

#[test]
fn a_missing_piece_changes_as_little_as_can_be() {
    let folder = Folder::new("outing-swap");
    let choice = folder.at().join("choice.json");
    std::fs::write(&choice, run(&folder, &["outing", "plan", &example(), "--json"]).stdout).expect("written");
    let choice = choice.to_string_lossy();
    let swapped = json(&folder, &["outing", "swap", &example(), "--choice", &choice, "--missing", "D-01"]);
    let changes = swapped["changes"].as_array().expect("changes");
    assert_eq!(changes.len(), 1, "{changes:?}");
    assert_eq!(changes[0]["out"][0]["label"], "D-01");
    let unknown = run(&folder, &["outing", "swap", &example(), "--missing", "X-99"]);
    assert_eq!(unknown.status.code(), Some(2));
}

#[test]
fn a_day_is_booked_to_the_log_or_not_at_all() {
    let folder = Folder::new("outing-close");
    let sheet = "label,gear,marking,shape,lock,model,mass-g\n".to_owned()
        + "C-001,connector,EN 12275 H <-> 24 kN open 8 cross 7,pear,screw,Pear,85\n";
    std::fs::write(folder.at().join("rack.csv"), sheet).expect("written");
    let before = |arguments: &[&str]| run_on("2026-05-08", Path::new(LINKWRIGHT), &folder, arguments).status.success();
    assert!(before(&["import", "rack.csv"]));
    let file = "title = \"One rappel\"\nday = \"2026-05-10\"\n[[need]]\nname = \"rappel\"\nduty = \"rappel\"\n[[done]]\nneed = \"rappel\"\nrappels = 3\n";
    std::fs::write(folder.at().join("day.toml"), file).expect("written");
    let plan = run(&folder, &["outing", "plan", "day.toml"]);
    let told = String::from_utf8(plan.stdout).expect("UTF-8");
    assert_eq!(plan.status.code(), Some(1), "nothing is in service yet: {told}");
    assert!(told.contains("Inspect first: C-001"), "{told}");
    assert!(before(&["inspect", "C-001", "--passed", "--occasion", "before-first-use"]));
    let plan = json(&folder, &["outing", "plan", "day.toml"]);
    assert_eq!(taken(&plan, "rappel"), [("C-001".to_owned(), 1)]);
    let booked = run(&folder, &["outing", "close", "day.toml"]);
    assert!(booked.status.success(), "{}", String::from_utf8_lossy(&booked.stderr));
    let page = String::from_utf8(run(&folder, &["rack", "show", "C-001"]).stdout).expect("UTF-8");
    assert!(page.contains("3 rappels"), "{page}");
    let before = run(&folder, &["log", "list"]).stdout;
    std::fs::write(folder.at().join("later.toml"), file.replace("05-10", "05-11")).expect("written");
    assert_eq!(run(&folder, &["outing", "close", "later.toml"]).status.code(), Some(2), "a day that is yet to come");
    assert_eq!(run(&folder, &["log", "list"]).stdout, before, "nothing was written");
}

#[test]
fn nothing_goes_along_with_its_kit_that_may_not_go_or_is_not_there() {
    let folder = Folder::new("outing-kit");
    let sheet = "label,gear,marking,shape,lock,model,mass-g\n".to_owned()
        + &["C-001", "C-002", "C-003", "C-004", "C-005"]
            .map(|label| format!("{label},connector,EN 12275 H <-> 24 kN open 8 cross 7,pear,screw,Pear,85\n"))
            .concat();
    std::fs::write(folder.at().join("rack.csv"), sheet).expect("written");
    let before = |arguments: &[&str]| {
        let done = run_on("2026-05-08", Path::new(LINKWRIGHT), &folder, arguments);
        assert!(done.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&done.stderr));
    };
    before(&["import", "rack.csv"]);
    before(&["inspect", "C-001..C-005", "--passed", "--occasion", "before-first-use"]);
    before(&["people", "add", "Mo Example"]);
    before(&["kit", "set", "Mo day", "C-001..C-005"]);
    before(&["kit", "set", "Mo day", "C-001..C-004"]);
    before(&["kit", "out", "Mo day", "--to", "Mo Example"]);
    before(&["kit", "back", "Mo day", "--short", "C-003"]);
    before(&["log", "quarantined", "C-002"]);
    before(&["log", "quarantined", "C-005"]);
    let file = "title = \"Rappel\"\nday = \"2026-05-10\"\n[[need]]\nname = \"rappel\"\nduty = \"rappel\"\n";
    std::fs::write(folder.at().join("day.toml"), file).expect("written");
    let plan = json(&folder, &["outing", "plan", "day.toml"]);
    let labels =
        |told: &Value| told.as_array().expect("a list").iter().map(|one| one["label"].clone()).collect::<Vec<_>>();
    let chosen = taken(&plan, "rappel")[0].0.clone();
    assert!(["C-001", "C-004"].contains(&chosen.as_str()), "{plan:#}");
    assert_eq!(labels(&plan["beside"]), [if chosen == "C-001" { "C-004" } else { "C-001" }]);
    assert_eq!(labels(&plan["left"]), ["C-002", "C-003"], "C-005 is of the kit no more");
    let told = String::from_utf8(run(&folder, &["outing", "plan", "day.toml"]).stdout).expect("UTF-8");
    assert!(told.contains("Stays behind") && told.contains("C-002, C-003"), "{told}");
}

/// The main program alone in a folder, with a helper of its own making beside it. Another process writes both: a file that this one
/// has open while another test starts a program cannot be run.
fn alone(folder: &Folder, helper: Option<&str>) -> PathBuf {
    let program = folder.at().join("linkwright");
    let path = folder.at().join("linkwright-solve");
    let script = "cp \"$1\" \"$2\"; [ -z \"$4\" ] || { printf '%s' \"$4\" > \"$3\"; chmod +x \"$3\"; }";
    let mut command = Command::new("sh");
    command.args(["-c", script, "sh", LINKWRIGHT]).args([&program, &path]).arg(helper.unwrap_or_default());
    assert!(command.status().expect("sh").success());
    program
}

#[test]
fn without_the_helper_it_says_how_to_get_it_and_a_killed_one_is_told() {
    let cases = [
        (None, "120", "cargo build --release -p linkwright-solve"),
        (Some("#!/bin/sh\nwhile :; do :; done\n"), "0.3", "was stopped after 0.3 s"),
        (Some("#!/bin/sh\nkill -9 $$\n"), "120", "ended before it was done"),
        (Some("#!/bin/sh\necho '{\"version\":9,\"outcome\":\"impossible\"}'\n"), "120", "version 9 where 2 was asked"),
        (Some("#!/bin/sh\necho hello\n"), "120", "gave no answer that makes sense"),
    ];
    for (place, (helper, patience, says)) in cases.into_iter().enumerate() {
        let folder = Folder::new(&format!("outing-helper-{place}"));
        let program = alone(&folder, helper);
        let output = run_by(&program, &folder, &["outing", "plan", &example(), "--patience", patience]);
        assert_eq!(output.status.code(), Some(2));
        assert!(output.stdout.is_empty(), "nothing that is not proven is shown");
        let told = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(says), "{told}");
        assert!(run_by(&program, &folder, &["outing", "buy", &example()]).status.success(), "all else works");
    }
}

/// A helper that solves the first two of what it is asked at once and hangs then: what it found is shown, and what it did not is named.
#[test]
fn what_is_found_by_then_is_told_where_the_runners_up_take_too_long() {
    let folder = Folder::new("outing-slow-runners-up");
    let solve = Path::new(LINKWRIGHT).with_file_name("linkwright-solve");
    let script = format!(
        "#!/bin/sh\nfor first in 1 2; do read -r line && printf '%s\\n' \"$line\" | '{}'; done\nif read -r line; then while :; do :; done; fi\n",
        solve.display()
    );
    let program = alone(&folder, Some(&script));
    let output = run_by(&program, &folder, &["outing", "plan", &example(), "--patience", "40", "--json"]);
    let plan: Value = serde_json::from_slice(&output.stdout).expect("a plan");
    assert_eq!(plan["goals"]["short"], 0, "the choice stands");
    let told =
        plan["needs"].as_array().expect("needs").iter().flat_map(|need| need["without"].as_array().expect("a list"));
    assert_eq!(told.count(), 1);
    assert!(
        plan["unasked"].as_str().is_some_and(|said| said.contains("is not told: it was not found in 2.0 s")),
        "{plan}"
    );
}

/// Two lockers, one of them of a model that its maker lets live for ten years from its making.
#[test]
fn a_season_tells_what_is_withdrawn_until_then_and_what_to_buy_for_it() {
    let folder = Folder::new("outing-season");
    let sheet = "label,gear,marking,shape,lock,model,made\n".to_owned()
        + "C-001,connector,EN 12275 H <-> 24 kN open 8 cross 7,pear,screw,Aging,2017-03\n"
        + "C-002,connector,EN 12275 H <-> 24 kN open 8 cross 7,pear,screw,Lasting,2025-03\n";
    std::fs::write(folder.at().join("rack.csv"), sheet).expect("written");
    let done = |arguments: &[&str]| {
        let output = run_on("2026-05-08", Path::new(LINKWRIGHT), &folder, arguments);
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    };
    done(&["import", "rack.csv"]);
    let model = "name = \"Aging\"\n[is]\ngear = \"connector\"\n[limits]\nmonths_from_made = 120\n";
    std::fs::write(folder.at().join("model.toml"), model).expect("written");
    done(&["rack", "model", "model.toml"]);
    done(&["inspect", "C-001..C-002", "--passed", "--occasion", "before-first-use"]);
    let file = "title = \"Two belays\"\n[[need]]\nname = \"belays\"\nduty = \"belay\"\ntimes = 2\n[[offer]]\nlabel = \"Pear on offer\"\n\
                gear = \"connector\"\nmarking = \"EN 12275 H <-> 24 kN open 8 cross 7\"\nshape = \"pear\"\nlock = \"screw\"\nprice = 20\nyears = 10\n";
    std::fs::write(folder.at().join("day.toml"), file).expect("written");
    let season = |until: &str| json(&folder, &["outing", "buy", "day.toml", "--until", until])["answers"][0].clone();
    let before = season("2026-12-31");
    assert_eq!(before["withdrawn"], serde_json::json!([]));
    assert_eq!(before["spares"], serde_json::json!([]));
    let after = season("2027-12-31");
    assert_eq!(after["withdrawn"][0]["label"], "C-001");
    assert_eq!(
        after["spares"],
        serde_json::json!([{ "need": "belays", "count": 1, "offer": "Pear on offer", "cost_a_year": 2.0 }])
    );
    assert_eq!(run(&folder, &["outing", "buy", "day.toml", "--until", "2020-01-01"]).status.code(), Some(2));
}

/// 0.6 mm in the 300 days since its first use: on the line through both readings the next 0.4 mm to the limit take 200 days.
#[test]
fn a_season_counts_what_its_forecast_has_worn_by_then_and_says_how_sure_that_is() {
    let folder = Folder::new("outing-season-wear");
    let sheet = "label,gear,marking,shape,lock\n".to_owned()
        + "C-001,connector,EN 12275 H <-> 24 kN open 8 cross 7,pear,screw\n"
        + "C-002,connector,EN 12275 H <-> 24 kN open 8 cross 7,pear,screw\n";
    std::fs::write(folder.at().join("rack.csv"), sheet).expect("written");
    let done = |day: &str, arguments: &str| {
        let arguments: Vec<&str> = arguments.split(' ').collect();
        let output = run_on(day, Path::new(LINKWRIGHT), &folder, &arguments);
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    };
    let groove =
        |label: &str, mm: &str| format!("log measured {label} --what groove --how photo --mm {mm} --plus-minus 0.02");
    done("2025-07-14", "import rack.csv");
    done("2025-07-14", "inspect C-001..C-002 --passed --occasion before-first-use");
    done("2025-07-14", &groove("C-001", "0"));
    for day in ["2025-07-14", "2025-10-01", "2026-02-01", "2026-05-08"] {
        done(day, "log used C-001..C-002 --rappels 25 --run 500");
    }
    done("2026-05-09", &groove("C-001", "0.6"));
    done("2026-05-09", &groove("C-002", "0.1"));
    done("2026-05-09", "inspect C-001..C-002 --passed");
    let file = "title = \"Two belays\"\n[[need]]\nname = \"belays\"\nduty = \"belay\"\ntimes = 2\n";
    std::fs::write(folder.at().join("day.toml"), file).expect("written");
    let season = |until: &str| json(&folder, &["outing", "buy", "day.toml", "--until", until])["answers"][0].clone();
    let text = |value: &Value| value.as_str().expect("text").to_owned();

    let far = season("2040-01-01");
    let worn = &far["withdrawn"][0];
    assert_eq!((text(&worn["label"]).as_str(), &worn["is_sure"]), ("C-001", &Value::Bool(true)), "{far}");
    assert_eq!(far["not_forecast"][0]["label"], "C-002", "one reading has no slope");
    let (first, why) = (text(&worn["on"]), text(&worn["why"]));
    let last = why.split_whitespace().find(|word| word.starts_with("20")).expect("the latest day").to_owned();
    let on_the_line = "2026-11-26".to_owned();
    assert!(first < on_the_line && on_the_line < last, "{first} to {last}");

    let soon = season(&first);
    assert_eq!((&soon["withdrawn"][0]["on"], &soon["withdrawn"][0]["is_sure"]), (&worn["on"], &Value::Bool(false)));
    assert_eq!(soon["spares"][0]["count"], 1);
    let day: jiff::civil::Date = first.parse().expect("a day");
    let before = season(&day.yesterday().expect("a day before").to_string());
    assert_eq!((&before["withdrawn"], &before["spares"]), (&serde_json::json!([]), &serde_json::json!([])));
}

#[test]
fn faults_of_the_file_name_their_place() {
    let folder = Folder::new("outing-faults");
    let faults = [
        ("title = \"x\"\n[[need]]\nduty = \"belaying\"\n", "3:8", "there is no duty `belaying`"),
        ("title = \"x\"\n[[need]]\nduty = \"belay\"\ntimes = 0\n", "4:9", "out of range"),
        ("title = \"x\"\nday = \"soon\"\n[[need]]\nduty = \"belay\"\n", "2:7", "`soon` is no day"),
        ("title = \"x\"\n[[need]]\nduty = \"belay\"\n[[done]]\nneed = \"other\"\n", "5:8", "there is no need `other`"),
        ("title = \"x\"\n", "", "needs nothing"),
    ];
    for (text, place, says) in faults {
        std::fs::write(folder.at().join("day.toml"), text).expect("written");
        let output = run(&folder, &["outing", "plan", "day.toml"]);
        let told = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(told.contains(place) && told.contains(says), "{told}");
    }
}

#[test]
fn the_published_schema_is_that_of_the_program() {
    let folder = Folder::new("outing-schema");
    let published = std::fs::read_to_string(repository().join("outing-file.schema.json")).expect("the schema");
    let told = String::from_utf8(run(&folder, &["schema", "outing"]).stdout).expect("UTF-8");
    assert!(published == told, "linkwright schema outing > outing-file.schema.json");
}
