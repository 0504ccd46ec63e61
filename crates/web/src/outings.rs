//! Outings: what a day needs, which pieces do for it, swaps, the curve of mass and margin, and what to buy.

mod told;

use crate::form::{Field, Kind, token};
use crate::in_hand::InHand;
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong, rig_wrongs};
use crate::rack::take_along::{self, Along, Pieces, Told};
use crate::rigs::EXAMPLES;
use crate::typed::Typed;
use crate::units::{Chosen, Units};
use crate::{Shared, Site, sheets, word};
use axum::Router;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::board::NotDrawn;
use desk::checking::{Checked, check_file};
use desk::outing::{self, Day, NotPlanned, curve_told, pack_list, packed, swapped};
use desk::rack::Answer;
use desk::rack::labels::expand;
use desk::rack::season::Ahead;
use desk::sheets::{Sheet, rig_card};
use desk::solving::Solver;
use maud::{Markup, html};
use plan::outing::Outing;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Duration;

const EXAMPLE: &str = include_str!("../../../examples/outing-sea-cliff.toml");

/// What stands for the text in what is told of it.
const NAME: &str = "outing.toml";

/// How long the solver may be waited for, s; the first where nobody chose.
const WAITS: [u64; 4] = [30, 5, 120, 600];

/// What can be asked of an outing, by the name of its button.
const ASKED: [&str; 7] = ["plan", "swap", "curve", "buy", "pdf", "along", "along-pdf"];

pub fn routes() -> Router<Arc<Site>> {
    Router::new().route("/outings", get(blank).post(ask))
}

async fn blank(Shared(site): Shared) -> Markup {
    draw(&site, &Typed::asked(vec![("text".to_owned(), EXAMPLE.to_owned())]), &[], None)
}

fn draw(site: &Site, typed: &Typed, wrong: &[Wrong], answer: Option<Markup>) -> Markup {
    page(
        Room::Outings,
        &word("nav-outings"),
        html! {
            p.lead { (word("outings-lead")) }
            @if !wrong.is_empty() { (crate::problem::told(wrong)) }
            @if let Some(answer) = answer { (answer) }
            form.outing method="post" action="/outings" data-stays {
                (token(site))
                div.field.long {
                    label for="outing-text" { (word("outings-text")) }
                    textarea #outing-text name="text" rows="24" spellcheck="false" required aria-describedby="outing-hint" { (typed.get("text")) }
                }
                p.hint #outing-hint { (word("outings-hint")) }
                div.field {
                    label for="outing-missing" { (word("outings-missing")) }
                    input #outing-missing type="text" name="missing" value=(typed.get("missing")) autocomplete="off";
                }
                (patience().draw("outing", typed))
                (until().draw("outing", typed))
                p.doing { @for what in ASKED { button name="what" value=(what) { (word(&format!("outings-{what}"))) } } }
            }
        },
    )
}

fn patience() -> Field {
    let waits = WAITS.iter().map(|seconds| (seconds.to_string(), word(&format!("outings-patience-{seconds}"))));
    let field = Field::new("patience", word("outings-patience"), Kind::Choice(waits.collect()));
    field.hint(word("outings-patience-hint"))
}

fn until() -> Field {
    Field::new("until", word("outings-until"), Kind::Day).hint(word("outings-until-hint"))
}

async fn ask(Shared(site): Shared, Chosen(units): Chosen, typed: Typed) -> Result<Response, Problem> {
    match answered(&site, &typed, units).await {
        Ok((Done::Told(answer), linked)) => {
            Ok(draw(&site, &typed, &[], Some(told::told(&answer, linked, units))).into_response())
        }
        Ok((Done::Sheet(sheet, name), _)) => sheets::pdf(&site, units.sheet(sheet), name).await,
        Ok((Done::Along(along), _)) => take_along::file(&site, &along, units).await,
        Err(Stopped::Problem(problem)) => {
            Ok(draw(&site, &typed, &crate::form::against(problem)?, None).into_response())
        }
        Err(Stopped::NotPlanned(not)) => Ok(draw(&site, &typed, &wrongs(not), None).into_response()),
    }
}

/// What came of it.
enum Done {
    Told(Answer),
    /// And what its file is called.
    Sheet(Sheet, &'static str),
    Along(Box<Along>),
}

/// Why there is no answer.
enum Stopped {
    Problem(Problem),
    NotPlanned(NotPlanned),
}

impl<P: Into<Problem>> From<P> for Stopped {
    fn from(problem: P) -> Self {
        Self::Problem(problem.into())
    }
}

/// Checks of rigs and the solver take their time: both run beside the server.
async fn answered(site: &Site, typed: &Typed, units: Units) -> Result<(Done, bool), Stopped> {
    let mut files: Vec<_> = EXAMPLES.iter().map(|(name, text)| (format!("{name}.toml"), (*text).to_owned())).collect();
    files.push((NAME.to_owned(), typed.get("text").to_owned()));
    let hand = Arc::new(InHand { files, outside: site.outside });
    let beside = Arc::clone(&hand);
    let day = computed(move || Day::read(&*beside, NAME, None)).await?;
    let outing = gathered(site, &day).await?;
    let linked = day.file.pieces.is_empty();
    let what = typed.get("what").to_owned();
    let missing = if what == "swap" { expand(typed.get("missing"))? } else { Vec::new() };
    let ahead = match typed.some("until").filter(|_| what == "buy") {
        Some(_) if !linked => return Err(Stopped::NotPlanned(NotPlanned::season_of_file(NAME))),
        Some(until) => Some(site.rack.season(&day, until).await?),
        None => None,
    };
    let asked = Asked { what, missing, ahead, patience: waits(typed)?, units };
    Ok((computed(move || told_of(&hand, &day, outing, &asked)).await?, linked))
}

/// What is asked of an outing, beside its text.
struct Asked {
    what: String,
    missing: Vec<String>,
    ahead: Option<Ahead>,
    patience: Duration,
    units: Units,
}

fn waits(typed: &Typed) -> Result<Duration, Problem> {
    let seconds = typed.some("patience").map_or(Ok(WAITS[0]), str::parse).ok().filter(|wait| WAITS.contains(wait));
    let unreadable = || Problem::Unreadable(format!("patience: {}", typed.get("patience")));
    seconds.map(Duration::from_secs).ok_or_else(unreadable)
}

async fn computed<T: Send + 'static>(
    what: impl FnOnce() -> Result<T, NotPlanned> + Send + 'static,
) -> Result<T, Stopped> {
    let done = tokio::task::spawn_blocking(what).await.map_err(|why| Problem::Unreadable(why.to_string()))?;
    done.map_err(Stopped::NotPlanned)
}

