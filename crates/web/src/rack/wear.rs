//! Wear from a photo, measured on the piece's page and kept with it.

use super::{piece_link, to_entry};
use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, drawing, page, part};
use crate::problem::{Problem, Wrong};
use crate::typed::{PHOTOS, Typed, Upload};
use crate::units::{Chosen, Unit, Units};
use crate::{Shared, Site, line, word};
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use desk::measuring::{self, Against, Known, Looked};
use desk::rack::happen::About;
use desk::rack::{Pick, Refused};
use desk::texts::Read;
use maud::{Markup, html};
use register::event::{Event, Reading};

pub async fn blank(Shared(site): Shared, Path(label): Path<String>) -> Result<Markup, Problem> {
    site.rack.show(&label).await?;
    Ok(draw(&site, &label, &Typed::default(), &[], None))
}

fn draw(site: &Site, label: &str, typed: &Typed, wrong: &[Wrong], looked: Option<(&Looked, Units)>) -> Markup {
    let is_reading = looked.as_ref().is_some_and(|(looked, _)| looked.depth_mm().is_some());
    let is_written = is_reading && typed.some("keep").is_some();
    page(
        Room::Rack,
        &line("wear-of", label),
        html! {
            p { (piece_link(label)) " · " (word("wear-lead")) " " a href="/sheet/measuring" { (word("sheet-measuring")) } }
            @if let Some((looked, units)) = &looked {
                section aria-live="polite" {
                    h2 { (word("wear-found")) }
                    @if is_written { p.state-of { (word("wear-written")) " " a href={ (super::piece_path(label)) } { (label) } } }
                    pre.told tabindex="0" { (measuring::text(looked, Read::OnPage)) }
                    @if let Some(svg) = measuring::svg(looked, *units) { (drawing(&svg)) }
                }
            }
            (form(label).draw(site, typed, wrong))
        },
    )
}

fn form(label: &str) -> Form {
    let mm = |name: &str| {
        Field::new(name, word(&format!("wear-{name}")), Kind::Value(Unit::Mm, 3))
            .hint(word(&format!("wear-{name}-hint")))
    };
    let fields = vec![
        Field::new("photo", word("wear-photo"), Kind::File(PHOTOS)).required().hint(word("wear-photo-hint")),
        mm("bar-height"),
        mm("scale-bar"),
        mm("bar"),
        Field::new("keep", word("wear-keep"), Kind::Tick),
    ];
    Form::new(format!("/piece/{}/wear", part(label)), word("wear-measure"), fields)
}

pub async fn measure(
    Shared(site): Shared,
    Chosen(units): Chosen,
    Path(label): Path<String>,
    typed: Typed,
) -> Result<Response, Problem> {
    match measured(&site, &label, &typed).await {
        // Nobody is there to see what came of a form that has waited: it leads to its entry, as others do.
        Ok((_, Some(entry))) if typed.has_waited() => Ok(entry.into_response()),
        Ok((looked, _)) => Ok(draw(&site, &label, &typed, &[], Some((&looked, units))).into_response()),
        Err(problem) => Ok(draw(&site, &label, &typed, &against(problem)?, None).into_response()),
    }
}

/// Measures against the first photo that was kept of the piece, and keeps what was found where that is asked, or where it has waited to be measured: then
/// with its entry.
async fn measured(site: &Site, label: &str, typed: &Typed) -> Result<(Looked, Option<Redirect>), Problem> {
    let photo = typed.upload("photo").ok_or_else(|| Problem::Unreadable(word("wear-photo")))?.clone();
    let known = known(typed)?;
    let first = match site.rack.first_photo(label).await {
        Ok(bytes) => Some(Against { name: label.to_owned(), bytes }),
        Err(Refused::Fault(fault)) if fault.code == "no-first-photo" => None,
        Err(other) => return Err(other.into()),
    };
    let Upload { name, bytes } = photo.clone();
    let looked = tokio::task::spawn_blocking(move || measuring::measure(bytes, &name, first, known)).await;
    let looked = looked.map_err(|why| Problem::Unreadable(why.to_string()))?;
    if (typed.some("keep").is_some() || typed.has_waited())
        && let Some(reading) = reading(&looked)
    {
        let photos = vec![photo.paper()];
        let about = About { pick: Pick::Labels(label.to_owned()), on: None, note: None, photos };
        let answer = typed.rack(site).log(&about, Event::Measured(reading)).await?;
        return Ok((looked, Some(to_entry(label, &answer))));
    }
    Ok((looked, None))
}

fn known(typed: &Typed) -> Result<Known, Problem> {
    let mm = |name: &str| {
        let number = typed
            .some_value(name, Unit::Mm, 3)
            .map(|text| text.replace(',', ".").parse::<f64>().ok().filter(|mm| *mm > 0.0));
        number.map_or(Ok(None), |mm| mm.map(Some).ok_or_else(|| Problem::Unreadable(word(&format!("wear-{name}")))))
    };
    Ok(Known { bar_height_mm: mm("bar-height")?, scale_bar_mm: mm("scale-bar")?, bar_mm: mm("bar")? })
}

/// What goes into the log: the groove, or none for the first photo. A photo that is not good enough gives no reading.
fn reading(looked: &Looked) -> Option<Reading> {
    let (depth_mm, low_mm, high_mm) = looked.depth_mm()?;
    let interval = (high_mm > 0.0).then(|| (micrometres(low_mm), micrometres(high_mm)));
    let bar_um = looked.known.bar_mm.map(micrometres);
    Some(Reading { what: "groove".to_owned(), how: "photo".to_owned(), value: micrometres(depth_mm), interval, bar_um })
}

/// Lengths of gear are millimetres, far below what an integer of µm can hold.
#[allow(clippy::cast_possible_truncation)]
fn micrometres(mm: f64) -> i64 {
    (mm * 1000.0).round() as i64
}
