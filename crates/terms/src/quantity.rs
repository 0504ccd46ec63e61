//! Quantities in SI base units. Units appear only where a number comes in or goes out.

/// Standard gravity in m/s², exact (CGPM 1901, resolution 2).
pub const STANDARD_GRAVITY: f64 = 9.80665;

/// One pound in kilograms, exact (international yard and pound agreement, 1959; NIST SP 811, appendix B).
pub const POUND: f64 = 0.453_592_37;

/// One inch in metres, exact (the same).
pub const INCH: f64 = 0.0254;

/// One pound-force in newtons, exact: a pound × 9.80665 m/s².
pub const POUND_FORCE: f64 = 4.448_221_615_260_5;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $( $(#[$unit_doc:meta])* $from:ident / $to:ident = $factor:expr ),+ $(,)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            $(
                $(#[$unit_doc])*
                #[must_use]
                pub const fn $from(value: f64) -> Self {
                    Self(value * $factor)
                }

                $(#[$unit_doc])*
                #[must_use]
                pub const fn $to(self) -> f64 {
                    self.0 / $factor
                }
            )+
        }
    };
}

quantity!(
    /// A force; newtons inside.
    Force,
    /// In newtons.
    from_newtons / newtons = 1.0,
    /// In kilonewtons.
    from_kn / kn = 1e3,
    /// In pounds-force.
    from_lbf / lbf = POUND_FORCE,
);

quantity!(
    /// A length; metres inside.
    Length,
    /// In metres.
    from_m / m = 1.0,
    /// In millimetres.
    from_mm / mm = 1e-3,
    /// In inches.
    from_inches / inches = INCH,
    /// In feet of twelve inches.
    from_feet / feet = 12.0 * INCH,
);

quantity!(
    /// A mass; kilograms inside.
    Mass,
    /// In kilograms.
    from_kg / kg = 1.0,
    /// In grams.
    from_g / g = 1e-3,
    /// In pounds.
    from_pounds / pounds = POUND,
    /// In ounces, a sixteenth of a pound each.
    from_ounces / ounces = POUND / 16.0,
);

quantity!(
    /// A plane angle; radians inside.
    Angle,
    /// In radians.
    from_rad / rad = 1.0,
    /// In degrees.
    from_deg / deg = core::f64::consts::PI / 180.0,
);
