//! Name spaces: what each name stands for, and faults for names that are taken or not there.

use std::collections::BTreeMap;
use std::ops::Range;

use super::fault::{FaultCode, Report};
use super::values::Name;
use super::words::suggest;

/// The names of one kind of thing.
pub(super) struct Names {
    /// "point", "rope" …
    kind: &'static str,
    defined: BTreeMap<String, Definition>,
}

struct Definition {
    place: usize,
    span: Range<usize>,
}

impl Names {
    pub fn new(kind: &'static str) -> Self {
        Self { kind, defined: BTreeMap::new() }
    }

    /// Lets `name` stand for `place` from here on.
    pub fn define(&mut self, name: &Name, place: usize, report: &mut Report<'_>) {
        if name.value.trim().is_empty() {
            let help = format!("give this {} a name to be called by", self.kind);
            return report.add(FaultCode::EmptyName, &name.span, "a name without a letter", help);
        }
        match self.defined.get(&name.value) {
            Some(other) => self.taken(name, &other.span, report),
            None => {
                let definition = Definition { place, span: name.span.clone() };
                self.defined.insert(name.value.clone(), definition);
            }
        }
    }

    fn taken(&self, name: &Name, other: &Range<usize>, report: &mut Report<'_>) {
        let in_order = name.span.start > other.start;
        let (first, second) = if in_order { (other, &name.span) } else { (&name.span, other) };
        let (line, _) = report.line_and_column(first.start);
        let message = format!("the {} \"{}\" is there already, in line {line}", self.kind, name.value);
        report.add(FaultCode::NameTwice, second, message, format!("give each {} a name of its own", self.kind));
    }

    /// What `name` stands for; a fault where it stands for nothing.
    pub fn find(&self, name: &Name, report: &mut Report<'_>) -> Option<usize> {
        let place = self.place(&name.value);
        if place.is_none() {
            let help = suggest(&name.value, &format!("{}s here", self.kind), self.defined.keys().map(String::as_str));
            let message = format!("there is no {} \"{}\"", self.kind, name.value);
            report.add(FaultCode::UndefinedName, &name.span, message, help);
        }
        place
    }

    /// What `name` stands for.
    pub fn place(&self, name: &str) -> Option<usize> {
        self.defined.get(name).map(|definition| definition.place)
    }
}
