//! What somebody typed into a form, and sent with its token.

use crate::problem::Problem;
use crate::units::{UNITS, Unit, Units};
use crate::{Shared, Site};
use axum::extract::rejection::FormRejection;
use axum::extract::{FromRequest, Multipart, Request};
use axum::http::header::CONTENT_TYPE;
use axum::{Form, RequestExt};
use desk::rack::Rack;
use desk::rack::happen::Paper;
use jiff::civil::Date;
use std::sync::Arc;

/// A file that was sent along.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Upload {
    pub name: String,
    pub bytes: Vec<u8>,
}

impl Upload {
    /// As what is to be kept beside the log.
    pub fn paper(&self) -> Paper {
        Paper::InHand { name: self.name.clone(), bytes: self.bytes.clone() }
    }
}

/// The kinds of photos that are taken; a phone offers its camera for them.
pub const PHOTOS: &str = "image/jpeg,image/png";

/// The fields of a form, and its files. It exists only where the form's token was right.
#[derive(Debug, Clone, Default)]
pub struct Typed {
    fields: Vec<(String, String)>,
    uploads: Vec<(String, Upload)>,
    /// The day on which it was filled in, where it waited before it was sent.
    filled: Option<Date>,
}

/// The name of the field that holds the token.
pub const TOKEN: &str = "token";
/// The name of the field that says as whom a form was filled in.
pub const WRITER: &str = "writer";
/// The name of the field by which one sending of a form is told from another.
pub const WISH: &str = "wish";
/// The name of the field that says on which day a form was filled in that had to wait.
const FILLED: &str = "filled";

impl Typed {
    /// What a page is asked for in its address; nothing is changed by it, so it needs no token.
    pub fn asked(fields: Vec<(String, String)>) -> Self {
        Self { fields, ..Self::default() }
    }

    /// The text of a field, trimmed; empty where there is none.
    pub fn get(&self, name: &str) -> &str {
        self.fields.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value.trim())
    }

    /// A password, as it was typed.
    pub fn secret(&self, name: &str) -> &str {
        self.fields.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value)
    }

    /// The text of a field, where something was typed.
    pub fn some(&self, name: &str) -> Option<&str> {
        Some(self.get(name)).filter(|text| !text.is_empty())
    }

    /// The same, to be kept.
    pub fn owned(&self, name: &str) -> Option<String> {
        self.some(name).map(str::to_owned)
    }

    /// The same, with a text in a field where nothing was typed into it.
    pub fn or(&self, name: &str, text: &str) -> Self {
        let mut fields: Vec<_> = self.fields.iter().filter(|(known, _)| known != name).cloned().collect();
        fields.push((name.to_owned(), self.some(name).unwrap_or(text).to_owned()));
        Self { fields, uploads: self.uploads.clone(), filled: self.filled }
    }

    /// A whole number from 0; 0 where nothing was typed.
    pub fn count(&self, name: &str) -> Result<u32, Problem> {
        whole(name, self.some(name))
    }

    /// The same of a value of a unit, to the nearest.
    pub fn count_of(&self, name: &str, unit: Unit) -> Result<u32, Problem> {
        whole(name, self.some_value(name, unit, 0).as_deref())
    }

    /// A value of a unit, as the rack keeps it, to so many decimal places: it was typed in the units that the form names.
    pub fn value(&self, name: &str, unit: Unit, places: usize) -> String {
        Units::told(self.get(UNITS)).typed(self.get(name), unit, places)
    }

    /// The same, where something was typed.
    pub fn some_value(&self, name: &str, unit: Unit, places: usize) -> Option<String> {
        self.some(name).map(|_| self.value(name, unit, places))
    }

    /// Several values with a slash between, each of a unit of its own or none, to so many decimal places.
    pub fn values(&self, name: &str, each: &[Option<Unit>], places: usize) -> String {
        Units::told(self.get(UNITS)).typed_each(self.get(name), each, places)
    }

    /// All the texts of fields of one name.
    pub fn all(&self, name: &str) -> impl Iterator<Item = &str> {
        self.fields.iter().filter(move |(known, _)| known == name).map(|(_, value)| value.trim())
    }

    /// A file that was sent along, where one was chosen.
    pub fn upload(&self, name: &str) -> Option<&Upload> {
        self.uploads(name).next()
    }

    /// All files of fields of one name.
    pub fn uploads(&self, name: &str) -> impl Iterator<Item = &Upload> {
        self.uploads.iter().filter(move |(known, _)| known == name).map(|(_, upload)| upload)
    }

    /// The rack, on which what this form says is written once, however often it is sent.
    pub fn rack(&self, site: &Site) -> Rack<'static> {
        site.rack.once(self.get(WISH), self.filled)
    }

    /// Whether it waited before it was sent.
    pub const fn has_waited(&self) -> bool {
        self.filled.is_some()
    }

    /// Whether it was sent by a page of this program, and for the first time.
    async fn check(&self, site: &Site) -> Result<(), Problem> {
        let wish = self.get(WISH);
        if self.get(WRITER) != site.as_whom() {
            return Err(Problem::OtherWriter);
        }
        if self.get(TOKEN) != site.token {
            return Err(Problem::NoToken);
        }
        if !(16..=64).contains(&wish.len()) || !wish.bytes().all(|byte| byte.is_ascii_alphanumeric()) {
            return Err(Problem::Unreadable(format!("{WISH}: {wish}")));
        }
        site.rack.written(wish).await?.map_or(Ok(()), |entry| Err(Problem::Written(entry)))
    }
}

fn whole(name: &str, text: Option<&str>) -> Result<u32, Problem> {
    text.map_or(Ok(0), |text| text.parse().map_err(|_| Problem::Unreadable(format!("{name}: {text}"))))
}

impl FromRequest<Arc<Site>> for Typed {
    type Rejection = Problem;

    async fn from_request(mut request: Request, _: &Arc<Site>) -> Result<Self, Problem> {
        let Shared(site) = request.extract_parts().await?;
        let kind = request.headers().get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let mut typed = if kind.starts_with("multipart/") {
            let multipart: Result<Multipart, _> = request.extract().await;
            parts(multipart.map_err(|why| Problem::Rejected(why.status(), why.body_text()))?).await?
        } else {
            let form: Result<Form<_>, FormRejection> = request.extract().await;
            let Form(fields) = form.map_err(|why| Problem::Rejected(why.status(), why.body_text()))?;
            Self::asked(fields)
        };
        typed.check(&site).await?;
        let filled = typed.some(FILLED).map(str::parse).transpose();
        typed.filled = filled.map_err(|why| Problem::Unreadable(format!("{FILLED}: {why}")))?;
        Ok(typed)
    }
}

async fn parts(mut multipart: Multipart) -> Result<Typed, Problem> {
    let broken = |why: axum::extract::multipart::MultipartError| Problem::Rejected(why.status(), why.body_text());
    let mut typed = Typed::default();
    while let Some(field) = multipart.next_field().await.map_err(broken)? {
        let name = field.name().unwrap_or_default().to_owned();
        match field.file_name().map(str::to_owned) {
            None => typed.fields.push((name, field.text().await.map_err(broken)?)),
            Some(file) => {
                let bytes = field.bytes().await.map_err(broken)?.to_vec();
                if !file.is_empty() {
                    typed.uploads.push((name, Upload { name: file, bytes }));
                }
            }
        }
    }
    Ok(typed)
}
