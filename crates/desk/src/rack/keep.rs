//! Whether the log is whole, backups, and the rack as JSON.

use super::fields::{Field, Told};
use super::sheet::{self, Wrong};
use super::{Answer, Fault, Rack, Refused, Result};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::store::{Verified, restore};
use serde_json::{Map, Value, json};
use std::path::Path;

impl Rack<'_> {
    /// Looks through the whole log. With `expect`, a hash that was printed: whether its entry is still there.
    ///
    /// # Errors
    /// Where the store cannot be read; what is wrong with the log is in the answer, which then counts.
    #[boxed]
    pub async fn verify(&self, expect: Option<&str>) -> Result {
        Ok(verified(&self.store.verify(expect, &|done, of| self.outside.progress(done, of)).await?))
    }

    /// Makes all lists and standings anew from the log alone.
    ///
    /// # Errors
    /// Where the store cannot be read or written; then all stays as it was.
    #[boxed]
    pub async fn rebuild(&self) -> Result {
        let today = Some(self.outside.today());
        let pieces = self.store.rebuild(today, &|done, of| self.outside.progress(done, of)).await?;
        let text = texts::rack("rebuilt", &[("count", pieces.to_string())]);
        Ok(Answer::new(text + "\n", json!({ "pieces": pieces })))
    }

    /// Writes a backup to a new file, and tells the head's hash to be kept beside it.
    ///
    /// # Errors
    /// Where the file is there already or cannot be written.
    #[boxed]
    pub async fn backup(&self, path: &str) -> Result {
        let head = self.store.backup(Path::new(path)).await?;
        Ok(kept("backed-up", path, head.seq, &head.hash))
    }

    /// Writes the whole log, with what stands beside it, as lines of JSON. Taken back by [`restored`], chain and all.
    ///
    /// # Errors
    /// As [`Rack::backup`].
    #[boxed]
    pub async fn export_log(&self, path: &str) -> Result {
        let head = self.store.copy(Path::new(path), &|_, _| {}).await?;
        Ok(kept("log-written", path, head.seq, &head.hash))
    }

    /// Writes the pieces that are not withdrawn to a sheet (`.csv`) or as JSON (`.json`), or the whole log (`.jsonl`).
    ///
    /// # Errors
    /// Where the file has another ending or cannot be written.
    #[boxed]
    pub async fn export(&self, path: &str) -> Result {
        let text = match ending(path) {
            Some("csv") => self.export_sheet().await?,
            Some("json") => json_of(&self.export_sheet().await?),
            Some("jsonl") => return self.export_log(path).await,
            _ => return Err(Fault::new("no-format", &[("path", path.to_owned())]).into()),
        };
        self.write_file(path, &text)?;
        let text = texts::rack("exported", &[("path", path.to_owned())]);
        Ok(Answer::new(text + "\n", json!({ "file": path })))
    }

    /// Enters all pieces of a sheet (`.csv`) or of JSON (`.json`), or none. A dry run enters none and says what is wrong.
    ///
    /// # Errors
    /// All that is wrong, line by line (piece by piece in JSON).
    #[boxed]
    pub async fn import(&self, path: &str, columns: &sheet::Columns, on: Option<&str>, dry: bool) -> Result {
        match ending(path) {
            Some("csv" | "json") => self.import_text(path, &self.read(path)?, columns, on, dry).await,
            _ => Err(Fault::new("no-format", &[("path", path.to_owned())]).into()),
        }
    }

    /// The same for a text in hand; `path` stands for it in what is told, and its ending says what it is.
    ///
    /// # Errors
    /// As [`Rack::import`].
    #[boxed]
    pub async fn import_text(
        &self,
        path: &str,
        text: &str,
        columns: &sheet::Columns,
        on: Option<&str>,
        dry: bool,
    ) -> Result {
        let refused = |wrong| Refused::Sheet { path: path.to_owned(), wrong };
        let pieces = match ending(path) {
            Some("csv") => sheet::read(text, columns).map_err(refused)?,
            Some("json") => read_json(text).map_err(refused)?,
            _ => return Err(Fault::new("no-format", &[("path", path.to_owned())]).into()),
        };
        self.import_pieces(path, &pieces, on, dry).await
    }
}

