//! From an order to a PDF: tagged for screen readers, and fit to be kept (PDF/UA-1 and PDF/A-2a).

use crate::order::{Order, Trouble, VERSION};
use crate::world::{OneOrder, TEMPLATES};
use typst::World;
use typst::diag::{SourceDiagnostic, Warned};
use typst::foundations::Smart;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

/// A sheet, printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Printed {
    /// How many pages.
    pub pages: usize,
    /// The PDF.
    pub pdf: Vec<u8>,
}

/// Prints an order.
///
/// # Errors
/// An order of another version, a fault in a template or its data, a character that no font has.
pub fn print(order: &Order) -> Result<Printed, Vec<Trouble>> {
    if order.version != VERSION {
        let what = format!("the order is of version {}, this program prints version {VERSION}", order.version);
        return Err(vec![Trouble::plain(what, "build both programs from one source")]);
    }
    let world = OneOrder::new(order).map_err(|trouble| vec![trouble])?;
    let Warned { output, warnings } = typst::compile::<PagedDocument>(&world);
    let told = |faults: &[SourceDiagnostic]| troubles(&world, faults);
    let document = output.map_err(|faults| told(&faults))?;
    if !warnings.is_empty() {
        return Err(told(&warnings));
    }
    let pdf = typst_pdf::pdf(&document, &options()).map_err(|faults| told(&faults))?;
    typst::comemo::evict(10);
    Ok(Printed { pages: document.pages().len(), pdf })
}

fn options() -> PdfOptions {
    let standards = PdfStandards::new(&[PdfStandard::Ua_1, PdfStandard::A_2a])
        .unwrap_or_else(|why| unreachable!("both standards go together: {}", why.message()));
    PdfOptions { creator: Smart::Custom(Some("Linkwright".to_owned())), standards, ..PdfOptions::default() }
}

/// What is wrong, each thing for itself; characters that no font has together, as one thing.
fn troubles(world: &OneOrder<'_>, faults: &[SourceDiagnostic]) -> Vec<Trouble> {
    let lacks = world.lacks();
    let is_of_fonts = |fault: &&SourceDiagnostic| !lacks.is_empty() && fault.message.contains(NO_GLYPH);
    let (of_fonts, others): (Vec<_>, Vec<_>) = faults.iter().partition(is_of_fonts);
    let missing = of_fonts.first().map(|fault| Trouble {
        what: format!("no font has these characters: {lacks}"),
        at: place(world, fault),
        help: Vec::new(),
        lacks: lacks.clone(),
    });
    missing.into_iter().chain(others.into_iter().map(|fault| trouble(world, fault))).collect()
}

/// What the layout says of a character that no font has.
const NO_GLYPH: &str = "could not be displayed";

fn trouble(world: &OneOrder<'_>, fault: &SourceDiagnostic) -> Trouble {
    Trouble {
        what: fault.message.to_string(),
        at: place(world, fault),
        help: fault.hints.iter().map(|hint| hint.v.to_string()).collect(),
        lacks: String::new(),
    }
}

fn place(world: &OneOrder<'_>, fault: &SourceDiagnostic) -> Option<String> {
    use typst::WorldExt;
    let id = fault.span.id()?;
    let range = world.range(fault.span)?;
    let source = world.source(id).ok()?;
    let (line, column) = source.lines().byte_to_line_column(range.start)?;
    Some(format!("{}, line {}, column {}", id.get().vpath().get_without_slash(), line + 1, column + 1))
}

/// The text of a template inside the program, to be copied and edited.
#[must_use]
pub fn built_in(name: &str) -> Option<&'static str> {
    TEMPLATES.iter().find(|(known, _)| *known == name).map(|(_, text)| *text)
}

/// The names of the templates inside the program.
#[must_use]
pub fn names() -> Vec<&'static str> {
    TEMPLATES.iter().map(|(name, _)| *name).collect()
}
