//! What the documents say is so: paths that they name are there, and outputs that they show are what is printed.

mod common;

use common::repository;
use std::path::Path;
use std::process::Command;

fn document(name: &str) -> String {
    std::fs::read_to_string(repository().join(name)).unwrap_or_else(|why| panic!("{name}: {why}"))
}

/// Words in backquotes that look like a path of this repository.
fn paths(text: &str) -> Vec<&str> {
    let quoted = text.split("```").step_by(2).flat_map(|prose| prose.split('`').skip(1).step_by(2));
    let roots = ["crates/", "validation/", "independent/", "examples/", "scripts/", "./run", "./test", ".ci/"];
    quoted.filter(|word| roots.iter().any(|root| word.starts_with(root)) && !word.contains(' ')).collect()
}

#[test]
fn every_path_that_a_document_names_is_there() {
    for name in ["ARCHITECTURE.md", "DESIGN.md", "README.md", "BENCHMARKS.md"] {
        let text = document(name);
        for path in paths(&text) {
            let is_pattern = path.contains(|c: char| c.is_ascii_uppercase() || c == '*' || c == '{')
                && !repository().join(path).exists();
            if is_pattern && (path.contains("AREA") || path.contains("CASE") || path.contains("NAME")) {
                continue;
            }
            assert!(repository().join(path).exists(), "{name} names `{path}`, which is not there");
        }
    }
    assert!(paths(&document("ARCHITECTURE.md")).len() > 15, "the map names its rooms");
}

#[test]
fn the_map_has_an_invariant_for_every_room() {
    let text = document("ARCHITECTURE.md");
    for entry in std::fs::read_dir(repository().join("crates")).expect("the rooms") {
        let room = entry.expect("a room").file_name().to_string_lossy().into_owned();
        let section = text.split("\n### ").find(|section| section.starts_with(&format!("`crates/{room}`")));
        let section = section.unwrap_or_else(|| panic!("no section for crates/{room}"));
        assert!(section.contains("**Invariant:**"), "no invariant for crates/{room}");
    }
}

/// A block of the README that shows a command and what it prints; a line `...` stands for any lines.
struct Shown<'t> {
    command: &'t str,
    output: &'t str,
}

fn shown(text: &str) -> Vec<Shown<'_>> {
    text.split("```console\n$ linkwright")
        .skip(1)
        .filter_map(|block| {
            let (block, _) = block.split_once("```")?;
            let (command, output) = block.split_once('\n')?;
            Some(Shown { command: command.trim(), output })
        })
        .collect()
}

/// Splits at spaces outside of double quotes.
fn words(command: &str) -> Vec<String> {
    let outside = command.split('"').enumerate();
    outside
        .flat_map(|(place, part)| match place % 2 {
            0 => part.split_whitespace().map(str::to_owned).collect::<Vec<_>>(),
            _ => vec![part.to_owned()],
        })
        .collect()
}

/// The commands of one document share a store and a day.
fn printed(command: &str, store: &Path) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_linkwright"))
        .args(words(command))
        .current_dir(repository())
        .env("LINKWRIGHT_STORE", store)
        .env("LINKWRIGHT_TODAY", "2026-05-04")
        .env_remove("LINKWRIGHT_WRITER")
        .output()
        .expect("the program starts");
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

fn agrees(shown: &str, printed: &str) -> bool {
    let mut rest = printed;
    for (place, part) in shown.split("...\n").enumerate() {
        match rest.find(part) {
            Some(0) => rest = &rest[part.len()..],
            Some(at) if place > 0 => rest = &rest[at + part.len()..],
            _ => return false,
        }
    }
    rest.is_empty() || shown.ends_with("...\n")
}

#[test]
fn the_readme_shows_what_is_printed() {
    let text = document("README.md");
    let blocks = shown(&text);
    assert!(blocks.len() >= 4, "{} commands are shown", blocks.len());
    let folder = std::env::temp_dir().join(format!("linkwright-documents-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder to work in");
    for Shown { command, output } in blocks {
        let printed = printed(command, &folder.join("rack.db"));
        assert!(agrees(output, &printed), "`linkwright {command}` prints\n{printed}\nnot\n{output}");
    }
    let _ = std::fs::remove_dir_all(&folder);
}
