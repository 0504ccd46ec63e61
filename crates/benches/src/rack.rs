//! A large rack with its log, all of it invented, the same for the same seed.

use jiff::ToSpan as _;
use jiff::civil::{Date, date};
use register::entry::Draft;
use register::event::{
    Dated, Description, Entered, Event, Grade, Inspection, KitPart, MakersLimits, Mark, Model, Reading, Record, Remark,
    Use,
};
use register::id::{Id, PersonId};
use register::moment::Moment;
use register::private::Aside;
use register::store::{Now, Store, StoreError};

/// The kinds of gear, each with how it is labelled.
const GEAR: [(&str, &str); 8] = [
    ("connector", "C"),
    ("draw", "D"),
    ("sling", "S"),
    ("rope", "R"),
    ("belay-device", "B"),
    ("pulley", "P"),
    ("harness", "H"),
    ("helmet", "M"),
];
/// How many pieces come in by one entry.
const AT_ONCE: u64 = 40;
/// How many pieces a kit has.
const KIT: u64 = 10;

/// The size of a rack.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    /// Pieces.
    pub pieces: u64,
    /// Entries.
    pub entries: u64,
}

/// A rack's log, draft by draft. The nth, from 1, has to become entry n.
#[derive(Debug, Clone)]
pub struct Rack {
    size: Size,
    chance: Chance,
}

impl Rack {
    /// The rack of a size and a seed.
    #[must_use]
    pub const fn new(size: Size, seed: u64) -> Self {
        Self { size, chance: Chance(seed) }
    }

    /// How many models there are.
    #[must_use]
    pub fn models(&self) -> u64 {
        (self.size.pieces / 1000).clamp(8, 1000)
    }

    /// How many people.
    #[must_use]
    pub fn people(&self) -> u64 {
        (self.size.pieces / 2000).clamp(5, 500)
    }

    fn before_pieces(&self) -> u64 {
        self.models() + self.people()
    }

    fn kits(&self) -> u64 {
        self.size.pieces / 100
    }

    /// The name of the nth piece, from 0.
    #[must_use]
    pub fn piece(&self, number: u64) -> Id {
        id(self.before_pieces() + number / AT_ONCE + 1, number % AT_ONCE)
    }

    /// The label of the nth piece, from 0.
    #[must_use]
    pub fn label(&self, number: u64) -> String {
        format!("{}-{:07}", GEAR[gear_of(number / AT_ONCE)].1, number)
    }

    /// The serial of the nth piece, from 0.
    #[must_use]
    pub fn serial(&self, number: u64) -> String {
        format!("{:08x}", Chance(number ^ 0x5eed).next())[..8].to_owned()
    }

    /// The word of the nth person, from 0.
    #[must_use]
    pub fn person(number: u64) -> PersonId {
        PersonId(format!("p-{number:04}"))
    }

    /// The site of the nth piece, from 0.
    #[must_use]
    pub fn site(number: u64) -> String {
        format!("store-{}", (number / AT_ONCE) % 20)
    }

    /// The kit that the nth piece is in from the start, if it is in one.
    #[must_use]
    pub fn kit_of(&self, number: u64) -> Option<Id> {
        let kit = number / KIT;
        let first = self.before_pieces() + self.size.pieces.div_ceil(AT_ONCE) + 1;
        (kit < self.kits()).then(|| id(first + kit, 0))
    }

    /// The label of the nth kit, from 0.
    #[must_use]
    pub fn kit_label(number: u64) -> String {
        format!("K-{number:05}")
    }

    /// Fills an empty store, and makes its lists; what is there already stays. Gives whether it was empty.
    ///
    /// # Errors
    /// Where the store cannot be written to, or is neither empty nor full.
    pub async fn fill(&mut self, store: &Store, now: Now) -> Result<bool, StoreError> {
        let there = store.head().await?.seq.cast_unsigned();
        if there >= self.size.entries {
            return Ok(false);
        }
        if there > 0 {
            return Err(StoreError::Unfit("the store is neither empty nor full".to_owned()));
        }
        for first in (1..=self.size.entries).step_by(20_000) {
            let mut batch = store.begin(now).await?;
            batch.leave_lists();
            let last = (first + 20_000).min(self.size.entries + 1);
            batch.push_all((first..last).map(|seq| self.draft(seq)).collect()).await?;
            batch.commit().await?;
        }
        Ok(true)
    }

    /// Entry `seq`.
    pub fn draft(&mut self, seq: u64) -> Draft {
        let (models, people) = (self.models(), self.people());
        let entering = self.size.pieces.div_ceil(AT_ONCE);
        let place = seq - 1;
        let day = date(2016, 1, 1).saturating_add((3_900 * place / self.size.entries).cast_signed().days());
        let (about, event) = if place < models {
            (vec![], model(place))
        } else if place < models + people {
            let person = Self::person(place - models);
            let name = name(place - models, &person);
            let mut draft = draft(seq, day, vec![], Event::PersonEntered { person, name: name.private.clone() });
            draft.asides.push(name);
            return draft;
        } else if place < models + people + entering {
            (vec![], self.entered(place - models - people, day))
        } else if place < models + people + entering + self.kits() {
            (vec![], self.kit(place - models - people - entering))
        } else {
            self.happening(day)
        };
        let mut draft = draft(seq, day, about, event);
        if self.chance.one_in(33) {
            let note = Aside::text("wet on the way home, dried in the shade", salt(seq), None);
            draft.record.note = Some(note.private.clone());
            draft.asides.push(note);
        }
        draft
    }

