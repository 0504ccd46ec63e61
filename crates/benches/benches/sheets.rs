//! How long sheets take: each as a program run anew, and by one press that is kept for many, every one of them another sheet.
//!
//! Takes the programs that stand in the folder of the build: `cargo build --release` first. A first run, which nothing of is
//! counted, warms the file cache.

use desk::checking::{Checked, check_text};
use desk::sheets::{Paper, Print, Sheet, rig_card};
use desk::units::Units;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

const TIMES: usize = 30;
const RIG: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/lead-sea-cliff.toml");

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    println!("| what | least | median | most |\n| --- | ---: | ---: | ---: |");
    let run = |arguments: &[&str]| run(folder.path(), arguments);
    tell("`check`, no sheet", || run(&["check", RIG]));
    tell("`sheet rig-card`, programs started anew", || run(&["sheet", "rig-card", RIG]));
    rig_cards_by_one_press();
    std::fs::write(folder.path().join("rack.csv"), rack()).expect("a rack");
    run(&["import", "rack.csv", "--on", "2026-01-10"]);
    run(&["inspect", "C-001..C-500", "--passed", "--on", "2026-03-01"]);
    tell("`rack list --limit 500`, no sheet", || run(&["rack", "list", "--limit", "500"]));
    tell("`sheet inspection-record C-001..C-500`", || run(&["sheet", "inspection-record", "C-001..C-500"]));
    tell("`sheet inspection-record C-001`", || run(&["sheet", "inspection-record", "C-001"]));
}

/// Cards of rigs that differ in their titles, so that none was laid out before, by one press.
fn rig_cards_by_one_press() {
    let text = std::fs::read_to_string(RIG).expect("the rig");
    let mut checked = check_text(&text, "rig", trade::policy::Policy::default()).expect("a rig that checks");
    let mut press = Press::start();
    let mut number = 0;
    tell("a rig card by a press that is kept, check not counted", || {
        number += 1;
        press.print(&card(&mut checked, number))
    });
    tell("check and rig card by a press that is kept", || {
        number += 1;
        let begun = Instant::now();
        let mut checked = check_text(&text, "rig", trade::policy::Policy::default()).expect("a rig that checks");
        let checking = begun.elapsed();
        checking + press.print(&card(&mut checked, number))
    });
}

fn card(checked: &mut Checked, number: usize) -> Sheet {
    checked.rig.title = format!("Lead fall above the third clip, day {number}");
    rig_card(checked, Units::default())
}

fn program(name: &str) -> PathBuf {
    let own = std::env::current_exe().expect("this program");
    own.parent().and_then(Path::parent).expect("the folder of the build").join(name)
}

/// Runs the main program; gives how long that took.
fn run(folder: &Path, arguments: &[&str]) -> Duration {
    let begun = Instant::now();
    let mut command = Command::new(program("linkwright"));
    command.args(arguments).current_dir(folder).env("LINKWRIGHT_STORE", folder.join("rack.db"));
    let output = command.env("LINKWRIGHT_TODAY", "2026-11-25").output().expect("the program runs");
    assert!(output.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&output.stderr));
    begun.elapsed()
}

/// A press that is kept.
struct Press {
    child: Child,
    orders: ChildStdin,
    answers: BufReader<ChildStdout>,
}

impl Press {
    fn start() -> Self {
        let mut command = Command::new(program("linkwright-press"));
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the press starts");
        let (orders, answers) = (child.stdin.take().expect("orders"), child.stdout.take().expect("answers"));
        Self { child, orders, answers: BufReader::new(answers) }
    }

    fn print(&mut self, sheet: &Sheet) -> Duration {
        let begun = Instant::now();
        let (templates, fonts) = (BTreeMap::new(), Vec::new());
        let print = Print { paper: Paper::A4, date: "2026-11-25".to_owned(), templates, fonts };
        writeln!(self.orders, "{}", sheet.order(&print)).expect("ordered");
        let mut answer = String::new();
        self.answers.read_line(&mut answer).expect("an answer");
        let bytes = answer.split("\"bytes\":").nth(1).and_then(|rest| rest.split('}').next());
        let mut pdf = vec![0; bytes.and_then(|bytes| bytes.parse().ok()).unwrap_or_else(|| panic!("{answer}"))];
        self.answers.read_exact(&mut pdf).expect("the sheet");
        begun.elapsed()
    }
}

impl Drop for Press {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// 500 pieces, invented.
fn rack() -> String {
    let mut rows = "label,gear,maker,model,serial,made,bought,first-use,mass-g,site\n".to_owned();
    for number in 1..=500 {
        let _ = writeln!(
            rows,
            "C-{number:03},connector,Maker {},Model X,A-{number:05},2021-05,2021-06-01,2021-07-01,82,Shelf {}",
            ["A", "B", "C"][number % 3],
            number % 9
        );
    }
    rows
}

/// Times of the same again and again, the first not counted.
fn tell(what: &str, mut took: impl FnMut() -> Duration) {
    took();
    let mut times: Vec<Duration> = (0..TIMES).map(|_| took()).collect();
    times.sort_unstable();
    let ms = |time: Duration| format!("{:.0} ms", time.as_secs_f64() * 1000.0);
    println!("| {what} | {} | {} | {} |", ms(times[0]), ms(times[TIMES / 2]), ms(times[TIMES - 1]));
}
