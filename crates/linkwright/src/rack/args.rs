//! What can be typed about the rack.

use clap::{Arg, ArgMatches, Args, Command, FromArgMatches, Subcommand};
use desk::rack::fields::{Field, Told};
use desk::rack::show::Filter;

/// Which store, who writes, and how to tell.
#[derive(Debug, Args)]
pub struct Common {
    /// The store: a file, or `postgres://…` [without it: LINKWRIGHT_STORE, or a file in the user's data folder].
    #[arg(long, global = true, value_name = "PLACE")]
    pub store: Option<String>,
    /// Who writes [without it: LINKWRIGHT_WRITER, or the owner].
    #[arg(long = "as", global = true, value_name = "NAME")]
    pub writer: Option<String>,
    /// Print one JSON object.
    #[arg(long, global = true)]
    pub json: bool,
}

/// Which store is read.
#[derive(Debug, Args)]
pub struct From {
    /// The store: a file, or `postgres://…` [without it: LINKWRIGHT_STORE, or a file in the user's data folder].
    #[arg(long, value_name = "PLACE")]
    pub store: Option<String>,
}

/// A command about the rack.
#[derive(Debug, Args)]
pub struct On<C: Subcommand> {
    /// Which store.
    #[command(flatten)]
    pub common: Common,
    /// What to do.
    #[command(subcommand)]
    pub what: C,
}

/// What is told of a piece: an option for each field.
#[derive(Debug)]
pub struct Tell(pub Vec<(Field, String)>);

impl Tell {
    /// As one piece without a label.
    ///
    /// # Errors
    /// Where a value is none of its field.
    pub fn told(&self) -> Result<Told, desk::rack::Fault> {
        let mut told = Told::default();
        self.0.iter().try_for_each(|(field, text)| field.put(&mut told, text))?;
        Ok(told)
    }
}

