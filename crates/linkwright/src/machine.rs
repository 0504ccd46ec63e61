//! This machine as seen through the desk's door.

use crate::helper;
use desk::Surroundings;
use desk::helper::HelperTrouble;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Files of this machine.
pub struct Machine;

impl Surroundings for Machine {
    fn read(&self, path: &str) -> io::Result<String> {
        fs::read_to_string(path)
    }

    fn read_bytes(&self, path: &str, most: usize) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        fs::File::open(path)?.take(most as u64 + 1).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn exists(&self, path: &str) -> bool {
        Path::new(path).exists()
    }

    /// Writes beside the target and then renames, so that nobody ever sees half a file.
    fn write(&self, path: &str, text: &str) -> io::Result<()> {
        self.write_bytes(path, text.as_bytes())
    }

    fn write_bytes(&self, path: &str, bytes: &[u8]) -> io::Result<()> {
        let beside = beside(Path::new(path))?;
        fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, path)).inspect_err(|_| {
            let _ = fs::remove_file(&beside);
        })
    }

    fn today(&self) -> jiff::civil::Date {
        jiff::Zoned::now().date()
    }

    fn ask_helper(&self, name: &str, order: &str, limit_s: f64) -> Result<Vec<u8>, HelperTrouble> {
        helper::ask(name, order, limit_s)
    }
}

fn beside(path: &Path) -> io::Result<PathBuf> {
    let name = path.file_name().ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "no file name"))?;
    let name = format!(".{}.{}.part", name.to_string_lossy(), std::process::id());
    Ok(path.with_file_name(name))
}
