//! Everything that a template can see: the templates, files and fonts of one order.

use crate::order::{Order, Trouble};
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

/// The templates inside the program, by name.
pub const TEMPLATES: &[(&str, &str)] = &[
    ("sheet.typ", include_str!("../templates/sheet.typ")),
    ("rig-card.typ", include_str!("../templates/rig-card.typ")),
    ("teaching-card.typ", include_str!("../templates/teaching-card.typ")),
    ("labels.typ", include_str!("../templates/labels.typ")),
    ("measuring-sheet.typ", include_str!("../templates/measuring-sheet.typ")),
    ("inspection-record.typ", include_str!("../templates/inspection-record.typ")),
    ("case-record.typ", include_str!("../templates/case-record.typ")),
    ("pack-list.typ", include_str!("../templates/pack-list.typ")),
    ("take-along.typ", include_str!("../templates/take-along.typ")),
    ("card.typ", include_str!("../templates/card.typ")),
    ("packing.typ", include_str!("../templates/packing.typ")),
];

static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| LazyHash::new(Library::default()));

static BUNDLED: LazyLock<Vec<Font>> =
    LazyLock::new(|| typst_assets::fonts().flat_map(|data| Font::iter(Bytes::new(data))).collect());

/// One order, as templates see it.
pub struct OneOrder<'o> {
    order: &'o Order,
    main: FileId,
    fonts: Vec<Font>,
    book: LazyHash<FontBook>,
}

impl<'o> OneOrder<'o> {
    /// The world of an order.
    ///
    /// # Errors
    /// A template name that is no path, or a font that cannot be read.
    pub fn new(order: &'o Order) -> Result<Self, Trouble> {
        let path = VirtualPath::new(&order.template).map_err(|_| {
            Trouble::plain(format!("`{}` is no name of a template", order.template), "use a plain file name")
        })?;
        let mut fonts = BUNDLED.clone();
        for font in &order.fonts {
            fonts.extend(read_font(font)?);
        }
        let book = LazyHash::new(FontBook::from_fonts(&fonts));
        Ok(Self { order, main: RootedPath::new(VirtualRoot::Project, path).intern(), fonts, book })
    }

    /// The characters of the order's texts that no font has, each once, in their order.
    pub fn lacks(&self) -> String {
        let texts = self.order.files.values().chain(self.order.templates.values());
        let written: BTreeSet<char> = texts.flat_map(|text| text.chars()).filter(|char| !char.is_control()).collect();
        let has = |char: &char| self.fonts.iter().any(|font| font.info().coverage.contains(u32::from(*char)));
        written.into_iter().filter(|char| !has(char)).collect()
    }

    /// The text of a template or a file: the order's own first.
    fn text(&self, id: FileId) -> FileResult<&str> {
        let name = id.get().vpath().get_without_slash();
        let own = self.order.templates.get(name).or_else(|| self.order.files.get(name)).map(String::as_str);
        let built_in = || TEMPLATES.iter().find(|(known, _)| *known == name).map(|(_, text)| *text);
        own.or_else(built_in).ok_or_else(|| FileError::NotFound(PathBuf::from(name)))
    }
}

fn read_font(path: &str) -> Result<Vec<Font>, Trouble> {
    let help = "name a TrueType or OpenType font file";
    let data = std::fs::read(path).map_err(|why| Trouble::plain(format!("font {path}: {why}"), help))?;
    let fonts: Vec<Font> = Font::iter(Bytes::new(data)).collect();
    if fonts.is_empty() { Err(Trouble::plain(format!("{path} holds no font"), help)) } else { Ok(fonts) }
}

impl World for OneOrder<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        Ok(Source::new(id, self.text(id)?.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        Ok(Bytes::from_string(self.text(id)?.to_owned()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    /// No clock: the date of a sheet is part of its data.
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
