//! What tests of the command line share.
#![allow(dead_code, reason = "each test file uses its part")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder of its own for one test, gone afterwards.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("linkwright-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).expect("a folder to work in");
        Self(path)
    }

    pub fn at(&self) -> &Path {
        &self.0
    }

    pub fn path(&self, name: &str) -> String {
        self.0.join(name).to_string_lossy().into_owned()
    }

    /// Writes a file to work with, and gives its path.
    pub fn write(&self, name: &str, text: &str) -> String {
        std::fs::write(self.0.join(name), text).expect("a file to work with");
        self.path(name)
    }

    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<_> = std::fs::read_dir(&self.0)
            .expect("the folder")
            .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

pub fn repository() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
}

/// Runs the program in the repository.
pub fn linkwright(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_linkwright"))
        .args(arguments)
        .current_dir(repository())
        .output()
        .expect("the program starts")
}

pub fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

pub fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}
