//! Buying: models on offer side by side, for the duties that an outing has.

use super::Day;
use super::file::Offered;
use crate::columns::columns;
use crate::figures::{strength, two_figures};
use crate::rack::Answer;
use crate::texts;
use plan::outing::{Misfit, Need, Outing};
use serde_json::{Value, json};
use trade::duty::Unfit;

impl Day {
    /// The offers of the file side by side, least cost a year first: what they bear, what they weigh, and which needs they would do
    /// for, or why not.
    #[must_use]
    pub fn offers(&self, outing: &Outing) -> Answer {
        let mut offers: Vec<&Offered> = self.file.offers.iter().collect();
        offers.sort_by(|one, other| one.a_year().total_cmp(&other.a_year()));
        let head = texts::outing("offer-columns", &[]).split('|').map(str::to_owned).collect();
        let rows: Vec<Vec<String>> = std::iter::once(head).chain(offers.iter().map(|offer| row(offer))).collect();
        let mut text = if offers.is_empty() { texts::outing("no-offers", &[]) + "\n" } else { columns(&rows) };
        for offer in &offers {
            text += &format!("\n{}\n", offer.piece.label);
            for need in &outing.needs {
                if let Some(told) = told(need, offer) {
                    text += &format!("  {told}\n");
                }
            }
        }
        Answer::cautioned(
            text,
            json!({ "offers": offers.iter().map(|offer| offer_json(offer, outing)).collect::<Vec<_>>() }),
        )
    }
}

fn row(offer: &Offered) -> Vec<String> {
    let piece = &offer.piece;
    let marked = piece.is.bears.by_position().map(|bears| bears.map_or_else(|| "-".to_owned(), strength));
    let code = |code: Option<&'static str>| code.unwrap_or("-").to_owned();
    [piece.label.clone()]
        .into_iter()
        .chain(marked)
        .chain([
            piece.mass_g.map_or_else(|| "-".to_owned(), |mass| format!("{mass} g")),
            code(piece.is.shape.map(|shape| shape.code())),
            code(piece.is.lock.map(|lock| lock.code())),
            piece.is.size.clone().unwrap_or_else(|| "-".to_owned()),
            two_figures(offer.a_year()),
        ])
        .collect()
}

/// Whether it would do for a need, or why not; nothing where it is another kind of gear.
fn told(need: &Need, offer: &Offered) -> Option<String> {
    let name = ("need", need.name.clone());
    match need.suit(&offer.piece) {
        Err(Misfit::Unfit(Unfit::Gear)) => None,
        Err(misfit) => {
            let why = texts::outing(&format!("misfit-{}", misfit.code()), &[]);
            Some(texts::outing("offer-not", &[name, ("why", why)]))
        }
        Ok(suit) => Some(match suit.margin {
            Some(margin) => texts::outing("offer-margin", &[name, ("margin", two_figures(margin))]),
            None => texts::outing("offer-does", &[name]),
        }),
    }
}

fn offer_json(offer: &Offered, outing: &Outing) -> Value {
    let does = outing.needs.iter().filter(|need| need.suit(&offer.piece).is_ok()).map(|need| &need.name);
    let [closed, open, minor] = offer.piece.is.bears.by_position().map(|bears| bears.map(|bears| bears.kn()));
    json!({
        "label": offer.piece.label, "closed_kn": closed, "open_kn": open, "minor_kn": minor, "mass_g": offer.piece.mass_g,
        "shape": offer.piece.is.shape.map(|shape| shape.code()), "lock": offer.piece.is.lock.map(|lock| lock.code()),
        "size": offer.piece.is.size, "price": offer.price, "years": offer.years, "cost_a_year": offer.a_year(),
        "does_for": does.collect::<Vec<_>>(),
    })
}
