//! A connector: what is known of one, as marked and as rigged. What is `None` is unknown, never assumed.

use terms::{Force, coded};

coded!(
    /// The type letter of EN 12275:2013.
    Class {
        /// Basic.
        B = "B",
        /// HMS, for the Munter hitch; pear-shaped.
        H = "H",
        /// Klettersteig (via ferrata).
        K = "K",
        /// Specific anchor.
        A = "A",
        /// Termination.
        T = "T",
        /// Screwed closure (quick link).
        Q = "Q",
        /// Oval.
        X = "X",
    }
);

coded!(
    /// The outline of a connector.
    Shape {
        /// Wide top, narrow bottom.
        Pear = "pear",
        /// Straight spine, load close to it.
        D = "D",
        /// A D with a larger top, for a wider gate opening.
        OffsetD = "offset-D",
        /// Symmetric oval.
        Oval = "oval",
        /// A quick link.
        QuickLink = "quick-link",
    }
);

coded!(
    /// What the gate is made of.
    Gate {
        /// A bar.
        Solid = "solid",
        /// A bent wire.
        Wire = "wire",
    }
);

coded!(
    /// What keeps the gate from opening.
    Lock {
        /// Nothing but the spring.
        None = "none",
        /// A sleeve that is screwed by hand.
        Screw = "screw",
        /// An automatic lock of two movements.
        TwoAction = "two-action",
        /// An automatic lock of three movements.
        ThreeAction = "three-action",
    }
);

impl Lock {
    /// Whether it locks by itself when the gate closes.
    #[must_use]
    pub const fn is_automatic(self) -> bool {
        matches!(self, Self::TwoAction | Self::ThreeAction)
    }
}

coded!(
    /// The form of the nose, where the gate closes.
    Nose {
        /// A notch that can catch on a sling or a hanger.
        Hooked = "hooked",
        /// Smooth.
        Hookless = "hookless",
    }
);

coded!(
    /// What holds the connector in line with the load.
    Keeper {
        /// Nothing.
        None = "none",
        /// An elastic or rubber keeper.
        Elastic = "elastic",
        /// A captive bar or wire of the connector's own.
        Bar = "bar",
    }
);

/// One connector as it sits in a rig.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Connector {
    /// Its name in the rig.
    pub name: String,
    /// Its label on the rack.
    pub piece: Option<String>,
    /// Type letter.
    pub class: Option<Class>,
    /// Outline.
    pub shape: Option<Shape>,
    /// Marked strength, major axis, gate closed.
    pub closed: Option<Force>,
    /// Marked strength, major axis, gate open.
    pub open: Option<Force>,
    /// Marked strength, minor axis, gate closed.
    pub minor: Option<Force>,
    /// Gate.
    pub gate: Option<Gate>,
    /// Lock.
    pub lock: Option<Lock>,
    /// Whether the lock is done up here.
    pub locked: Option<bool>,
    /// Nose.
    pub nose: Option<Nose>,
    /// Name of the connector that stands opposite and opposed at the same point.
    pub opposed_to: Option<String>,
    /// What lies in it, spine side first: names of slings and ropes of the rig, or plain words.
    pub joins: Vec<String>,
    /// Whether it can turn across its load.
    pub free_to_turn: Option<bool>,
    /// What holds it in line.
    pub keeper: Option<Keeper>,
    /// Whether it lies over an edge.
    pub over_edge: Option<bool>,
    /// Capstan friction of a rope that runs here.
    pub friction: Option<f64>,
    /// The job it does, in the words of the trade.
    pub duty: Option<String>,
}