    fn entered(&mut self, number: u64, day: Date) -> Event {
        let pieces = (number * AT_ONCE..((number + 1) * AT_ONCE).min(self.size.pieces))
            .map(|piece| Mark { label: self.label(piece), serial: Some(self.serial(piece)) })
            .collect();
        let gear = gear_of(number);
        let models = self.models();
        let model = self.chance.below(models) / 8 * 8 + gear as u64;
        let is = Description {
            gear: Some(GEAR[gear].0.to_owned()),
            model: Some(id(model.min(models - 1) + 1, 0)),
            made: Some(Dated::Day(day)),
            site: Some(Self::site(number * AT_ONCE)),
            ..Description::default()
        };
        Event::Entered(Entered { pieces, is })
    }

    fn kit(&self, number: u64) -> Event {
        let contents = (0..KIT).map(|place| KitPart { piece: self.piece(number * KIT + place), count: 1 }).collect();
        Event::KitSet { kit: None, label: Self::kit_label(number), contents }
    }

    fn happening(&mut self, day: Date) -> (Vec<Id>, Event) {
        let mut about = vec![self.some_piece()];
        let rappels = 1 + self.chance.below(9).try_into().unwrap_or(0);
        let event = match self.chance.below(100) {
            0..60 => {
                if self.chance.one_in(4) {
                    about.push(self.some_piece());
                }
                Event::Used(Use { duty: Some("rappel".to_owned()), rappels, run_m: 30 * rappels, ..Use::default() })
            }
            60..78 => Event::Inspected(self.inspection()),
            78..84 => Event::Measured(Reading {
                what: "groove".to_owned(),
                how: "calliper".to_owned(),
                value: self.chance.below(900).cast_signed(),
                interval: None,
                bar_um: Some(9_000),
            }),
            84..90 => Event::HandedTo { person: Some(Self::person(self.chance.below(self.people()))), site: None },
            90..94 => Event::Returned,
            94..97 => Event::Cleaned,
            97..98 => Event::Dropped { height_mm: Some(4_000), onto: Some("rock".to_owned()) },
            98..99 => Event::FirstUse,
            _ if day.year() > 2024 => Event::Withdrawn { why: "worn".to_owned() },
            _ => Event::Bought { supplier: Some("Supplier A".to_owned()) },
        };
        about.sort_unstable();
        about.dedup();
        (about, event)
    }

    fn inspection(&mut self) -> Inspection {
        let watch = Remark { piece: None, point: "corrosion".to_owned(), grade: Grade::Watch, note: None, photo: None };
        Inspection {
            occasion: "periodic".to_owned(),
            list: "connector 1".to_owned(),
            remarks: if self.chance.one_in(20) { vec![watch] } else { vec![] },
            clears: vec![],
        }
    }

    fn some_piece(&mut self) -> Id {
        let number = self.chance.below(self.size.pieces);
        self.piece(number)
    }
}

fn gear_of(entry: u64) -> usize {
    usize::try_from(entry % 8).unwrap_or(0)
}

fn id(seq: u64, place: u64) -> Id {
    Id::new(seq.cast_signed(), u32::try_from(place).unwrap_or(u32::MAX)).expect("a name within bounds")
}

fn model(number: u64) -> Event {
    let gear = GEAR[gear_of(number)].0;
    Event::ModelEntered(Model {
        name: format!("Pattern {number:03}"),
        maker: Some(format!("Maker {}", number % 12)),
        is: Description { gear: Some(gear.to_owned()), ..Description::default() },
        limits: MakersLimits::default(),
        fits: vec![],
        papers: vec![],
    })
}

fn name(number: u64, person: &PersonId) -> Aside {
    Aside::text(&format!("Person Number {number}"), salt(number), Some(person.clone()))
}

fn salt(number: u64) -> [u8; 16] {
    let mut salt = [0; 16];
    salt[..8].copy_from_slice(&Chance(number).next().to_be_bytes());
    salt
}

fn draft(seq: u64, day: Date, about: Vec<Id>, event: Event) -> Draft {
    let record = Record { about, by_kit: None, note: None, photos: vec![], event };
    // As random as the words of many devices are: they have no order that would help an index.
    let client = format!("{:016x}", Chance(seq ^ 0xc11e_4700_0000_0000).next());
    Draft { client, happened: Moment::on(day), record, writer: Rack::person(seq % 5), asides: vec![] }
}

/// Numbers by chance: `SplitMix64` (Steele, Lea, Flood 2014, "Fast splittable pseudorandom number generators", figure 15).
#[derive(Debug, Clone)]
pub struct Chance(pub u64);

impl Chance {
    /// The next number.
    pub const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `bound`.
    pub const fn below(&mut self, bound: u64) -> u64 {
        self.next() % bound
    }

    const fn one_in(&mut self, bound: u64) -> bool {
        self.below(bound) == 0
    }
}
