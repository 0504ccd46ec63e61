//! The commands about the rack: arguments in, words out. What happens is in `desk::rack`.

pub mod args;
mod flow;
mod log;
mod password;

use crate::args::Command;
use crate::complaint::Complaint;
use crate::machine::Machine;
use args::{Account, Common, Import, Incident, Kit, List, People, Policy, Recall, Settle};
use desk::Surroundings;
use desk::rack::fields::{Field, Told, day};
use desk::rack::inspect::{found, list_answer};
use desk::rack::sheet::Columns;
use desk::rack::show::Filter;
use desk::rack::{Answer, Fault, Rack, Refused, keep};
use register::event::{self, Grade};
use std::future::Future;
use trade::gear::Gear;
use trade::rack::Occasion;

/// How many pieces stand on the page of a model.
const MODELS_PIECES: u32 = 40;

type Result<T = Answer> = std::result::Result<T, Refused>;

/// Runs a command about the rack; gives the text to print, and whether a script should stop at it.
///
/// # Errors
/// Where it was refused; then nothing was written.
pub fn run(command: &Command) -> std::result::Result<(String, bool), Complaint> {
    let Some(common) = common(command) else { unreachable!("only commands about the rack come here") };
    let place = place(common)?;
    let writer = common.writer.clone().or_else(|| std::env::var("LINKWRIGHT_WRITER").ok());
    let answer = match command {
        Command::Restore(args) => blocked(keep::restored(&args.file, &place, args.expect.as_deref())),
        _ => with(&place, writer.as_deref(), async |rack| of(rack, command, &place).await),
    }?;
    Ok((answer.print(common.json), answer.counts))
}

/// Opens the store at a place for what is done with its rack, and closes it.
pub fn with<T>(
    place: &str,
    writer: Option<&str>,
    what: impl AsyncFnOnce(&Rack<'_>) -> Result<T>,
) -> std::result::Result<T, Complaint> {
    blocked(async {
        let rack = Rack::open(place, &Machine, writer).await?;
        let done = what(&rack).await;
        rack.close().await;
        done
    })
}

/// Runs what waits for the store.
fn blocked<T>(what: impl Future<Output = Result<T>>) -> std::result::Result<T, Complaint> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime = runtime.map_err(|why| Complaint::plain(why.to_string(), None))?;
    runtime.block_on(what).map_err(Complaint::from)
}

const fn common(command: &Command) -> Option<&Common> {
    Some(match command {
        Command::Rack(on) => &on.common,
        Command::Log(on) => &on.common,
        Command::Kit(on) => &on.common,
        Command::Incident(on) => &on.common,
        Command::Recall(on) => &on.common,
        Command::Account(on) => &on.common,
        Command::People(on) => &on.common,
        Command::Policy(on) => &on.common,
        Command::Inspect(args) => &args.common,
        Command::Due(args) => &args.common,
        Command::Verify(args) => &args.common,
        Command::Backup(args) | Command::Restore(args) | Command::Export(args) => &args.common,
        Command::Import(args) => &args.common,
        _ => return None,
    })
}

fn place(common: &Common) -> std::result::Result<String, Complaint> {
    store_place(common.store.as_deref())
}

/// The store that is named, or that of the environment, or a file in the user's data folder.
pub fn store_place(named: Option<&str>) -> std::result::Result<String, Complaint> {
    if let Some(place) = named.map(str::to_owned).or_else(|| std::env::var("LINKWRIGHT_STORE").ok()) {
        return Ok(place);
    }
    let folder = Machine::data_folder().map_err(|why| {
        Complaint::plain(
            format!("there is no folder for the rack: {why}"),
            Some("name one with --store FILE".to_owned()),
        )
    })?;
    Ok(folder.join("rack.db").to_string_lossy().into_owned())
}

