//! The kinds of gear that a rack holds.

use terms::coded;

coded!(
    /// A kind of gear.
    Gear {
        /// Connector.
        Connector = "connector",
        /// Quickdraw: two connectors and a sling.
        Draw = "draw",
        /// Sewn sling or tape.
        Sling = "sling",
        /// Accessory cord.
        Cord = "cord",
        /// Rope.
        Rope = "rope",
        /// Belay device.
        BelayDevice = "belay-device",
        /// Device for rappelling and lowering.
        RappelDevice = "rappel-device",
        /// Pulley.
        Pulley = "pulley",
        /// Rope clamp.
        RopeClamp = "rope-clamp",
        /// Camming device.
        Cam = "cam",
        /// Nut or chock.
        Nut = "nut",
        /// Harness.
        Harness = "harness",
        /// Helmet.
        Helmet = "helmet",
        /// Lanyard, tether, energy absorber.
        Lanyard = "lanyard",
    }
);
