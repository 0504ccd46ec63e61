//! `linkwright sheet`: sheets as PDF, printed by the helper program.

use crate::args::{OutingArgs, RackSheet, SheetArgs, SheetKind};
use crate::complaint::Complaint;
use crate::machine::Machine;
use crate::refuse_other_than;
use crate::{outing, rack};
use desk::Surroundings;
use desk::rack::labels::expand;
use desk::rack::on_paper::Which;
use desk::sheets::{
    LabelPaper, Paper, Pictured, Print, Sheet, labels, measuring_sheet, print, rig_card, teaching_card,
};
use std::collections::BTreeMap;
use std::path::Path;
use trade::connector::{Gate, Keeper, Lock, Nose, Shape};

/// Prints the sheet that was asked for.
pub fn run(args: &SheetArgs, say: impl Fn(&str)) -> Result<(), Complaint> {
    refuse_other_than(&args.out, ".pdf", "sheet")?;
    let paper = Paper::from_name(&args.paper).ok_or_else(|| wrong("paper", &args.paper, "A4 or Letter"))?;
    let sheet = made(&args.kind, paper)?;
    let order = Print { paper, date: date(args)?, templates: templates(&args.template)?, fonts: args.font.clone() };
    let printed = print(&Machine, &sheet, &order)
        .map_err(|trouble| Complaint::plain(trouble.to_string(), Some(trouble.help())))?;
    Machine.write_bytes(&args.out, &printed.pdf).map_err(|why| Complaint::unwritable(&args.out, &why))?;
    let pages = if printed.pages == 1 { "1 page".to_owned() } else { format!("{} pages", printed.pages) };
    say(&format!("Written: {} ({pages})\n", args.out));
    Ok(())
}

fn made(kind: &SheetKind, paper: Paper) -> Result<Sheet, Complaint> {
    match kind {
        SheetKind::RigCard { file, policy, units } => {
            Ok(rig_card(&desk::checking::check_file(&Machine, file, policy.as_deref())?, units.chosen()))
        }
        SheetKind::TeachingCard { marking, shape, gate, lock, nose, keeper } => {
            let pictured = Pictured {
                shape: coded("shape", shape, Shape::ALL, Shape::code)?,
                gate: coded("gate", gate, Gate::ALL, Gate::code)?,
                lock: coded("lock", lock, Lock::ALL, Lock::code)?,
                nose: coded("nose", nose, Nose::ALL, Nose::code)?,
                keeper: coded("keeper", keeper, Keeper::ALL, Keeper::code)?,
            };
            Ok(teaching_card(marking, pictured))
        }
        SheetKind::Labels { labels: names, opens, size_mm, across, from_mm, gap_mm } => {
            let [width_mm, height_mm] = pair("size-mm", size_mm)?;
            let [left_mm, top_mm] = pair("from-mm", from_mm)?;
            let [gap_across_mm, gap_down_mm] = pair("gap-mm", gap_mm)?;
            let label_paper =
                LabelPaper { width_mm, height_mm, across: *across, left_mm, top_mm, gap_across_mm, gap_down_mm };
            let names = names.iter().map(|name| expand(name)).collect::<Result<Vec<_>, _>>()?.concat();
            labels(&names, opens, label_paper, paper.width_mm()).map_err(|why| Complaint::plain(why.to_string(), None))
        }
        SheetKind::MeasuringSheet => {
            measuring_sheet(paper).map_err(|(what, right)| Complaint::plain(what, Some(right)))
        }
        SheetKind::OfTheRack(RackSheet::PackList { from, outing: Some(file), choice, units, .. }) => {
            let args =
                OutingArgs { file: file.clone(), store: from.store.clone(), policy: None, patience: None, json: false };
            Ok(units.chosen().sheet(outing::sheet(&args, choice.as_deref())?))
        }
        SheetKind::OfTheRack(kind) => from_the_rack(kind),
    }
}

fn from_the_rack(kind: &RackSheet) -> Result<Sheet, Complaint> {
    let place = rack::store_place(kind.from().store.as_deref())?;
    rack::with(&place, None, async |rack| match kind {
        RackSheet::InspectionRecord { labels, only, .. } if labels.is_empty() => {
            rack.inspection_record(&Which::Filter(only.filter())).await
        }
        RackSheet::InspectionRecord { labels, .. } => rack.inspection_record(&Which::Labels(labels.join(","))).await,
        RackSheet::IncidentRecord { case, .. } => rack.case_record(*case, false).await,
        RackSheet::RecallList { case, .. } => rack.case_record(*case, true).await,
        RackSheet::PackList { kit, people, units, .. } => {
            let list = rack.pack_list(kit.as_deref().unwrap_or_default(), *people).await?;
            Ok(units.chosen().sheet(list))
        }
    })
}

fn coded<T: Copy>(key: &str, word: &str, all: &[T], code: fn(T) -> &'static str) -> Result<T, Complaint> {
    let codes = all.iter().map(|value| code(*value)).collect::<Vec<_>>().join(", ");
    all.iter().copied().find(|value| code(*value) == word).ok_or_else(|| wrong(key, word, &codes))
}

/// Two lengths, written `38.1x21.2`.
fn pair(key: &str, text: &str) -> Result<[f64; 2], Complaint> {
    let length = |text: &str| text.trim().parse::<f64>().ok().filter(|length| length.is_finite() && *length >= 0.0);
    let both = text.split_once('x').and_then(|(a, b)| Some([length(a)?, length(b)?]));
    both.ok_or_else(|| wrong(key, text, "two lengths in mm such as 38.1x21.2"))
}

fn wrong(key: &str, given: &str, right: &str) -> Complaint {
    Complaint::plain(format!("--{key}: `{given}` will not do"), Some(format!("write {right}")))
}

/// The date given, or today's.
fn date(args: &SheetArgs) -> Result<String, Complaint> {
    match &args.date {
        None => Ok(Machine.today().to_string()),
        Some(text) => text
            .parse::<jiff::civil::Date>()
            .map(|date| date.to_string())
            .map_err(|_| wrong("date", text, "2026-11-25")),
    }
}

/// A group's own templates, by file name.
fn templates(paths: &[String]) -> Result<BTreeMap<String, String>, Complaint> {
    let read = |path: &String| {
        let text = Machine.read(path).map_err(|why| Complaint::plain(format!("{path} cannot be read: {why}"), None))?;
        let name = Path::new(path).file_name().map_or_else(|| path.clone(), |name| name.to_string_lossy().into_owned());
        Ok((name, text))
    };
    paths.iter().map(read).collect()
}
