//! What is asked of a large rack, each as the store takes it and in bare SQL.

use crate::rack::Rack;
use jiff::civil::Date;
use register::standing::State;
use register::store::Query;

/// A question, both ways.
#[derive(Debug, Clone)]
pub struct Question {
    /// What is asked.
    pub what: &'static str,
    /// As the store takes it.
    pub query: Query,
    /// In bare SQL; the first column is the piece.
    pub sql: String,
    /// The values of that.
    pub values: Vec<String>,
    /// Whether both have one order: a search for several words may go by another of them.
    pub has_one_order: bool,
}

/// The first page of the kits, in bare SQL.
pub const KITS: &str = "SELECT * FROM kit ORDER BY place, id LIMIT 50";

/// What is known of the kit with a label.
pub const KIT: &str = "SELECT entry.seq, happened, written_ms, version, writer, body, kit.id FROM kit
    JOIN about ON thing = kit.id JOIN entry ON entry.seq = about.seq WHERE label = $1 ORDER BY entry.seq";

/// What a thing went through.
pub const HISTORY: &str = "SELECT entry.seq, happened, written_ms, version, writer, body FROM about
    JOIN entry ON entry.seq = about.seq WHERE thing = $1 ORDER BY entry.seq";

/// The same where it is told beside the thing; what is long, from the log.
pub const TOLD: &str = "SELECT about.seq, told, happened, written_ms, version, writer, body FROM about
    LEFT JOIN entry ON told IS NULL AND entry.seq = about.seq WHERE thing = $1 ORDER BY about.seq";

const PAGE: &str = "SELECT * FROM rack";
const ORDER: &str = "ORDER BY place, id LIMIT 50";

/// Every question about the nth piece of a rack, from 0, on a day.
#[must_use]
pub fn questions(rack: &Rack, piece: u64, on: Date) -> Vec<Question> {
    let mut all = lists(rack, piece, on);
    all.extend(searches(rack, piece));
    all
}

fn lists(rack: &Rack, piece: u64, on: Date) -> Vec<Question> {
    let (site, holder) = (Rack::site(piece), Rack::person(piece % rack.people()));
    let kit = rack.kit_of(piece % 100);
    let all = Query::default();
    let text = |text: &str| Some(text.to_owned());
    let one = |column: &str, value: &str| (format!("{PAGE} WHERE {column} = $1 {ORDER}"), vec![value.to_owned()]);
    let listed = |what, query, (sql, values)| Question { what, query, sql, values, has_one_order: true };
    let three = format!("{PAGE} WHERE gear = $1 AND site = $2 AND standing = $3 {ORDER}");
    let due_at = format!("{PAGE} WHERE due_on < $1 AND site = $2 ORDER BY due_on, id LIMIT 50");
    let due = format!("{PAGE} WHERE due_on < $1 ORDER BY due_on, id LIMIT 50");
    let of_kit = format!("{PAGE} WHERE kit = {} {ORDER}", kit.map_or(0, register::id::Id::number));
    let withdrawn = Some(State::Withdrawn);
    vec![
        listed("first page of all", all.clone(), (format!("{PAGE} {ORDER}"), vec![])),
        listed("of a kind of gear", Query { gear: text("rope"), ..all.clone() }, one("gear", "rope")),
        listed("of a standing", Query { standing: withdrawn, ..all.clone() }, one("standing", "withdrawn")),
        listed("of a site", Query { site: text(&site), ..all.clone() }, one("site", &site)),
        listed("of a holder", Query { holder: Some(holder.clone()), ..all.clone() }, one("holder", &holder.0)),
        listed("of a kit", Query { kit, ..all.clone() }, (of_kit, vec![])),
        listed(
            "of gear, site and standing",
            Query { gear: text("sling"), site: text(&site), standing: Some(State::Quarantined), ..all.clone() },
            (three, vec!["sling".to_owned(), site.clone(), "quarantined".to_owned()]),
        ),
        listed(
            "due before a day, at a site",
            Query { due_before: Some(on), site: Some(site.clone()), ..all.clone() },
            (due_at, vec![on.to_string(), site.clone()]),
        ),
        listed("due before a day", Query { due_before: Some(on), ..all }, (due, vec![on.to_string()])),
    ]
}

fn searches(rack: &Rack, piece: u64) -> Vec<Question> {
    let label = rack.label(piece).to_lowercase();
    let number = format!("{:03}", piece % 8);
    let typed = format!("pattern {number}");
    let ropes = Query { text: number.clone(), gear: Some("rope".to_owned()), ..Query::default() };
    vec![
        found("search: a label", &label),
        found("search: the beginning of a label", &label[..5]),
        found("search: a serial", &rack.serial(piece)),
        found("search: a common word", "rope"),
        both("search: maker and number of a model", &number, "pattern", Query { text: typed, ..Query::default() }),
        both("search: a word within a kind of gear", &number, "rope", ropes),
    ]
}

fn found(what: &'static str, word: &str) -> Question {
    let sql = "SELECT rack.*, word.word FROM word JOIN rack ON rack.id = word.id
        WHERE word.word >= $1 AND word.word < $2 ORDER BY word.word, word.place, word.id LIMIT 50";
    let values = vec![word.to_owned(), format!("{word}\u{10ffff}")];
    let query = Query { text: word.to_owned(), ..Query::default() };
    Question { what, query, sql: sql.to_owned(), values, has_one_order: true }
}

fn both(what: &'static str, word: &str, also: &str, query: Query) -> Question {
    let mut question = found(what, word);
    question.sql = question.sql.replace(" ORDER BY", " AND rack.words LIKE $3 ORDER BY");
    question.values.push(format!("% {also}%"));
    Question { query, has_one_order: false, ..question }
}