/// Takes the pieces that the file tells, or else those of the rack.
async fn gathered(site: &Site, day: &Day) -> Result<Outing, Stopped> {
    if !day.file.pieces.is_empty() {
        return day.outing(None, &BTreeMap::new()).map_err(Stopped::NotPlanned);
    }
    let (stock, manuals) = site.rack.stock_for(day).await?;
    day.outing(Some(stock), &manuals).map_err(Stopped::NotPlanned)
}

fn told_of(hand: &InHand, day: &Day, mut outing: Outing, asked: &Asked) -> Result<Done, NotPlanned> {
    let solver = Solver { surroundings: hand, patience: asked.patience };
    Ok(Done::Told(match asked.what.as_str() {
        "pdf" => {
            return Ok(Done::Sheet(pack_list(day, &outing, &outing::choose(solver, &outing)?), "pack-list"));
        }
        "along" => return Ok(Done::Along(Box::new(along(hand, solver, day, &outing)?))),
        "along-pdf" => return Ok(Done::Sheet(along_on_paper(hand, solver, day, &outing, asked.units)?, "take-along")),
        "swap" => {
            let earlier = outing::choose(solver, &outing)?;
            let planned = outing::swap(solver, &mut outing, &earlier, &asked.missing)?;
            swapped(&outing, &earlier, &planned, day)
        }
        "curve" => curve_told(&outing::curve(solver, &outing, &|_, _| {})?),
        "buy" => match &asked.ahead {
            None => day.offers(&outing),
            Some(ahead) => {
                let mended = outing::mended(solver, &ahead.left_of(&outing))?;
                Answer::joined(&[ahead.told(day, &outing, &mended), day.offers(&outing)])
            }
        },
        _ => day.told(&outing, &outing::plan(solver, &outing)?),
    }))
}

/// Which piece goes where, what each is, and the day's rigs.
fn along(hand: &InHand, solver: Solver<'_>, day: &Day, outing: &Outing) -> Result<Along, NotPlanned> {
    let choice = outing::choose(solver, outing)?;
    let taken = (0..outing.needs.len()).flat_map(|need| choice.taken(need)).chain(choice.idle(outing));
    let labels: BTreeSet<String> = taken.map(|taken| taken.label).collect();
    let pieces = if day.file.pieces.is_empty() {
        Pieces::OfRack(labels.into_iter().collect())
    } else {
        Pieces::OfFile(labels.into_iter().map(|label| of_file(day, outing, label)).collect())
    };
    let pack = Some(packed(day, outing, &choice));
    Ok(Along { title: day.file.title.clone(), pack, pieces, rigs: rigs(hand, day)? })
}

fn of_file(day: &Day, outing: &Outing, label: String) -> Told {
    let gear = outing.piece(&label).and_then(|piece| piece.is.gear);
    Told { gear, marking: day.file.markings.get(&label).cloned(), label }
}

/// The same on paper: the pack list, then the card of each rig.
fn along_on_paper(
    hand: &InHand,
    solver: Solver<'_>,
    day: &Day,
    outing: &Outing,
    units: Units,
) -> Result<Sheet, NotPlanned> {
    let pack = pack_list(day, outing, &outing::choose(solver, outing)?);
    let cards = rigs(hand, day)?.iter().map(|rig| rig_card(rig, units)).collect();
    Ok(desk::sheets::take_along(pack, cards))
}

/// The rigs that the day names. What cannot be found has been told by name before: no day is read without its rigs.
fn rigs(hand: &InHand, day: &Day) -> Result<Vec<Checked>, NotPlanned> {
    day.rigs().into_iter().map(|rig| check_file(hand, rig, None).map_err(NotPlanned::Rig)).collect()
}

fn wrongs(not: NotPlanned) -> Vec<Wrong> {
    match not {
        NotPlanned::File(faults) => rig_wrongs(&NotDrawn::Trouble(desk::checking::Trouble::Rig(faults))),
        NotPlanned::Rig(trouble) => rig_wrongs(&NotDrawn::Trouble(trouble)),
        NotPlanned::Unreadable { path, why } => vec![Wrong::new(format!("{path}: {why}"), word("outings-no-file"))],
        NotPlanned::Fault(what, help) => vec![Wrong::new(what, help)],
        NotPlanned::Solve(trouble) => {
            let (what, help) = trouble.words();
            vec![Wrong::new(what, help)]
        }
    }
}
