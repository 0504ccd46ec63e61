//! How long large outings take, stage by stage, and as a user asks for them.
//!
//! Takes the programs that stand in the folder of the build: `cargo build --release` first. `SEEDS` says how many; `OUTINGS` names a folder where
//! their files are kept, for `scripts/outings PROGRAM --folder FOLDER`.

use benches::outing::{LARGE, text};
use desk::Surroundings;
use desk::helper::HelperTrouble;
use desk::outing::Day;
use jiff::civil::Date;
use plan::checker::objections;
use plan::programme::{Answer, Order, Outcome, VERSION};
use plan::statement::{Asked, Statement};
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What is timed; the programs by the clock and by their processor time.
const STAGES: [&str; 9] = [
    "file read",
    "stated",
    "helper program, all goals",
    "its processor time",
    "judged",
    "`outing plan`, all of it",
    "its processor time",
    "`outing curve`",
    "its processor time",
];

fn main() {
    let seeds: u64 = std::env::var("SEEDS").ok().and_then(|seeds| seeds.parse().ok()).unwrap_or(20);
    let kept = std::env::var_os("OUTINGS").map(PathBuf::from);
    let own = tempfile::tempdir().expect("a folder");
    let folder = kept.as_deref().unwrap_or(own.path());
    let mut times: BTreeMap<usize, Vec<Duration>> = BTreeMap::new();
    for seed in 0..seeds {
        for (stage, time) in seed_times(folder, seed) {
            times.entry(stage).or_default().push(time);
        }
    }
    println!("| stage | median | p95 | most |\n| --- | ---: | ---: | ---: |");
    for (stage, mut times) in times {
        times.sort_unstable();
        let ms = |time: Duration| format!("{:.0} ms", time.as_secs_f64() * 1000.0);
        let p95 = times[(times.len() * 95).div_ceil(100) - 1];
        println!(
            "| {} | {} | {} | {} |",
            STAGES[stage],
            ms(times[times.len() / 2]),
            ms(p95),
            ms(times[times.len() - 1])
        );
    }
}

fn seed_times(folder: &Path, seed: u64) -> Vec<(usize, Duration)> {
    let path = folder.join(format!("day-{seed}.toml"));
    std::fs::write(&path, text(LARGE, seed)).expect("written");
    let mut watch = Instant::now();
    let mut lap = || std::mem::replace(&mut watch, Instant::now()).elapsed();
    let day = Day::read(&Files, &path.to_string_lossy(), None).expect("a day");
    let outing = day.outing(None, &BTreeMap::new()).expect("an outing");
    let read = lap();
    let statement = Statement::of(&outing, &Asked::default());
    let stated = lap();
    let order = Order { version: VERSION, programme: statement.programme.clone(), least: Vec::new() };
    let (answer, solved) = timed(|| ask(&serde_json::to_string(&order).expect("an order")));
    lap();
    let Outcome::Solved(solution) = answer.outcome else { panic!("seed {seed}: {:?}", answer.outcome) };
    assert_eq!(statement.programme.judge(&solution.values).expect("a solution"), solution.goals);
    let choice = statement.choice(&outing, &solution);
    assert_eq!(objections(&outing, &choice), vec![]);
    let judged = lap();
    let goals: Vec<_> = choice.goals.iter().map(|(goal, sum)| format!("{} {sum}", goal.code())).collect();
    let ((), planned) = timed(|| run(&["outing", "plan"], &path));
    let ((), curve) = timed(|| run(&["outing", "curve"], &path));
    eprintln!(
        "seed {seed}: {} unknowns, {} rows; processor time: helper {:.2} s, plan {:.2} s, curve {:.2} s; {}",
        statement.programme.most.len(),
        statement.programme.rows.len(),
        solved[1].as_secs_f64(),
        planned[1].as_secs_f64(),
        curve[1].as_secs_f64(),
        goals.join(", ")
    );
    let [helper, plan] = [solved, planned];
    [read, stated, helper[0], helper[1], judged, plan[0], plan[1], curve[0], curve[1]].into_iter().enumerate().collect()
}

fn program(name: &str) -> PathBuf {
    let own = std::env::current_exe().expect("this program");
    own.parent().and_then(Path::parent).expect("the folder of the build").join(name)
}

fn ask(order: &str) -> Answer {
    let mut command = Command::new(program("linkwright-solve"));
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the helper starts");
    writeln!(child.stdin.take().expect("orders"), "{order}").expect("ordered");
    let output = child.wait_with_output().expect("an answer");
    serde_json::from_slice(&output.stdout).expect("an answer that makes sense")
}

fn run(arguments: &[&str], file: &Path) {
    let output = Command::new(program("linkwright")).args(arguments).arg(file).output().expect("the program runs");
    assert!(output.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&output.stderr));
}

/// What something gives, how long it took by the clock, and the processor time of the programs that it ran to their ends.
fn timed<T>(what: impl FnOnce() -> T) -> (T, [Duration; 2]) {
    let (begun, used) = (Instant::now(), processor());
    let given = what();
    (given, [begun.elapsed(), processor() - used])
}

/// The processor time of all programs that this one ran to their ends, as Linux tells it: in hundredths of a second.
fn processor() -> Duration {
    let told = std::fs::read_to_string("/proc/self/stat").expect("the processor time is read from /proc");
    let fields = told.rsplit(')').next().map(|rest| rest.split_whitespace().collect::<Vec<_>>()).unwrap_or_default();
    // The 16th and 17th field; the third is the first after the name.
    let ticks: u64 = fields[13..15].iter().map(|ticks| ticks.parse::<u64>().expect("a number")).sum();
    Duration::from_millis(10 * ticks)
}

/// Files, and nothing else.
struct Files;

impl Surroundings for Files {
    fn read(&self, path: &str) -> io::Result<String> {
        std::fs::read_to_string(path)
    }

    fn read_bytes(&self, _: &str, _: usize) -> io::Result<Vec<u8>> {
        Err(io::ErrorKind::Unsupported.into())
    }

    fn exists(&self, path: &str) -> bool {
        Path::new(path).exists()
    }

    fn write(&self, _: &str, _: &str) -> io::Result<()> {
        Err(io::ErrorKind::Unsupported.into())
    }

    fn write_bytes(&self, _: &str, _: &[u8]) -> io::Result<()> {
        Err(io::ErrorKind::Unsupported.into())
    }

    fn today(&self) -> Date {
        Date::constant(2026, 5, 9)
    }

    fn ask_helper(&self, name: &str, _: &str, _: Duration) -> Result<Vec<u8>, HelperTrouble> {
        Err(HelperTrouble::new(name, desk::helper::What::Missing))
    }

    fn now_ms(&self) -> i64 {
        0
    }

    fn random(&self) -> [u8; 16] {
        [0; 16]
    }
}
