//! Outings: what a day needs, which pieces go for it, swaps by hand, the day itself and what it did to the pieces.
//!
//! ```text
//!   fields, text and choice come with a form ─▶ at hand (changed as the form says) ─▶ day and outing ─▶ answer ─▶ page
//! ```
//! Nothing is kept on the server but what goes out: that stands beside its entry in the log.

mod after;
mod at_hand;
mod fields;
mod form;
mod hand;
mod told;

use crate::in_hand::InHand;
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::rack::take_along::{self, Along, Pieces, Told};
use crate::rigs::EXAMPLES;
use crate::typed::Typed;
use crate::units::{Chosen, Units};
use crate::{Shared, Site, line, sheets, word};
use at_hand::{AtHand, NAME};
use axum::Router;
use axum::extract::Query;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use desk::checking::{Checked, check_file};
use desk::outing::by_hand::against;
use desk::outing::{self, Day, Kept, NotPlanned, Planned, curve_told, pack_list, packed, swapped};
use desk::rack::Answer;
use desk::rack::labels::expand;
use desk::rack::season::Ahead;
use desk::sheets::{Sheet, rig_card};
use desk::solving::Solver;
pub use hand::swap;
use maud::{Markup, html};
use plan::choice::Choice;
use plan::outing::Outing;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Duration;

/// An outing of an invented school: name in the address, and text.
const EXAMPLE: (&str, &str) = ("outing-sea-cliff", include_str!("../../../examples/outing-sea-cliff.toml"));

/// How long the solver may be waited for, s; the first where nobody chose.
const WAITS: [u64; 4] = [30, 5, 120, 600];

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/outings", get(begun).post(asked))
        .route("/outings/out", post(after::out))
        .route("/outings/close", post(after::close))
}

/// What is asked of an outing.
struct Question {
    what: String,
    missing: Vec<String>,
    ahead: Option<Ahead>,
    patience: Duration,
    units: Units,
}

