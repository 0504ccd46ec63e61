//! This machine as seen through the desk's door.

use crate::helper;
use desk::Surroundings;
use desk::helper::HelperTrouble;
use jiff::civil::Date;
use std::fs;
use std::io::{self, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How many steps make something long enough for a bar.
const WORTH_A_BAR: u64 = 5_000;

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

    fn ask_helper(&self, name: &str, order: &str, limit: Duration) -> Result<Vec<u8>, HelperTrouble> {
        helper::ask(name, order, limit)
    }

    /// LINKWRIGHT_TODAY stands in for the clock, for tests and for those who write up a past day.
    fn today(&self) -> Date {
        let told = std::env::var("LINKWRIGHT_TODAY").ok().and_then(|day| day.parse().ok());
        told.unwrap_or_else(|| jiff::Zoned::now().date())
    }

    /// A bar on a terminal, gone once it is full; nothing where the errors go to a file, or little is to be done.
    fn progress(&self, done: u64, of: u64) {
        if of < WORTH_A_BAR || !io::stderr().is_terminal() {
            return;
        }
        let percent = done.saturating_mul(100) / of;
        let full = usize::try_from(percent / 4).unwrap_or_default();
        let mut errors = io::stderr().lock();
        let end = if done < of { "" } else { "\r\x1b[K" };
        // Whoever cannot see the bar loses nothing.
        let _ = write!(errors, "\r[{:<25}] {percent:>3} %{end}", "#".repeat(full)).and_then(|()| errors.flush());
    }

    fn now_ms(&self) -> i64 {
        jiff::Timestamp::now().as_millisecond()
    }

    fn random(&self) -> [u8; 16] {
        let mut bytes = [0; 16];
        getrandom::fill(&mut bytes).unwrap_or_else(|why| panic!("this machine gives no chance: {why}"));
        bytes
    }
}

impl Machine {
    /// The user's folder for data of this program, made where there is none.
    pub fn data_folder() -> io::Result<PathBuf> {
        let variable = |name| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
        let home = || variable("HOME").map(|home| home.join(".local/share"));
        let folder = variable("XDG_DATA_HOME").or_else(|| variable("APPDATA")).or_else(home);
        let folder =
            folder.ok_or_else(|| io::Error::new(io::ErrorKind::NotFound, "neither XDG_DATA_HOME nor HOME is set"))?;
        let folder = folder.join("linkwright");
        fs::create_dir_all(&folder)?;
        Ok(folder)
    }
}

fn beside(path: &Path) -> io::Result<PathBuf> {
    let name = path.file_name().ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "no file name"))?;
    let name = format!(".{}.{}.part", name.to_string_lossy(), std::process::id());
    Ok(path.with_file_name(name))
}
