#![allow(missing_docs, reason = "the bench macros write functions of their own")]
//! A whole check, from the text of a rig file to findings and offers, for every rig of the contract and the examples, and for
//! the largest of each scene.

use criterion::{Criterion, criterion_group, criterion_main};
use rig::scene::Scene;
use std::path::{Path, PathBuf};
use trade::policy::Policy;

fn rig_files() -> Vec<PathBuf> {
    let repository = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut files: Vec<PathBuf> = ["validation/contract", "examples"]
        .iter()
        .flat_map(|folder| std::fs::read_dir(repository.join(folder)).expect("a folder of rigs"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .filter(|path| is_rig(path))
        .collect();
    files.sort();
    files
}

/// Examples of other kinds of file lie beside the rigs.
fn is_rig(path: &Path) -> bool {
    std::fs::read_to_string(path).expect("a file").lines().any(|line| line.starts_with("case = "))
}

fn whole_check(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("check");
    for path in rig_files() {
        let text = std::fs::read_to_string(&path).expect("a rig");
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        group.bench_function(&name, |bencher| {
            bencher.iter(|| desk::checking::check_text(&text, &name, Policy::default()).expect("a rig that checks"));
        });
    }
    group.finish();
}

fn engine(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("engine");
    for path in rig_files() {
        let text = std::fs::read_to_string(&path).expect("a rig");
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let rig = rig::read(&text, &name).expect("a rig that parses");
        let prepared = rig::solve::Prepared::new(&rig).expect("ropes that fit");
        group.bench_function(&name, |bencher| {
            bencher.iter(|| prepared.loads(&rig::solve::Variation::TYPED, 1).expect("a rig that can be solved"));
        });
    }
    group.finish();
}

/// The largest that each scene asks for, within what people do.
const LARGEST: &[(Scene, &[(&str, &str)])] = &[
    (Scene::Losses, &[("anchors", "4 sliding limited")]),
    (Scene::Tether, &[("of", "absorber"), ("cable", "5")]),
    (Scene::HighLine, &[("span", "400")]),
    (Scene::Ground, &[("clips", "4")]),
    (Scene::TwoStrands, &[("clips", "12"), ("last-clip", "40")]),
    (Scene::FixedPoint, &[("out", "20"), ("piece", "3")]),
    (Scene::Pendulum, &[("across", "20")]),
    (Scene::Haul, &[("system", "9:1"), ("people", "6")]),
    (Scene::Lower, &[("set-up", "top-rope"), ("tandem", "90")]),
    (Scene::Rappel, &[("strands", "2 backup"), ("device", "bar")]),
    (Scene::Guide, &[("doing", "haul")]),
    (Scene::Drag, &[("clips", "12"), ("last-clip", "40")]),
];

fn scenes(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("scene");
    for (scene, answers) in LARGEST {
        let answers = answers.iter().map(|(key, answer)| ((*key).to_owned(), (*answer).to_owned())).collect();
        let text = rig::scene::write(*scene, &answers).expect("answers that do");
        group.bench_function(scene.code(), |bencher| {
            bencher.iter(|| desk::checking::check_text(&text, "scene", Policy::default()).expect("a rig that checks"));
        });
    }
    group.finish();
}

criterion_group!(benches, engine, whole_check, scenes);
criterion_main!(benches);