/// What came of it.
enum Done {
    /// The choice as it stands now, where there is one, with what could be swapped; and an answer beside it.
    Told(Box<told::Said>),
    /// And what its file is called.
    Sheet(Sheet, &'static str),
    Along(Box<Along>),
}

/// The page of outings, or one: the example, an empty one, or one that went out.
async fn begun(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    match (asked.some("example"), asked.some("entry"), asked.some("own")) {
        (Some(name), ..) if name == EXAMPLE.0 => {
            draw(&site, &AtHand::of(EXAMPLE.1), &Typed::default(), &[], None).await
        }
        (Some(name), ..) => Err(Problem::NoSuchPage(name.to_owned())),
        (_, Some(entry), _) => after::opened(&site, entry).await,
        (.., Some(_)) => draw(&site, &AtHand::default(), &Typed::default(), &[], None).await,
        _ => first(&site).await,
    }
}

/// Where outings are found again and begun.
async fn first(site: &Site) -> Result<Markup, Problem> {
    let out = after::out_now(site).await?;
    Ok(page(
        Room::Outings,
        &word("nav-outings"),
        html! {
            p.lead { (word("outings-lead")) }
            (out)
            (form::kept(site))
            section { h2 { (word("outings-begin")) } (form::begin(site)) }
            section {
                h2 { (word("outings-other-ways")) }
                ul.rows {
                    li { a href=(crate::layout::address("/outings", &[("example", EXAMPLE.0)])) { (title(EXAMPLE.1)) } " " span.hint { (word("outings-example")) } }
                    li { a href="/outings?own=yes" { (word("outings-own")) } }
                }
            }
            script type="module" src="/assets/outing.js" {}
        },
    ))
}

/// The title that a file gives itself.
fn title(text: &str) -> String {
    outing::file::read(text, NAME).map(|file| file.title).unwrap_or_default()
}

/// The page of one outing.
async fn draw(
    site: &Site,
    at_hand: &AtHand,
    typed: &Typed,
    wrong: &[Wrong],
    said: Option<&told::Said>,
) -> Result<Markup, Problem> {
    let title = Some(title(&at_hand.kept.text)).filter(|title| !title.is_empty());
    let is_rack_empty = is_empty(site).await?;
    Ok(page(
        Room::Outings,
        &title.unwrap_or_else(|| word("nav-outings")),
        html! {
            @if !wrong.is_empty() { (crate::problem::told(wrong)) }
            @if let Some(said) = said { (told::told(said)) }
            (form::draw(site, at_hand, typed, is_rack_empty, said))
            script type="module" src="/assets/outing.js" {}
        },
    ))
}

/// Whether nothing is on the rack that could go along.
async fn is_empty(site: &Site) -> Result<bool, Problem> {
    let filter = desk::rack::show::Filter { limit: 1, ..Default::default() };
    Ok(site.rack.list(&filter).await?.json["pieces"].as_array().is_none_or(Vec::is_empty))
}

async fn asked(Shared(site): Shared, Chosen(units): Chosen, typed: Typed) -> Result<Response, Problem> {
    let (at_hand, mut wrong) = AtHand::typed(&typed);
    if let Err(faults) = outing::file::read(&at_hand.kept.text, NAME) {
        wrong.extend(Problem::from(NotPlanned::File(faults)).wrongs());
    }
    let is_to_plan = form::PLANS.contains(&typed.get("what")) || at_hand.kept.choice.is_some();
    if !wrong.is_empty() || !is_to_plan {
        return Ok(draw(&site, &at_hand, &typed, &wrong, None).await?.into_response());
    }
    answer(&site, at_hand, &typed, units).await
}

/// The page, or the paper, that says what was asked.
async fn answer(site: &Site, mut at_hand: AtHand, typed: &Typed, units: Units) -> Result<Response, Problem> {
    match answered(site, &at_hand, typed, units).await {
        Ok(Done::Told(said)) => {
            at_hand.kept.choice.clone_from(&said.kept);
            Ok(draw(site, &at_hand, typed, &said.wrong, Some(&said)).await?.into_response())
        }
        Ok(Done::Sheet(sheet, name)) => sheets::pdf(site, units.sheet(sheet), name).await,
        Ok(Done::Along(along)) => take_along::file(site, &along, units).await,
        Err(problem) => {
            let wrong = against_form(problem)?;
            Ok(draw(site, &at_hand, typed, &wrong, None).await?.into_response())
        }
    }
}

/// What the desk says against what was typed; other problems are no matter of the form.
fn against_form(problem: Problem) -> Result<Vec<Wrong>, Problem> {
    match problem {
        Problem::NotPlanned(_) => Ok(problem.wrongs()),
        other => crate::form::against(other),
    }
}

/// An outing that was read: its day, its pieces, and the way to files and solver.
struct Read {
    hand: Arc<InHand>,
    day: Day,
    outing: Outing,
    /// Whether the day is over, or under way: then its choice is no matter of what is on the rack now.
    is_after: bool,
}

impl Read {
    /// Checks of rigs take their time: they run beside the server.
    async fn new(site: &Site, at_hand: &AtHand, is_after: bool) -> Result<Self, Problem> {
        let examples = EXAMPLES.iter().map(|(name, text)| (format!("{name}.toml"), (*text).to_owned()));
        let mut files: Vec<_> = examples.chain(at_hand.kept.rigs.iter().cloned()).collect();
        files.push((NAME.to_owned(), at_hand.kept.text.clone()));
        let hand = Arc::new(InHand { files, outside: site.outside });
        let beside = Arc::clone(&hand);
        let day = computed(move || Day::read(&*beside, NAME, None)).await?;
        let outing = if day.file.pieces.is_empty() {
            let (stock, manuals) = site.rack.stock_for(&day).await?;
            let made = if is_after { Day::outing_after } else { Day::outing };
            made(&day, Some(stock), &manuals)
        } else {
            day.outing(None, &BTreeMap::new())
        };
        Ok(Self { hand, day, outing: outing?, is_after })
    }

    /// Whether its pieces stand on the rack.
    const fn is_of_rack(&self) -> bool {
        self.day.file.pieces.is_empty()
    }

    /// What was chosen before, where it still stands.
    fn chosen(&self, kept: Option<&Kept>) -> Result<Option<Choice>, NotPlanned> {
        let Some(kept) = kept else { return Ok(None) };
        let choice = kept.choice(&self.outing, NAME)?;
        let why = if self.is_after { String::new() } else { against(&self.outing, &choice).join(" ") };
        if why.is_empty() { Ok(Some(choice.weighed(&self.outing))) } else { Err(NotPlanned::fallen(&why)) }
    }
}

/// The solver takes its time as well.
async fn answered(site: &Site, at_hand: &AtHand, typed: &Typed, units: Units) -> Result<Done, Problem> {
    let what = typed.get("what").to_owned();
    let read = Read::new(site, at_hand, at_hand.entry.is_some()).await?;
    let missing = match typed.some("missing").filter(|_| what == "swap") {
        Some(missing) => expand(missing)?,
        None => Vec::new(),
    };
    let ahead = match typed.some("until").filter(|_| what == "buy") {
        Some(_) if !read.is_of_rack() => return Err(NotPlanned::season_of_file(NAME).into()),
        Some(until) => Some(site.rack.season(&read.day, until).await?),
        None => None,
    };
    let question = Question { what, missing, ahead, patience: waits(typed)?, units };
    let kept = at_hand.kept.choice.clone();
    let swaps = hand::typed(typed)?;
    computed(move || told_of(read, kept.as_ref(), &swaps, &question)).await
}

fn waits(typed: &Typed) -> Result<Duration, Problem> {
    let seconds = typed.some("patience").map_or(Ok(WAITS[0]), str::parse).ok().filter(|wait| WAITS.contains(wait));
    let unreadable = || Problem::Unreadable(format!("patience: {}", typed.get("patience")));
    seconds.map(Duration::from_secs).ok_or_else(unreadable)
}

async fn computed<T: Send + 'static>(
    what: impl FnOnce() -> Result<T, NotPlanned> + Send + 'static,
) -> Result<T, Problem> {
    let done = tokio::task::spawn_blocking(what).await.map_err(|why| Problem::Unreadable(why.to_string()))?;
    Ok(done?)
}

