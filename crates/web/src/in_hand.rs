//! Files that came with a request, or inside the program, seen through the desk's door; all else is as it is outside.

use desk::Surroundings;
use desk::helper::HelperTrouble;
use jiff::civil::Date;
use std::io;
use std::path::Path;
use std::time::Duration;

/// Texts by file name. No other file can be read and none written: a text from a browser names no files of this machine.
pub struct InHand {
    pub files: Vec<(String, String)>,
    pub outside: &'static dyn Surroundings,
}

impl InHand {
    fn text(&self, path: &str) -> io::Result<&str> {
        let name = Path::new(path).file_name().and_then(|name| name.to_str()).unwrap_or_default();
        let found = self.files.iter().find(|(known, _)| known == name);
        found.map(|(_, text)| text.as_str()).ok_or_else(|| io::ErrorKind::NotFound.into())
    }
}

impl Surroundings for InHand {
    fn read(&self, path: &str) -> io::Result<String> {
        self.text(path).map(str::to_owned)
    }

    fn read_bytes(&self, path: &str, _: usize) -> io::Result<Vec<u8>> {
        self.text(path).map(|text| text.as_bytes().to_vec())
    }

    fn exists(&self, path: &str) -> bool {
        self.text(path).is_ok()
    }

    fn write(&self, _: &str, _: &str) -> io::Result<()> {
        Err(io::ErrorKind::PermissionDenied.into())
    }

    fn write_bytes(&self, _: &str, _: &[u8]) -> io::Result<()> {
        Err(io::ErrorKind::PermissionDenied.into())
    }

    fn today(&self) -> Date {
        self.outside.today()
    }

    fn ask_helper(&self, name: &str, order: &str, limit: Duration) -> Result<Vec<u8>, HelperTrouble> {
        self.outside.ask_helper(name, order, limit)
    }

    fn now_ms(&self) -> i64 {
        self.outside.now_ms()
    }

    fn random(&self) -> [u8; 16] {
        self.outside.random()
    }
}
