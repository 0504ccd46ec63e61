//! Trouble shown: what is wrong, where, as an excerpt of the file, and what would be right.

use desk::checking::Trouble;
use desk::forecasting::NotForecast;
use desk::measuring::Unreadable;
use desk::outing::NotPlanned;
use desk::rack::{Fault, Refused};
use desk::texts::Read;
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode, SourceSpan};
use std::fmt;
use std::io::IsTerminal;

/// One thing to complain of.
#[derive(Debug)]
struct Item {
    message: String,
    help: Option<String>,
    source: Option<(NamedSource<String>, SourceSpan)>,
}

/// All there is to complain of.
#[derive(Debug)]
pub struct Complaint(Vec<Item>);

impl Complaint {
    /// A complaint with no place in a file.
    pub fn plain(message: String, help: Option<String>) -> Self {
        Self(vec![Item { message, help, source: None }])
    }

    /// A file that could not be written.
    pub fn unwritable(path: &str, why: &std::io::Error) -> Self {
        Self::plain(format!("{path} cannot be written: {why}"), None)
    }

    /// Prints to standard error, in colour where that is a terminal.
    pub fn print(&self) {
        let theme =
            if std::io::stderr().is_terminal() { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let handler = GraphicalReportHandler::new_themed(theme).with_width(110);
        for item in &self.0 {
            let mut text = String::new();
            match handler.render_report(&mut text, item) {
                Ok(()) => eprint!("{text}"),
                Err(_) => eprintln!("{}", item.message),
            }
        }
    }
}

impl From<Trouble> for Complaint {
    fn from(trouble: Trouble) -> Self {
        match trouble {
            Trouble::Rig(faults) => Self(faults.list().iter().map(|fault| located(&faults, fault)).collect()),
            Trouble::Unsolved { path, what, help } => Self::plain(format!("{path}: {what}"), Some(help)),
            Trouble::Unreadable { .. } | Trouble::Policy { .. } => Self::plain(trouble.to_string(), None),
        }
    }
}

impl From<NotForecast> for Complaint {
    fn from(fault: NotForecast) -> Self {
        match fault {
            NotForecast::File(faults) => Self(faults.list().iter().map(|fault| located(&faults, fault)).collect()),
            NotForecast::NoSuchPiece { what, help } => Self::plain(what, Some(help)),
            NotForecast::Unreadable { .. } => Self::plain(fault.to_string(), None),
        }
    }
}

impl From<NotPlanned> for Complaint {
    fn from(trouble: NotPlanned) -> Self {
        match trouble {
            NotPlanned::File(faults) => Self(faults.list().iter().map(|fault| located(&faults, fault)).collect()),
            NotPlanned::Rig(trouble) => trouble.into(),
            NotPlanned::Unreadable { path, why } => Self::plain(format!("{path} cannot be read: {why}"), None),
            NotPlanned::Fault(what, help) => Self::plain(what, Some(help)),
            NotPlanned::Solve(trouble) => {
                let (what, help) = trouble.words();
                Self::plain(what, Some(help))
            }
        }
    }
}

impl From<Refused> for Complaint {
    fn from(refused: Refused) -> Self {
        match refused {
            Refused::Fault(fault) => fault.into(),
            Refused::Store(error) => Self::plain(error.to_string(), None),
            Refused::Sheet { path, wrong } => Self(wrong.iter().map(|wrong| in_sheet(&path, wrong)).collect()),
        }
    }
}

impl From<Unreadable> for Complaint {
    fn from(fault: Unreadable) -> Self {
        Self::plain(fault.to_string(), None)
    }
}

impl From<Fault> for Complaint {
    fn from(fault: Fault) -> Self {
        let (what, help) = fault.words(Read::InTerminal);
        Self::plain(what, Some(help))
    }
}

fn in_sheet(path: &str, wrong: &desk::rack::sheet::Wrong) -> Item {
    let (what, help) = wrong.fault.words(Read::InTerminal);
    let column = wrong.column.as_ref().map(|column| format!(" {column}:")).unwrap_or_default();
    Item { message: format!("{path}:{}:{column} {what}", wrong.line), help: Some(help), source: None }
}

fn located(faults: &rig::file::Faults, fault: &rig::file::Fault) -> Item {
    let span = SourceSpan::from(fault.span.clone());
    let source = NamedSource::new(faults.file_name(), faults.text().to_owned());
    let message = format!("{}:{}:{}: {}", faults.file_name(), fault.line, fault.column, fault.message);
    Item { message, help: Some(fault.help.clone()), source: Some((source, span)) }
}

impl fmt::Display for Item {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.message)
    }
}

impl std::error::Error for Item {}

impl Diagnostic for Item {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.source.as_ref().map(|(source, _)| source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let (_, span) = self.source.as_ref()?;
        Some(Box::new(std::iter::once(LabeledSpan::new_with_span(Some("here".to_owned()), *span))))
    }
}
