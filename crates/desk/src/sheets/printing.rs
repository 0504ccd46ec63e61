//! From a sheet to a PDF, by the helper program.

use super::{ORDER_VERSION, Print, Sheet, fonts};
use crate::Surroundings;
use crate::helper::{HelperTrouble, PRESS, What};
use serde::Deserialize;
use std::time::Duration;

/// No sheet takes this long: what does has gone wrong.
const LIMIT: Duration = Duration::from_secs(120);

/// A sheet, printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Printed {
    /// How many pages.
    pub pages: usize,
    /// The PDF.
    pub pdf: Vec<u8>,
}

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetTrouble {
    /// The helper program did not help.
    #[error("{0}")]
    Helper(#[from] HelperTrouble),
    /// The template or what it shows is at fault.
    #[error("{}", .0.iter().map(Fault::in_a_line).collect::<Vec<_>>().join("\n"))]
    Template(Vec<Fault>),
}

impl SheetTrouble {
    /// What would help.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Helper(trouble) => trouble.words().1,
            Self::Template(faults) => {
                let helps: Vec<String> = faults.iter().flat_map(Fault::helps).collect();
                if helps.is_empty() { "mend the template, or print without it".to_owned() } else { helps.join("; ") }
            }
        }
    }
}

/// What is wrong with a template or with what it shows.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Fault {
    /// What is wrong.
    pub what: String,
    /// Where.
    pub at: Option<String>,
    /// What would help.
    pub help: Vec<String>,
    /// The characters that no font has, where that is what is wrong.
    #[serde(default)]
    pub lacks: String,
}

impl Fault {
    fn helps(&self) -> Vec<String> {
        if self.lacks.is_empty() { self.help.clone() } else { vec![fonts::help(&self.lacks)] }
    }

    fn in_a_line(&self) -> String {
        match &self.at {
            Some(at) => format!("{at}: {}", self.what),
            None => self.what.clone(),
        }
    }
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Answer {
    Printed { version: u32, pages: usize, bytes: usize },
    Refused { version: u32, troubles: Vec<Fault> },
}

impl Answer {
    const fn version(&self) -> u32 {
        match self {
            Self::Printed { version, .. } | Self::Refused { version, .. } => *version,
        }
    }
}

/// Has a sheet printed.
///
/// # Errors
/// [`SheetTrouble`] says what is wrong and what would help.
pub fn print(surroundings: &dyn Surroundings, sheet: &Sheet, print: &Print) -> Result<Printed, SheetTrouble> {
    let said = surroundings.ask_helper(PRESS, &sheet.order(print), LIMIT)?;
    understand(&said)
}

fn understand(said: &[u8]) -> Result<Printed, SheetTrouble> {
    let garbled = |why: String| HelperTrouble::new(PRESS, What::Garbled(why));
    let end = said.iter().position(|byte| *byte == b'\n').ok_or_else(|| garbled("it said nothing".to_owned()))?;
    let answer: Answer = serde_json::from_slice(&said[..end]).map_err(|why| garbled(why.to_string()))?;
    if answer.version() != ORDER_VERSION {
        return Err(garbled(format!("version {} where {ORDER_VERSION} was asked", answer.version())).into());
    }
    match answer {
        Answer::Refused { troubles, .. } => Err(SheetTrouble::Template(troubles)),
        Answer::Printed { pages, bytes, .. } => {
            let pdf = &said[end + 1..];
            if pdf.len() != bytes {
                return Err(garbled(format!("{} of {bytes} bytes came", pdf.len())).into());
            }
            Ok(Printed { pages, pdf: pdf.to_vec() })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pdf_follows_its_answer() {
        let said = b"{\"printed\":{\"version\":1,\"pages\":2,\"bytes\":4}}\n%PDF";
        assert_eq!(understand(said), Ok(Printed { pages: 2, pdf: b"%PDF".to_vec() }));
    }

    #[test]
    fn half_an_answer_and_another_version_are_told() {
        let half = b"{\"printed\":{\"version\":1,\"pages\":2,\"bytes\":5}}\n%PDF".as_slice();
        let other = b"{\"printed\":{\"version\":2,\"pages\":2,\"bytes\":4}}\n%PDF".as_slice();
        for said in [half, other, b"", b"hello\n"] {
            assert!(matches!(
                understand(said),
                Err(SheetTrouble::Helper(HelperTrouble { what: What::Garbled(_), .. }))
            ));
        }
    }

    #[test]
    fn a_fault_of_a_template_keeps_its_place() {
        let said = b"{\"refused\":{\"version\":1,\"troubles\":[{\"what\":\"unknown variable: x\",\"at\":\"rig-card.typ, line 3, column 2\",\"help\":[]}]}}\n";
        let trouble = understand(said).expect_err("refused");
        assert_eq!(trouble.to_string(), "rig-card.typ, line 3, column 2: unknown variable: x");
    }
}
