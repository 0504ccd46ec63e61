//! What can be wrong with a rig file, and where.

use std::fmt;
use std::ops::Range;
use terms::coded;

coded!(
    /// What kind of fault.
    FaultCode {
        /// Not TOML.
        Syntax = "syntax",
        /// A key that no table has there.
        UnknownKey = "unknown-key",
        /// A key that has to be there.
        MissingKey = "missing-key",
        /// A value of another type.
        WrongType = "wrong-type",
        /// An array with too few or too many values.
        WrongLength = "wrong-length",
        /// A word outside a closed list.
        UnknownWord = "unknown-word",
        /// Not a number, or infinite.
        NotFinite = "not-finite",
        /// A number outside its range.
        OutOfRange = "out-of-range",
        /// A band whose low end lies above its high end.
        ReversedBand = "reversed-band",
        /// A direction of no length.
        NoDirection = "no-direction",
        /// A name without a letter.
        EmptyName = "empty-name",
        /// A name that is already taken.
        NameTwice = "name-twice",
        /// A name that nothing defines.
        UndefinedName = "undefined-name",
        /// A draw that hangs on something else than an anchor.
        NotAnAnchor = "not-an-anchor",
        /// A rope with neither a data sheet nor a response.
        RopeNotDescribed = "rope-not-described",
        /// A rope with both figures of a data sheet and a response.
        RopeDescribedTwice = "rope-described-twice",
        /// Some figures of a data sheet, not all.
        DataSheetIncomplete = "data-sheet-incomplete",
        /// A sling with neither a stiffness nor the diameter of cord.
        SlingNotDescribed = "sling-not-described",
        /// Cord of a diameter that is not listed.
        CordNotListed = "cord-not-listed",
        /// A person who stands and is anchored.
        StandsAndAnchored = "stands-and-anchored",
        /// A line through fewer than two points.
        TooFewPoints = "too-few-points",
        /// A leg or a segment from a point to itself.
        SamePoint = "same-point",
        /// A leg or a segment between two points in one place.
        CoincidentPoints = "coincident-points",
        /// A line with both slack and a length.
        SlackAndLength = "slack-and-length",
        /// A line with both a tension and a length.
        TensionAndLength = "tension-and-length",
        /// A tensioned line in a fall.
        TensionInFall = "tension-in-fall",
        /// Losses asked of ropes on the move.
        LossesWhileRunning = "losses-while-running",
        /// Half of an energy absorber.
        AbsorberIncomplete = "absorber-incomplete",
        /// A connector without a place.
        NoSeat = "no-seat",
        /// A connector with two places.
        TwoSeats = "two-seats",
        /// A connector opposed to itself, or to one that sits elsewhere.
        OpposedElsewhere = "opposed-elsewhere",
        /// A steady load in a fall.
        PullInFall = "pull-in-fall",
        /// A steady load at a point that does not move.
        PullAtFixed = "pull-at-fixed",
        /// A fall in which nobody falls.
        NobodyFalls = "nobody-falls",
        /// A rig of running ropes in which no line runs.
        NothingRuns = "nothing-runs",
        /// A line that is taken in and paid out.
        RunsBothWays = "runs-both-ways",
        /// A line that is taken in or paid out elsewhere than at an end.
        NotAnEnd = "not-an-end",
        /// An end that is taken in or paid out with nobody there to hold it.
        NobodyHolds = "nobody-holds",
        /// A key of running ropes where no rope runs.
        DoesNotRun = "does-not-run",
        /// A device without exactly one figure of what it does to a rope.
        DeviceNotDescribed = "device-not-described",
        /// A device or a grip where no rope is that it could work on.
        NoRopeThere = "no-rope-there",
    }
);

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// What kind of fault.
    pub code: FaultCode,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
    /// Where in the text, in bytes.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// All that is wrong with a file: one fault at least, in the order of the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults {
    file_name: String,
    text: String,
    list: Vec<Fault>,
}

impl Faults {
    /// The name of the file as given.
    #[must_use]
    pub fn file_name(&self) -> &str {
        &self.file_name
    }

    /// The text that the spans point into.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The faults, first in the text first.
    #[must_use]
    pub fn list(&self) -> &[Fault] {
        &self.list
    }
}

impl fmt::Display for Faults {
    /// A line for each: `FILE:LINE:COLUMN: what is wrong; what would be right`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, fault) in self.list.iter().enumerate() {
            let separator = if place == 0 { "" } else { "\n" };
            let Fault { line, column, message, help, .. } = fault;
            write!(formatter, "{separator}{}:{line}:{column}: {message}; {help}", self.file_name)?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// Gathers faults while a text is read.
pub struct Report<'t> {
    text: &'t str,
    line_starts: Vec<usize>,
    list: Vec<Fault>,
}

impl<'t> Report<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        // A byte order mark takes no column.
        let first = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
        let after_newlines = text.match_indices('\n').map(|(newline, _)| newline + 1);
        Self { text, line_starts: std::iter::once(first).chain(after_newlines).collect(), list: Vec::new() }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Adds a fault at `span` (bytes of the text): what is wrong, and what would be right.
    pub fn add(&mut self, code: FaultCode, span: &Range<usize>, message: impl Into<String>, help: impl Into<String>) {
        // What a file writes in its names must not break a line or steer a terminal.
        let [message, help] = [message.into(), help.into()].map(|words| words.replace(char::is_control, " "));
        let (line, column) = self.line_and_column(span.start);
        self.list.push(Fault { code, message, help, span: span.clone(), line, column });
    }

    /// Both from 1; the column in characters.
    pub(super) fn line_and_column(&self, byte: usize) -> (usize, usize) {
        let byte = self.text.floor_char_boundary(byte).max(self.line_starts[0]);
        let line = self.line_starts.partition_point(|start| *start <= byte);
        (line, self.text[self.line_starts[line - 1]..byte].chars().count() + 1)
    }

    /// The faults that were found, if any.
    pub(super) fn into_faults(mut self, file_name: &str) -> Option<Faults> {
        self.list.sort_by_key(|fault| (fault.span.start, fault.code));
        let (file_name, text, list) = (file_name.into(), self.text.into(), self.list);
        (!list.is_empty()).then_some(Faults { file_name, text, list })
    }
}