fn told_of(
    mut read: Read,
    kept: Option<&Kept>,
    swaps: &[outing::by_hand::ByHand],
    asked: &Question,
) -> Result<Done, NotPlanned> {
    let hand = Arc::clone(&read.hand);
    let solver = Solver { surroundings: &*hand, patience: asked.patience };
    let anew = asked.what == "plan";
    let before = if anew { None } else { read.chosen(kept)? };
    let choice = |read: &Read| before.clone().map_or_else(|| outing::choose(solver, &read.outing), Ok);
    Ok(Done::Told(Box::new(match asked.what.as_str() {
        "pdf" => return Ok(Done::Sheet(pack_list(&read.day, &read.outing, &choice(&read)?), "pack-list")),
        "along" => return Ok(Done::Along(Box::new(along(&read, &choice(&read)?)?))),
        "along-pdf" => return Ok(Done::Sheet(along_on_paper(&read, &choice(&read)?, asked.units)?, "take-along")),
        "swap" => {
            let earlier = choice(&read)?;
            let planned = outing::swap(solver, &mut read.outing, &earlier, &asked.missing)?;
            let answer = swapped(&read.outing, &earlier, &planned, &read.day);
            told::Said::of(&read, &planned.choice, answer)
        }
        "curve" => {
            let curve = curve_told(&outing::curve(solver, &read.outing, &|_, _| {})?);
            told::Said::beside(&read, before.as_ref(), curve, asked.units)
        }
        "buy" => {
            let offers = read.day.offers(&read.outing);
            let answer = match &asked.ahead {
                None => offers,
                Some(ahead) => {
                    let mended = outing::mended(solver, &ahead.left_of(&read.outing))?;
                    Answer::joined(&[ahead.told(&read.day, &read.outing, &mended), offers])
                }
            };
            told::Said::beside(&read, before.as_ref(), answer, asked.units)
        }
        "look" | "take" => {
            let before = before.ok_or_else(NotPlanned::unchosen)?;
            hand::judged(&read, &before, swaps, asked.what == "take")?
        }
        "plan" => {
            let planned = outing::plan(solver, &read.outing)?;
            told::Said::of(&read, &planned.choice, read.day.told(&read.outing, &planned))
        }
        _ => told::Said::again(&read, &before.ok_or_else(NotPlanned::unchosen)?),
    })))
}

/// A choice that nobody computed anew, as it is told.
fn as_planned(choice: &Choice) -> Planned {
    Planned { choice: choice.clone(), fix: None, runners_up: Vec::new(), unasked: None }
}

/// Which piece goes where, what each is, and the day's rigs.
fn along(read: &Read, choice: &Choice) -> Result<Along, NotPlanned> {
    let Read { hand, day, outing, .. } = read;
    let taken = (0..outing.needs.len()).flat_map(|need| choice.taken(need)).chain(choice.idle(outing));
    let labels: BTreeSet<String> = taken.map(|taken| taken.label).collect();
    let pieces = if read.is_of_rack() {
        Pieces::OfRack(labels.into_iter().collect())
    } else {
        Pieces::OfFile(labels.into_iter().map(|label| of_file(day, outing, label)).collect())
    };
    let pack = Some(packed(day, outing, choice));
    Ok(Along { title: day.file.title.clone(), pack, pieces, rigs: rigs(hand, day)? })
}

fn of_file(day: &Day, outing: &Outing, label: String) -> Told {
    let gear = outing.piece(&label).and_then(|piece| piece.is.gear);
    Told { gear, marking: day.file.markings.get(&label).cloned(), label }
}

/// The same on paper: the pack list, then the card of each rig.
fn along_on_paper(read: &Read, choice: &Choice, units: Units) -> Result<Sheet, NotPlanned> {
    let pack = pack_list(&read.day, &read.outing, choice);
    let cards = rigs(&read.hand, &read.day)?.iter().map(|rig| rig_card(rig, units)).collect();
    Ok(desk::sheets::take_along(pack, cards))
}

/// The rigs that the day names. What cannot be found has been told by name before: no day is read without its rigs.
fn rigs(hand: &InHand, day: &Day) -> Result<Vec<Checked>, NotPlanned> {
    day.rigs().into_iter().map(|rig| check_file(hand, rig, None).map_err(NotPlanned::Rig)).collect()
}

/// How many of what is short, in words.
fn short(count: u32) -> String {
    line("outings-short", count)
}
