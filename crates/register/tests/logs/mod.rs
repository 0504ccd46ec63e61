//! Logs for tests, written entry by entry. All of it is invented.
#![allow(dead_code, reason = "each test file uses some of it")]

use jiff::civil::Date;
use register::event::{
    Description, Entered, Event, Fall, Grade, Inspection, Mark, Model, Reading, Record, Remark, Use,
};
use register::group::Group;
use register::history::{Past, effective};
use register::id::{Id, PersonId};
use register::moment::Moment;
use register::piece::Piece;
use register::standing::{Standing, standing};

/// A log; every entry about the first piece unless told otherwise.
#[derive(Debug, Clone, Default)]
pub struct Log(pub Vec<Past>);

pub fn day(text: &str) -> Date {
    text.parse().expect(text)
}

pub fn person(name: &str) -> PersonId {
    PersonId(name.to_owned())
}

pub fn the_piece() -> Id {
    Id::new(1, 0).expect("a name")
}

pub fn mark(label: &str) -> Mark {
    Mark { label: label.to_owned(), serial: None }
}

pub fn is(gear: &str) -> Description {
    Description { gear: Some(gear.to_owned()), ..Description::default() }
}

/// A log in which the first entry brings in a piece of this description.
pub fn rack(on: &str, is: Description) -> Log {
    let mut log = Log::default();
    log.about(on, "anna", Vec::new(), Event::Entered(Entered { pieces: vec![mark("C-001")], is }));
    log
}

/// A piece in use since the first day of 2026.
pub fn used(gear: &str) -> Log {
    let mut log = rack("2026-01-01", is(gear));
    log.add("2026-01-01", Event::FirstUse);
    log
}

impl Log {
    pub fn about(&mut self, on: &str, writer: &str, about: Vec<Id>, event: Event) -> i64 {
        let seq = self.0.len() as i64 + 1;
        let record = Record { about, by_kit: None, note: None, photos: Vec::new(), event };
        self.0.push(Past {
            seq,
            happened: Moment::on(day(on)),
            written_ms: seq,
            writer: person(writer),
            record: record.into(),
        });
        seq
    }

    pub fn add(&mut self, on: &str, event: Event) -> i64 {
        self.about(on, "anna", vec![the_piece()], event)
    }

    pub fn by(&mut self, on: &str, writer: &str, event: Event) -> i64 {
        self.about(on, writer, vec![the_piece()], event)
    }

    /// For the whole rack.
    pub fn general(&mut self, on: &str, event: Event) -> i64 {
        self.about(on, "anna", Vec::new(), event)
    }

    pub fn policy(&mut self, on: &str, text: &str) -> i64 {
        self.general(on, Event::PolicySet { text: text.to_owned() })
    }

    pub fn right(&mut self, on: &str, who: &str, right: &str, until: &str) -> i64 {
        self.general(on, Event::RightSet { person: person(who), right: right.to_owned(), until: day(until) })
    }

    /// Describes the piece's model.
    pub fn model(&mut self, on: &str, model: Model) {
        let seq = self.general(on, Event::ModelEntered(model));
        self.add(on, Event::Described(Description { model: Id::new(seq, 0), ..Description::default() }));
    }

    pub fn group(&self) -> Group {
        Group::fold(&effective(self.0.clone()))
    }

    pub fn piece(&self, id: Id, on: &str) -> Piece {
        Piece::fold(id, &effective(self.0.clone()), day(on)).expect("a piece")
    }

    pub fn standing_of(&self, id: Id, on: Date) -> Standing {
        let history = effective(self.0.clone());
        let piece = Piece::fold(id, &history, on).expect("a piece");
        standing(&piece, &history, &Group::fold(&history), on)
    }

    pub fn standing(&self, on: &str) -> Standing {
        self.standing_of(the_piece(), day(on))
    }

    pub fn codes(&self, on: &str) -> Vec<&'static str> {
        self.standing(on).reasons.iter().map(|why| why.reason.code()).collect()
    }

    pub fn state(&self, on: &str) -> &'static str {
        self.standing(on).state.code()
    }
}

pub fn dropped() -> Event {
    Event::Dropped { height_mm: Some(12_000), onto: None }
}

pub fn exposed(to: &str) -> Event {
    Event::Exposed { to: to.to_owned() }
}

pub fn quarantined(incident: Option<i64>) -> Event {
    Event::Quarantined { why: "gate sticks".to_owned(), incident }
}

pub fn withdrawn() -> Event {
    Event::Withdrawn { why: "worn".to_owned() }
}

pub fn restricted(to: &[&str]) -> Event {
    Event::Restricted { to: to.iter().map(|&duty| duty.to_owned()).collect() }
}

pub fn use_with(falls: &[bool]) -> Event {
    let fall = |&severe: &bool| Fall { force_n: None, from_check: None, severe };
    Event::Used(Use { rappels: 2, falls: falls.iter().map(fall).collect(), ..Use::default() })
}

pub fn groove(value: i64, interval: Option<(i64, i64)>) -> Event {
    Event::Measured(Reading { what: "groove".to_owned(), how: "photo".to_owned(), value, interval, bar_um: None })
}

pub fn inspected(clears: &[i64], remarks: &[(&str, Grade)]) -> Event {
    let remark = |&(point, grade): &(&str, Grade)| Remark {
        piece: None,
        point: point.to_owned(),
        grade,
        note: None,
        photo: None,
    };
    Event::Inspected(Inspection {
        occasion: "periodic".to_owned(),
        list: "connector 1".to_owned(),
        remarks: remarks.iter().map(remark).collect(),
        clears: clears.to_vec(),
    })
}

pub fn model(name: &str) -> Model {
    Model {
        name: name.to_owned(),
        maker: Some("Maker A".to_owned()),
        is: Description::default(),
        limits: Default::default(),
        fits: Vec::new(),
        papers: Vec::new(),
    }
}
