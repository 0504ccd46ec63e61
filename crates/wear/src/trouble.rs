//! Why a photo cannot be measured, and what to know about one that was: closed codes, with words in the texts file.

use terms::coded;

coded!(
    /// Why a photo cannot be measured.
    PhotoTrouble {
        /// Neither a JPEG nor a PNG, or broken.
        Unreadable = "unreadable",
        /// More bytes or pixels than are taken. Values: how many, how many at most.
        TooLarge = "too-large",
        /// Too few pixels. Values: how many, how many at least.
        TooSmall = "too-small",
        /// The length of the scale bar that was typed is too far off. Values: millimetres, what it should be.
        ScaleBarOff = "scale-bar-off",
        /// Too few marks of the sheet. Values: how many, how many at least.
        TooFewMarks = "too-few-marks",
        /// Marks and flat paper do not go together. Values: misfit in millimetres, what is allowed.
        PaperNotFlat = "paper-not-flat",
        /// Taken too much from the side. Values: degrees, what is allowed.
        TooTilted = "too-tilted",
        /// Edges are spread too wide. Values: spread in millimetres, what is allowed.
        Blurred = "blurred",
        /// The edge of the piece is hardly darker than the paper. Values: contrast, what is needed.
        TooPale = "too-pale",
        /// No piece in the field.
        NoPiece = "no-piece",
        /// The piece, or something that touches it, crosses the edge of the field.
        PieceCutOff = "piece-cut-off",
        /// The outline has gaps. Values: share that is missing, what is allowed.
        OutlineOpen = "outline-open",
        /// The piece is not the shape of the reference. Values: misfit in millimetres, what is allowed.
        OtherShape = "other-shape",
    }
);

coded!(
    /// What to know about a measurement.
    PhotoNote {
        /// A silhouette cannot show a sharp edge: feel for it. Always there.
        FeelTheEdge = "feel-the-edge",
        /// The groove does not stand out from the noise.
        NoGrooveSeen = "no-groove-seen",
        /// The height of the bar was not typed: a common one was taken, and the interval is wider for it.
        BarHeightAssumed = "bar-height-assumed",
        /// The scale bar was not typed: the print is taken to be true to scale.
        ScaleBarAssumed = "scale-bar-assumed",
        /// Some marks were hidden. Value: how many were seen.
        MarksHidden = "marks-hidden",
        /// The piece lay on its other side.
        TurnedOver = "turned-over",
        /// The look at a deep groove is so slanted that its rim may hide its bottom; degrees.
        RimMayHide = "rim-may-hide",
    }
);

/// A photo that cannot be measured: the reason, and what was found against what is allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trouble {
    /// The reason.
    pub code: PhotoTrouble,
    /// What was found, in the unit that the reason names; 0 where it has none.
    pub found: f64,
    /// What is allowed, in the same unit; 0 where it has none.
    pub allowed: f64,
}

impl Trouble {
    pub(crate) const fn plain(code: PhotoTrouble) -> Self {
        Self { code, found: 0.0, allowed: 0.0 }
    }

    pub(crate) const fn beyond(code: PhotoTrouble, found: f64, allowed: f64) -> Self {
        Self { code, found, allowed }
    }
}

impl std::fmt::Display for Trouble {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "{}: {:.3}, allowed {:.3}", self.code.code(), self.found, self.allowed)
    }
}

impl std::error::Error for Trouble {}