impl FromArgMatches for Tell {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let value = |field: &Field| Some((*field, matches.get_one::<String>(field.code())?.clone()));
        Ok(Self(told_fields().filter_map(value).collect()))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl Args for Tell {
    fn augment_args(command: Command) -> Command {
        let option = |field: &Field| Arg::new(field.code()).long(field.code()).value_name("VALUE");
        command.args(told_fields().map(option).collect::<Vec<_>>())
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

fn told_fields() -> impl Iterator<Item = &'static Field> {
    Field::ALL.iter().filter(|field| **field != Field::Label)
}

/// About accounts. A password is asked for on a terminal, and else read from the first line of the input.
#[derive(Debug, Subcommand)]
pub enum Account {
    /// Give somebody who is known an account.
    Add {
        /// Who.
        name: String,
    },
    /// Everybody who has one, what they may do, and when they were here last.
    List,
    /// Give an account another password; its sign-ins end.
    Password {
        /// Whose.
        name: String,
    },
    /// End every sign-in of somebody.
    SignOut {
        /// Whose.
        name: String,
    },
    /// Take an account away. The person stays known.
    Remove {
        /// Whose.
        name: String,
    },
}

/// About the pieces.
#[derive(Debug, Subcommand)]
pub enum Rack {
    /// List pieces; words find those that have words beginning so.
    List(List),
    /// The page of a piece: plate, standing and why, what is known, history.
    Show {
        /// Its label.
        label: String,
    },
    /// Enter pieces: one, several by commas, or a range such as `C-001..C-040`.
    Add {
        /// Labels.
        labels: String,
        /// The day they came [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
        /// What they share.
        #[command(flatten)]
        tell: Tell,
    },
    /// Tell anew what is known of pieces: only what is given changes, and the log keeps what stood there before.
    Describe {
        /// Labels.
        labels: String,
        /// Since when [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
        /// What is told.
        #[command(flatten)]
        tell: Tell,
    },
    /// Divide a piece: a rope cut in two, an end cut off, cord off a reel, a lot split. Shares inherit its history.
    Divide {
        /// The piece; it ends here.
        label: String,
        /// A share: its label, and after `=` its length in m (a rope, a cord) or its count (a lot).
        #[arg(long, required = true, value_name = "LABEL=LENGTH")]
        into: Vec<String>,
        /// The share of this label is scrap: a worn end.
        #[arg(long, value_name = "LABEL")]
        scrap: Vec<String>,
        /// When [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
    },
    /// A part of a piece was replaced, such as the sling of a draw.
    Replace {
        /// The piece.
        label: String,
        /// The part: `sling`, `keeper`, `bolt-end`, `rope-end` of a draw; `absorber` of a lanyard; …
        part: String,
        /// The piece put in, where it is on the rack by itself.
        #[arg(long, value_name = "LABEL")]
        new: Option<String>,
        /// The piece taken out, where it is on the rack by itself.
        #[arg(long, value_name = "LABEL")]
        old: Option<String>,
        /// When the new part was made.
        #[arg(long, value_name = "DATE")]
        made: Option<String>,
        /// When [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
    },
    /// Describe a model from a TOML file: what its pieces share, the maker's limits, what fits, papers.
    Model {
        /// The file.
        file: String,
    },
    /// Every model with how many pieces stand where; one by its name with what is known of it and its pieces.
    Models {
        /// Its name.
        name: Option<String>,
        /// Its maker, where several have a model of that name.
        #[arg(long, value_name = "NAME", requires = "name")]
        maker: Option<String>,
    },
    /// Whether a piece goes with a device or the like, by what was typed of its maker's instructions.
    Fit {
        /// The device; its model says what fits (`rack model`).
        device: String,
        /// The rope, connector or other piece.
        other: String,
        /// The mode of use, such as `belay` or `guide`, as the model names it.
        #[arg(long)]
        mode: Option<String>,
    },
    /// Make all lists and standings anew from the log alone.
    Rebuild,
}

/// Pieces that meet all that is given.
#[derive(Debug, Args)]
pub struct Only {
    /// Kind of gear.
    #[arg(long)]
    pub gear: Option<String>,
    /// Standing.
    #[arg(long)]
    pub standing: Option<String>,
    /// Where.
    #[arg(long)]
    pub site: Option<String>,
    /// Who has it.
    #[arg(long, value_name = "NAME")]
    pub holder: Option<String>,
    /// The kit it belongs to.
    #[arg(long, value_name = "LABEL")]
    pub kit: Option<String>,
}

impl Only {
    /// As the desk takes it.
    #[must_use]
    pub fn filter(&self) -> Filter {
        Filter {
            gear: self.gear.clone(),
            standing: self.standing.clone(),
            site: self.site.clone(),
            holder: self.holder.clone(),
            kit: self.kit.clone(),
            ..Filter::default()
        }
    }
}

/// What to list.
#[derive(Debug, Args)]
pub struct List {
    /// Words to look for.
    pub words: Vec<String>,
    /// Which pieces.
    #[command(flatten)]
    pub only: Only,
    /// Go on where the page before ended, as it said.
    #[arg(long, value_name = "PLACE")]
    pub after: Option<String>,
    /// How many.
    #[arg(long, default_value_t = 40)]
    pub limit: u32,
}

/// Which pieces, when, and what else is to be kept.
#[derive(Debug, Args)]
pub struct About {
    /// Labels: one, several by commas, or a range.
    #[arg(required_unless_present = "kit")]
    pub labels: Option<String>,
    /// All that a kit holds.
    #[arg(long, conflicts_with = "labels", value_name = "LABEL")]
    pub kit: Option<String>,
    /// When [without it: today].
    #[arg(long, value_name = "DAY")]
    pub on: Option<String>,
    /// A remark.
    #[arg(long)]
    pub note: Option<String>,
    /// A photo or paper.
    #[arg(long, value_name = "FILE")]
    pub photo: Vec<String>,
}

/// What happened.
#[derive(Debug, Subcommand)]
pub enum Log {
    /// The last entries.
    List {
        /// Those before this entry.
        #[arg(long, value_name = "ENTRY")]
        before: Option<i64>,
        /// How many.
        #[arg(long, default_value_t = 40)]
        limit: i64,
    },
    /// A day of use.
    Used {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// For which duty.
        #[arg(long)]
        duty: Option<String>,
        /// Rappels.
        #[arg(long, default_value_t = 0)]
        rappels: u32,
        /// Lowers.
        #[arg(long, default_value_t = 0)]
        lowers: u32,
        /// Metres of rope run under load.
        #[arg(long, default_value_t = 0, value_name = "METRES")]
        run: u32,
        /// Falls held.
        #[arg(long, default_value_t = 0)]
        falls: u32,
        /// The force of the falls, kN, as a check computed it.
        #[arg(long, value_name = "KN")]
        force: Option<String>,
        /// The falls were severe.
        #[arg(long)]
        severe: bool,
    },
    /// A fall was held: a day of use with one fall.
    FallHeld {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// Its force, kN.
        #[arg(long, value_name = "KN", conflicts_with = "from_check")]
        force: Option<String>,
        /// What `check --json` told: the force is the largest that each piece's link sees.
        #[arg(long, value_name = "FILE.json")]
        from_check: Option<String>,
        /// The link of that check, for pieces that the rig file does not name by `piece`.
        #[arg(long, value_name = "NAME", requires = "from_check")]
        link: Option<String>,
        /// It was severe.
        #[arg(long)]
        severe: bool,
    },
    /// Used for the first time.
    FirstUse(About),
    /// Bought.
    Bought {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// From whom.
        #[arg(long)]
        supplier: Option<String>,
    },
    /// Fell down.
    Dropped {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// How deep, m.
        #[arg(long, value_name = "METRES")]
        height: Option<String>,
        /// Onto what.
        #[arg(long)]
        onto: Option<String>,
    },
    /// Met something that may harm it.
    Exposed {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// To what: acid, alkali, solvent, fuel, …
        #[arg(long)]
        to: String,
    },
    /// Cleaned, lubricated, dried.
    Cleaned(About),
    /// Measured.
    Measured {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// What: groove, bar, length.
        #[arg(long)]
        what: String,
        /// How: photo, calliper, ruler.
        #[arg(long)]
        how: String,
        /// The value, mm.
        #[arg(long, value_name = "MM")]
        mm: String,
        /// So far off it may be either way, with 95 %: a groove is forecast from readings that tell it.
        #[arg(long, value_name = "MM")]
        plus_minus: Option<String>,
    },
    /// Repaired by someone whom the maker allows to.
    Repaired {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// Which part.
        #[arg(long)]
        part: String,
    },
    /// For some duties only from now on; no duty lifts the restriction.
    Restricted {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// A duty that it may still do.
        #[arg(long, value_name = "DUTY")]
        to: Vec<String>,
    },
    /// Put aside until an inspection clears it.
    Quarantined {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// Why, in a word.
        #[arg(long, default_value = "in-doubt")]
        why: String,
    },
    /// Somebody has it now, or it is elsewhere.
    HandedTo {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// Who.
        #[arg(long, value_name = "NAME")]
        person: Option<String>,
        /// Where.
        #[arg(long)]
        site: Option<String>,
    },
    /// Back in store.
    Returned(About),
    /// Out of service for good.
    Withdrawn {
        /// Which pieces.
        #[command(flatten)]
        about: About,
        /// Why, in a word.
        #[arg(long)]
        why: String,
    },
    /// Made unusable.
    Destroyed(About),
    /// Nobody knows where it is.
    Lost(About),
    /// It is there again.
    Found(About),
    /// An entry is not so. Without more it is taken back; with a day, labels or a remark it is told anew. Correcting a correction
    /// brings back what that put away.
    Correct {
        /// The entry.
        entry: i64,
        /// The day on which it happened.
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
        /// The pieces to which it happened.
        #[arg(long)]
        labels: Option<String>,
        /// The remark that it should bear.
        #[arg(long, value_name = "TEXT")]
        remark: Option<String>,
        /// A remark on the correction itself.
        #[arg(long)]
        note: Option<String>,
    },
}

/// An inspection.
#[derive(Debug, Args)]
pub struct Inspect {
    /// Which store.
    #[command(flatten)]
    pub common: Common,
    /// Labels: one, several by commas, or a range. A kind of gear with `--list`.
    pub labels: String,
    /// `before-first-use`, `before-each-use`, `periodic`, `after-event`.
    #[arg(long, default_value = "periodic")]
    pub occasion: String,
    /// All points that no option names pass; without any of --passed, --watch, --defect, --not-looked-at each piece is asked for.
    #[arg(long)]
    pub passed: bool,
    /// A point to look at again sooner, with a remark.
    #[arg(long, value_name = "POINT=REMARK")]
    pub watch: Vec<String>,
    /// A defect, with a remark: quarantines at once.
    #[arg(long, value_name = "POINT=REMARK")]
    pub defect: Vec<String>,
    /// A point that was not looked at.
    #[arg(long, value_name = "POINT")]
    pub not_looked_at: Vec<String>,
    /// Entries that the inspection clears, each named.
    #[arg(long, value_delimiter = ',', value_name = "ENTRY")]
    pub clears: Vec<i64>,
    /// When [without it: today].
    #[arg(long, value_name = "DAY")]
    pub on: Option<String>,
    /// Print the check-list of a kind of gear.
    #[arg(long)]
    pub list: bool,
}

/// What is to be inspected.
#[derive(Debug, Args)]
pub struct Due {
    /// Which store.
    #[command(flatten)]
    pub common: Common,
    /// Within how many days from today.
    #[arg(long, default_value_t = 30, value_name = "DAYS")]
    pub within: u32,
    /// Where.
    #[arg(long)]
    pub site: Option<String>,
    /// How many are shown.
    #[arg(long, default_value_t = 40)]
    pub limit: u32,
    /// Write a calendar (iCalendar) instead.
    #[arg(long, value_name = "FILE.ics")]
    pub ics: Option<String>,
}

/// Kits.
#[derive(Debug, Subcommand)]
pub enum Kit {
    /// Kits, and where each is; late ones make the exit status 1.
    List {
        /// Late ones alone.
        #[arg(long)]
        late: bool,
        /// Go on where the page before ended, as it said.
        #[arg(long, value_name = "PLACE")]
        after: Option<String>,
        /// How many.
        #[arg(long, default_value_t = 40)]
        limit: u32,
    },
    /// What belongs to a kit, what is missing, what is wet.
    Show {
        /// Its label.
        label: String,
    },
    /// Put a kit together, or change it: its whole contents.
    Set {
        /// Its label.
        label: String,
        /// Pieces, and `=N` for some of a lot: `C-001..C-010,N-1=4`.
        contents: String,
    },
    /// It goes out.
    Out {
        /// Its label.
        label: String,
        /// To whom.
        #[arg(long, value_name = "NAME")]
        to: Option<String>,
        /// When it is to be back.
        #[arg(long, value_name = "DAY")]
        back: Option<String>,
    },
    /// It is back.
    Back {
        /// Its label.
        label: String,
        /// What is missing, and `=N` for some of a lot: `C-004,N-1=2`.
        #[arg(long, value_name = "CONTENTS")]
        short: Option<String>,
        /// What is wet.
        #[arg(long, value_name = "LABELS")]
        wet: Option<String>,
    },
}

/// Incidents.
#[derive(Debug, Subcommand)]
pub enum Incident {
    /// Every incident.
    List,
    /// What it is about, what was used with it, who had it, how each piece was settled.
    Show {
        /// The entry that opened it.
        case: i64,
    },
    /// Open one: its pieces are put aside as evidence.
    Open {
        /// Labels.
        labels: String,
        /// What happened.
        #[arg(long)]
        what: String,
        /// Who was there.
        #[arg(long, value_name = "NAME")]
        person: Vec<String>,
        /// When [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
    },
    /// Settle pieces of it: inspected, withdrawn, destroyed, not-concerned.
    Settle(Settle),
    /// Close it, its record frozen. Every piece has to be settled.
    Close {
        /// The entry that opened it.
        case: i64,
    },
}

/// Recalls.
#[derive(Debug, Subcommand)]
pub enum Recall {
    /// Every recall.
    List,
    /// Its pieces, those that cannot be excluded among them, who has them, how each was settled.
    Show {
        /// The entry that opened it.
        case: i64,
    },
    /// Open one: pieces that meet everything given, or cannot be excluded.
    Open {
        /// Only tell what it would call back.
        #[arg(long)]
        dry_run: bool,
        /// The notice: who published it, when, its number.
        #[arg(long)]
        notice: String,
        /// Kind of gear.
        #[arg(long)]
        gear: Option<String>,
        /// The model, by name.
        #[arg(long, value_name = "NAME")]
        model: Option<String>,
        /// Its maker, where several have a model of that name.
        #[arg(long, value_name = "NAME", requires = "model")]
        maker: Option<String>,
        /// First and last day it was made: 2019-01-01..2019-06-30.
        #[arg(long, value_name = "DAY..DAY")]
        made: Option<String>,
        /// A batch, as stamped.
        #[arg(long)]
        batch: Vec<String>,
        /// First and last serial: AB100..AB200.
        #[arg(long, value_name = "FIRST..LAST")]
        serials: Option<String>,
        /// When [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
    },
    /// Settle pieces of it: inspected, withdrawn, destroyed, not-concerned.
    Settle(Settle),
    /// Close it, its record frozen. Every piece has to be settled.
    Close {
        /// The entry that opened it.
        case: i64,
    },
}

/// How pieces of a case were settled.
#[derive(Debug, Args)]
pub struct Settle {
    /// The entry that opened it.
    pub case: i64,
    /// Labels.
    pub labels: String,
    /// How.
    pub outcome: String,
}

/// People.
#[derive(Debug, Subcommand)]
pub enum People {
    /// Everybody who is known.
    List,
    /// Make somebody known.
    Add {
        /// The name.
        name: String,
    },
    /// Let somebody sign, up to a day.
    Allow {
        /// The name.
        name: String,
        /// `inspect`, `withdraw`, `policy`; `inspect:rope` for a kind of gear.
        right: String,
        /// The last day.
        #[arg(long, value_name = "DAY")]
        until: String,
    },
    /// Erase name, texts and photos of somebody, and the name from remarks. The log still verifies.
    Erase {
        /// The name.
        name: String,
        /// Another way in which remarks write it.
        #[arg(long, value_name = "SPELLING")]
        also: Vec<String>,
    },
}

/// The group's policy.
#[derive(Debug, Subcommand)]
pub enum Policy {
    /// The policy in force, row by row: each with where it comes from, since when it holds so and who wrote it.
    Show,
    /// Change one row of it; what it says besides stays.
    Change {
        /// The row, as `policy show --json` names it: `margin_intended`, `rack.interval.any`.
        row: String,
        /// Its values: `months=6`; a row of one value takes its own name, `margin_intended=2.5`.
        #[arg(required = true, value_name = "NAME=VALUE")]
        values: Vec<String>,
        /// Why.
        #[arg(long, value_name = "TEXT")]
        source: Option<String>,
        /// From when [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
    },
    /// Judge by this policy file (TOML) from a day on. Its text goes into the log.
    Set {
        /// The file.
        file: String,
        /// From when [without it: today].
        #[arg(long, value_name = "DAY")]
        on: Option<String>,
    },
}

/// Whether the log is whole.
#[derive(Debug, Args)]
pub struct Verify {
    /// Which store.
    #[command(flatten)]
    pub common: Common,
    /// A hash that was printed on a sheet or a backup: whether its entry is still there.
    #[arg(long, value_name = "HASH")]
    pub expect: Option<String>,
}

/// A file.
#[derive(Debug, Args)]
pub struct OneFile {
    /// Which store.
    #[command(flatten)]
    pub common: Common,
    /// The file.
    pub file: String,
    /// For `restore`: a hash that has to be in it.
    #[arg(long, value_name = "HASH")]
    pub expect: Option<String>,
}

/// A sheet to enter pieces from.
#[derive(Debug, Args)]
pub struct Import {
    /// Which store.
    #[command(flatten)]
    pub common: Common,
    /// The sheet (`.csv`) or JSON (`.json`).
    pub file: String,
    /// What a heading stands for; `-` leaves the column out. Remembered.
    #[arg(long, value_name = "HEADING=FIELD")]
    pub map: Vec<String>,
    /// Enter nothing, and say what is wrong.
    #[arg(long)]
    pub dry_run: bool,
    /// The day the pieces came [without it: today].
    #[arg(long, value_name = "DAY")]
    pub on: Option<String>,
}
