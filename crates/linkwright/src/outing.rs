//! `linkwright outing`: named pieces for each duty of a day, and what follows.

use crate::args::{OutingArgs, OutingCommand};
use crate::complaint::Complaint;
use crate::machine::Machine;
use crate::{Status, rack, say};
use desk::outing::{self, Day, Kept, NotPlanned, curve_told, pack_list, swapped};
use desk::rack::Answer;
use desk::rack::close::Past;
use desk::rack::labels::expand;
use desk::sheets::Sheet;
use desk::solving::Solver;
use plan::choice::Choice;
use plan::outing::{Outing, Piece};
use std::collections::BTreeMap;
use std::io::{IsTerminal, Write};
use trade::duty::Manual;

/// Does what was asked.
pub fn run(command: &OutingCommand) -> Result<Status, Complaint> {
    let (answer, args) = match command {
        OutingCommand::Plan(args) => {
            let (day, outing) = gather(args)?;
            (day.told(&outing, &outing::plan(solver(args), &outing)?), args)
        }
        OutingCommand::Swap { outing: args, missing, choice } => {
            let (day, mut outing) = gather(args)?;
            let earlier = chosen(args, &outing, choice.as_deref())?;
            let planned = outing::swap(solver(args), &mut outing, &earlier, &expand(missing)?)?;
            (swapped(&outing, &earlier, &planned, &day), args)
        }
        OutingCommand::Curve(args) => {
            let (_, outing) = gather(args)?;
            (curve_told(&outing::curve(solver(args), &outing, &progress)?), args)
        }
        OutingCommand::Close { outing: args, choice, stayed, writer } => {
            (close(args, choice.as_deref(), stayed.as_deref(), writer.as_deref())?, args)
        }
        OutingCommand::Buy { outing: args, until } => {
            let (day, outing) = gather(args)?;
            let offers = day.offers(&outing);
            let Some(until) = until else { return told(&offers, args) };
            if args.store.is_none() && !day.file.pieces.is_empty() {
                return Err(NotPlanned::season_of_file(&args.file).into());
            }
            let place = rack::store_place(args.store.as_deref())?;
            let ahead = rack::with(&place, None, async |rack| rack.season(&day, until).await)?;
            let mended = outing::mended(solver(args), &ahead.left_of(&outing))?;
            (Answer::joined(&[ahead.told(&day, &outing, &mended), offers]), args)
        }
    };
    told(&answer, args)
}

fn told(answer: &Answer, args: &OutingArgs) -> Result<Status, Complaint> {
    say(&answer.print(args.json));
    Ok(if answer.counts { Status::Over } else { Status::Fine })
}

fn solver(args: &OutingArgs) -> Solver<'static> {
    Solver { surroundings: &Machine, patience: args.patience.unwrap_or(Solver::PATIENCE) }
}

/// The pack list of an outing.
pub fn sheet(args: &OutingArgs, choice: Option<&str>) -> Result<Sheet, Complaint> {
    let (day, outing) = gather(args)?;
    Ok(pack_list(&day, &outing, &chosen(args, &outing, choice)?))
}

/// Reads an outing, and takes the pieces of the rack that is named; without a name, those that the file tells, or else those of the rack.
fn gather(args: &OutingArgs) -> Result<(Day, Outing), Complaint> {
    gather_as(args, Day::outing)
}

/// How a day's outing is made of a stock.
type Made = fn(&Day, Option<Vec<Piece>>, &BTreeMap<String, Manual>) -> Result<Outing, NotPlanned>;

fn gather_as(args: &OutingArgs, made: Made) -> Result<(Day, Outing), Complaint> {
    let day = Day::read(&Machine, &args.file, args.policy.as_deref())?;
    if args.store.is_none() && !day.file.pieces.is_empty() {
        let outing = made(&day, None, &BTreeMap::new())?;
        return Ok((day, outing));
    }
    let place = rack::store_place(args.store.as_deref())?;
    let (stock, manuals) = rack::with(&place, None, async |rack| rack.stock_for(&day).await)?;
    let outing = made(&day, Some(stock), &manuals)?;
    Ok((day, outing))
}

fn chosen(args: &OutingArgs, outing: &Outing, kept: Option<&str>) -> Result<Choice, Complaint> {
    Ok(match kept {
        None => outing::choose(solver(args), outing)?,
        Some(path) => Kept::read(&Machine, path)?.choice(outing, path)?,
    })
}

fn close(
    args: &OutingArgs,
    choice: Option<&str>,
    stayed: Option<&str>,
    writer: Option<&str>,
) -> Result<Answer, Complaint> {
    // What was chosen before may be out by now; what is chosen only now is chosen from what is there.
    let (day, outing) = gather_as(args, if choice.is_some() { Day::outing_after } else { Day::outing })?;
    let choice = chosen(args, &outing, choice)?;
    let stayed = stayed.map_or_else(|| Ok(Vec::new()), expand)?;
    let place = rack::store_place(args.store.as_deref())?;
    let past = Past { day: &day, outing: &outing, choice: &choice, stayed: &stayed, back: None };
    rack::with(&place, writer, async |rack| rack.close_outing(&past).await)
}

/// How far it is, on a terminal: a few steps that each take long, where the bar of the rack counts many short ones.
fn progress(done: usize, of: usize) {
    let mut out = std::io::stderr();
    if out.is_terminal() {
        let end = if done == of { "\n" } else { "" };
        let _ = write!(out, "\r{done} / {of}{end}");
    }
}
