//! `linkwright wear`: the sheet, the measuring, the forecast, and what a groove leaves of a bar.

use crate::args::{ForecastArgs, MeasureArgs, SectionArgs, WearCommand, WearSheetArgs};
use crate::complaint::Complaint;
use crate::machine::Machine;
use crate::{Status, rack, refuse_other_than_svg, say, tell, write};
use desk::measuring::{Against, Known};
use desk::texts::Read;
use desk::units::Units;
use desk::wear_file::Bar;
use desk::{forecasting, measuring, remaining};

/// Does what was asked.
pub fn run(command: &WearCommand) -> Result<Status, Complaint> {
    match command {
        WearCommand::Sheet(args) => sheet(args),
        WearCommand::Measure(args) => measure(args),
        WearCommand::Forecast(args) => forecast(args),
        WearCommand::Section(args) => section(args),
    }
}

fn sheet(args: &WearSheetArgs) -> Result<Status, Complaint> {
    refuse_other_than_svg(Some(&args.out))?;
    let page = measuring::measuring_sheet(&args.paper).map_err(complaint)?;
    write(&args.out, &page)?;
    say(&measuring::sheet_written(&args.paper, &args.out));
    Ok(Status::Fine)
}

fn measure(args: &MeasureArgs) -> Result<Status, Complaint> {
    refuse_other_than_svg(args.drawing.as_deref())?;
    let known = Known { bar_height_mm: args.bar_height_mm, scale_bar_mm: args.scale_bar_mm, bar_mm: args.bar_mm };
    let looked = measuring::measure_file(&Machine, &args.photo, against(args)?, known)?;
    let drawing = args.drawing.as_deref().zip(measuring::svg(&looked, Units::default()));
    if let Some((path, svg)) = &drawing {
        write(path, svg)?;
    }
    let answer = if args.json { measuring::json(&looked) + "\n" } else { measuring::text(&looked, Read::InTerminal) };
    tell(&answer, drawing.map(|(path, _)| path).filter(|_| !args.json));
    Ok(match (looked.is_refused(), looked.may_be_at_limit()) {
        (true, _) => Status::Fault,
        (_, true) => Status::Over,
        _ => Status::Fine,
    })
}

/// The photo to compare with: a file, or with a store the first photo that was kept of a piece.
fn against(args: &MeasureArgs) -> Result<Option<Against>, Complaint> {
    let Some(name) = &args.against else { return Ok(None) };
    let bytes = match &args.store {
        None => measuring::read_photo(&Machine, name)?,
        Some(store) => rack::with(store, None, async |rack| rack.first_photo(name).await)?,
    };
    Ok(Some(Against { name: name.clone(), bytes }))
}

fn forecast(args: &ForecastArgs) -> Result<Status, Complaint> {
    refuse_other_than_svg(args.drawing.as_deref())?;
    let forecasted = forecasting::forecast_file(&Machine, &args.file, args.piece.as_deref())?;
    if let Some(path) = &args.drawing {
        write(path, &forecasting::svg(&forecasted, Units::default()))?;
    }
    let answer = if args.json { forecasting::json(&forecasted) + "\n" } else { forecasting::text(&forecasted) };
    tell(&answer, args.drawing.as_deref().filter(|_| !args.json));
    Ok(if forecasted.is_at_limit() { Status::Over } else { Status::Fine })
}

fn section(args: &SectionArgs) -> Result<Status, Complaint> {
    let bar = Bar::of_mm(args.bar_mm, args.flat_width_mm, args.inside_radius_mm);
    let answer = if args.json {
        remaining::json(&bar, args.groove_mm).map(|json| json + "\n")
    } else {
        remaining::text(&bar, args.groove_mm)
    };
    say(&answer.map_err(complaint)?);
    Ok(Status::Fine)
}

fn complaint((what, help): (String, String)) -> Complaint {
    Complaint::plain(what, Some(help))
}