async fn of(rack: &Rack<'_>, command: &Command, place: &str) -> Result {
    match command {
        Command::Rack(on) => pieces(rack, &on.what).await,
        Command::Log(on) => log::run(rack, &on.what).await,
        Command::Inspect(args) => inspect(rack, args).await,
        Command::Due(args) => match &args.ics {
            Some(path) => rack.due_calendar(args.within, args.site.as_deref(), path).await,
            None => rack.due(args.within, args.site.as_deref(), args.limit).await,
        },
        Command::Kit(on) => kit(rack, &on.what).await,
        Command::Incident(on) => incident(rack, &on.what).await,
        Command::Recall(on) => recall(rack, &on.what).await,
        Command::Account(on) => match &on.what {
            Account::Add { name } => rack.add_account(name, &password::asked()?).await,
            Account::List => rack.accounts().await,
            Account::Password { name } => rack.reset_password(name, &password::asked()?).await,
            Account::SignOut { name } => rack.end_sign_ins(name).await,
            Account::Remove { name } => rack.remove_account(name).await,
        },
        Command::People(on) => match &on.what {
            People::List => rack.people().await,
            People::Add { name } => rack.add_person(name).await,
            People::Allow { name, right, until } => rack.allow(name, right, until).await,
            People::Erase { name, also } => rack.erase(name, also).await,
        },
        Command::Policy(on) => match &on.what {
            Policy::Show => rack.policy().await,
            Policy::Change { row, values, source, on } => {
                let pair = |text: &String| {
                    let (name, value) = text.split_once('=').unwrap_or((text, ""));
                    (name.to_owned(), value.to_owned())
                };
                let values: Vec<_> = values.iter().map(pair).collect();
                rack.change_policy(row, &values, source.as_deref(), on.as_deref()).await
            }
            Policy::Set { file, on } => rack.set_policy(file, on.as_deref()).await,
        },
        Command::Verify(args) => rack.verify(args.expect.as_deref()).await,
        Command::Backup(args) => rack.backup(&args.file).await,
        Command::Export(args) => rack.export(&args.file).await,
        Command::Import(args) => import(rack, args, place).await,
        _ => unreachable!("only commands about the rack come here"),
    }
}

async fn pieces(rack: &Rack<'_>, what: &args::Rack) -> Result {
    match what {
        args::Rack::List(list) => rack.list(&filter(list)).await,
        args::Rack::Show { label } => rack.show(label).await,
        args::Rack::Add { labels, on, tell } => rack.add(labels, &tell.told()?, on.as_deref()).await,
        args::Rack::Describe { labels, on, tell } => rack.describe(labels, &tell.told()?, on.as_deref()).await,
        args::Rack::Divide { label, into, scrap, on } => {
            let shares = into.iter().map(|share| self::share(share)).collect::<std::result::Result<Vec<_>, _>>()?;
            rack.divide(label, &shares, scrap, on.as_deref()).await
        }
        args::Rack::Replace { label, part, new, old, made, on } => {
            let made = made.as_deref().map(desk::rack::fields::dated).transpose()?;
            rack.replace(label, part, old.as_deref(), new.as_deref(), made, on.as_deref()).await
        }
        args::Rack::Models { name: None, .. } => rack.models().await,
        args::Rack::Models { name: Some(name), maker } => {
            let model = rack.model_named(name, maker.as_deref()).await?;
            rack.show_model(model, None, MODELS_PIECES).await
        }
        args::Rack::Model { file } => rack.describe_model(file).await,
        args::Rack::Fit { device, other, mode } => rack.fit(device, other, mode.as_deref()).await,
        args::Rack::Rebuild => rack.rebuild().await,
    }
}

fn filter(list: &List) -> Filter {
    Filter { text: list.words.join(" "), after: list.after.clone(), limit: list.limit, ..list.only.filter() }
}

/// A share: a label, and after `=` a length in m or, with `x` before it, a count.
fn share(text: &str) -> std::result::Result<(String, Told), Fault> {
    let mut told = Told::default();
    let (label, size) = text.split_once('=').map_or((text, None), |(label, size)| (label, Some(size)));
    match size.map(|size| (size, size.strip_prefix('x'))) {
        Some((_, Some(count))) => Field::Count.put(&mut told, count)?,
        Some((length, None)) => Field::Length.put(&mut told, length)?,
        None => {}
    }
    Ok((label.to_owned(), told))
}