/// Takes a backup or a copy of the log back into a place where no store is yet.
///
/// # Errors
/// Where it does not verify, or something stands there; then nothing was changed.
#[boxed]
pub async fn restored(backup: &str, place: &str, expect: Option<&str>) -> Result {
    let restored = restore(Path::new(backup), place, expect, &|_, _| {}).await?;
    let head = &restored.verified.head;
    Ok(kept("restored", place, head.seq, &head.hash))
}

fn kept(code: &str, path: &str, entries: i64, hash: &str) -> Answer {
    let values = [("path", path.to_owned()), ("entries", entries.to_string()), ("hash", hash.to_owned())];
    Answer::new(texts::rack(code, &values) + "\n", json!({ "file": path, "entries": entries, "hash": hash }))
}

fn verified(found: &Verified) -> Answer {
    let values = [
        ("entries", found.entries.to_string()),
        ("hash", found.head.hash.clone()),
        ("erased", found.erased.to_string()),
    ];
    let mut text = texts::rack(if found.faults.is_empty() { "whole" } else { "not-whole" }, &values) + "\n";
    text.extend(found.expected_at.map(|entry| texts::rack("expected-at", &[("value", entry.to_string())]) + "\n"));
    text.extend(found.faults.iter().map(|fault| format!("  {fault}\n")));
    let faults: Vec<_> = found.faults.iter().map(ToString::to_string).collect();
    let json = json!({
        "entries": found.entries,
        "hash": found.head.hash,
        "erased": found.erased,
        "expected_at": found.expected_at,
        "faults": faults,
    });
    let mut answer = Answer::new(text, json);
    answer.counts = !found.faults.is_empty();
    answer
}

fn ending(path: &str) -> Option<&str> {
    path.rsplit_once('.').map(|(_, ending)| ending)
}

/// A sheet's pieces as objects, fields that say nothing left out.
fn json_of(sheet: &str) -> String {
    let pieces = sheet::read(sheet, &sheet::Columns::default()).unwrap_or_default();
    let object = |(_, told): &(u64, Told)| {
        let fields = Field::ALL.iter().map(|field| (field.code().to_owned(), field.get(told)));
        fields.filter(|(_, text)| !text.is_empty()).map(|(code, text)| (code, json!(text))).collect::<Map<_, _>>()
    };
    format!("{:#}\n", json!({ "pieces": pieces.iter().map(object).collect::<Vec<_>>() }))
}

fn read_json(text: &str) -> std::result::Result<Vec<(u64, Told)>, Vec<Wrong>> {
    let broken = |why: String| vec![Wrong::of_line(1, Fault::new("no-json", &[("why", why)]))];
    let found: Value = serde_json::from_str(text).map_err(|why| broken(why.to_string()))?;
    let pieces = found["pieces"].as_array().ok_or_else(|| broken(texts::rack("json-form", &[])))?;
    let (mut told, mut wrong) = (Vec::new(), Vec::new());
    for (line, piece) in (1..).zip(pieces) {
        match told_json(piece, line) {
            Ok(piece) => told.push((line, piece)),
            Err(faults) => wrong.extend(faults),
        }
    }
    wrong.extend(sheet::twice(&told));
    if wrong.is_empty() { Ok(told) } else { Err(wrong) }
}

fn told_json(piece: &Value, line: u64) -> std::result::Result<Told, Vec<Wrong>> {
    let mut told = Told::default();
    let mut wrong = Vec::new();
    for (key, value) in piece.as_object().into_iter().flatten() {
        let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        let put = match Field::of_heading(key) {
            Some(field) => field.put(&mut told, &text),
            None => Err(Fault::new("no-such-column", &[("heading", key.clone())])),
        };
        wrong.extend(put.err().map(|fault| Wrong::of_cell(line, key, &text, fault)));
    }
    if told.label.is_empty() && wrong.is_empty() {
        wrong.push(Wrong::of_line(line, Fault::new("no-label", &[("label", String::new())])));
    }
    if wrong.is_empty() { Ok(told) } else { Err(wrong) }
}