async fn inspect(rack: &Rack<'_>, args: &args::Inspect) -> Result {
    let occasion = Occasion::from_code(&args.occasion)
        .ok_or_else(|| Fault::no_such_word(&args.occasion, Occasion::ALL.iter().map(|occasion| occasion.code())))?;
    if args.list {
        let gear = Gear::from_code(&args.labels)
            .ok_or_else(|| Fault::no_such_word(&args.labels, Gear::ALL.iter().map(|gear| gear.code())))?;
        return Ok(list_answer(gear, occasion));
    }
    let grades =
        [(&args.watch, Grade::Watch), (&args.defect, Grade::Defect), (&args.not_looked_at, Grade::NotLookedAt)];
    let remarks: Vec<_> =
        grades.iter().flat_map(|(points, grade)| points.iter().map(|point| found(point, *grade))).collect();
    if args.passed || !remarks.is_empty() {
        return rack.inspect(&args.labels, occasion, &remarks, &args.clears, args.on.as_deref()).await;
    }
    flow::run(rack, &args.labels, occasion, args.on.as_deref()).await
}

async fn kit(rack: &Rack<'_>, what: &Kit) -> Result {
    match what {
        Kit::List { late, after, limit } => rack.list_kits(*late, after.as_deref(), *limit).await,
        Kit::Show { label } => rack.show_kit(label).await,
        Kit::Set { label, contents } => rack.set_kit(label, contents).await,
        Kit::Out { label, to, back } => rack.kit_out(label, to.as_deref(), back.as_deref()).await,
        Kit::Back { label, short, wet } => rack.kit_back(label, short.as_deref(), wet.as_deref()).await,
    }
}

async fn incident(rack: &Rack<'_>, what: &Incident) -> Result {
    match what {
        Incident::List => rack.list_cases(false).await,
        Incident::Show { case } => rack.show_case(*case).await,
        Incident::Open { labels, what, person, on } => rack.open_incident(labels, what, person, on.as_deref()).await,
        Incident::Settle(Settle { case, labels, outcome }) => rack.settle(*case, labels, outcome).await,
        Incident::Close { case } => rack.close_case(*case).await,
    }
}

async fn recall(rack: &Rack<'_>, what: &Recall) -> Result {
    match what {
        Recall::List => rack.list_cases(true).await,
        Recall::Show { case } => rack.show_case(*case).await,
        Recall::Open { notice, gear, model, maker, made, batch, serials, on, dry_run } => {
            let model = match model {
                Some(name) => Some(rack.model_named(name, maker.as_deref()).await?),
                None => None,
            };
            let made = made.as_deref().map(span).transpose()?;
            let made = made.map(|(first, last)| Ok::<_, Fault>((day(&first)?, day(&last)?))).transpose()?;
            let serials = serials.as_deref().map(span).transpose()?;
            let (notice, gear, batches) = (notice.clone(), gear.clone(), batch.clone());
            let recall = event::Recall { notice, gear, model, made, batches, serials };
            if *dry_run { rack.preview_recall(recall).await } else { rack.open_recall(recall, on.as_deref()).await }
        }
        Recall::Settle(Settle { case, labels, outcome }) => rack.settle(*case, labels, outcome).await,
        Recall::Close { case } => rack.close_case(*case).await,
    }
}

fn span(text: &str) -> std::result::Result<(String, String), Fault> {
    let ends = text.split_once("..").map(|(first, last)| (first.trim().to_owned(), last.trim().to_owned()));
    ends.ok_or_else(|| Fault::new("no-span", &[("value", text.to_owned())]))
}

/// Takes the map that is remembered beside the store, and what is told of it now; remembers both once the sheet is read.
async fn import(rack: &Rack<'_>, args: &Import, place: &str) -> Result {
    let beside = columns_beside(place);
    let kept = if Machine.exists(&beside) { Machine.read(&beside).unwrap_or_default() } else { String::new() };
    let mut columns = Columns::read(&kept)?;
    for map in &args.map {
        let (heading, field) = map.rsplit_once('=').unwrap_or((map, ""));
        columns.add(heading, field)?;
    }
    let answer = rack.import(&args.file, &columns, args.on.as_deref(), args.dry_run).await?;
    if !args.map.is_empty() {
        Machine
            .write(&beside, &columns.text())
            .map_err(|why| Fault::new("unwritable", &[("path", beside.clone()), ("why", why.to_string())]))?;
    }
    Ok(answer)
}

fn columns_beside(place: &str) -> String {
    if place.contains("://") {
        let folder = Machine::data_folder().unwrap_or_default();
        return folder.join("columns.toml").to_string_lossy().into_owned();
    }
    format!("{place}.columns.toml")
}
