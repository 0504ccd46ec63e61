//! Photos set up one by one, for tests: everything plain and known, to be changed where a test wants it.

use crate::film::{self, Film};
use crate::ink::Ink;
use crate::piece::{Groove, Piece, Shape};
use crate::scene::{Finger, Lay, Look, Scene};
use crate::view::{Pose, View};

/// A photo to be: what lies where, how the camera is held, what it does.
#[derive(Debug, Clone)]
pub struct Stage {
    /// The connector, if there is one.
    pub shape: Option<Shape>,
    /// What is worn.
    pub groove: Groove,
    /// How it lies.
    pub lay: Lay,
    /// Light and surface.
    pub look: Look,
    /// Fingers in the picture.
    pub fingers: Vec<Finger>,
    /// How high the paper's ends stand up, mm.
    pub curl: f64,
    /// Pixels across and down.
    pub size: [usize; 2],
    /// How the camera is held.
    pub pose: Pose,
    /// What it does to the light.
    pub film: Film,
}

/// A connector like a D.
#[must_use]
pub fn shape() -> Shape {
    Shape {
        corners: [[-46.0, -20.0], [46.0, -20.0], [44.0, 17.0], [-44.0, 17.0]],
        bends: [7.0, 8.0, 8.0, 7.0],
        bar_radius: 5.0,
        gate: [0.1, 0.9],
        groove_at: 0.5,
    }
}

impl Stage {
    /// A sound connector seen from above by even daylight.
    #[must_use]
    pub fn plain() -> Self {
        Self {
            shape: Some(shape()),
            groove: Groove { depth: 0.0, reach: 4.0, power: 1.5 },
            lay: Lay { at: [0.0, 0.0], turn: 0.0 },
            look: Look {
                paper: [0.7; 3],
                gradient: [0.0; 2],
                metal: [0.1; 3],
                glare: 0.3,
                lamp: [0.3, 0.2],
                shadow: 0.15,
                softness: 3.0,
                corner: 0.1,
            },
            fingers: Vec::new(),
            curl: 0.0,
            size: [2000, 1500],
            pose: Pose { tilt_deg: 5.0, side: 0.6, roll: 0.05, target: [1.0, -2.0], distance: 250.0 },
            film: Film { blur: 0.8, sharpening: 0.2, noise: 0.002, quality: 92, seed: 1, orientation: 1 },
        }
    }

    /// The same with a groove of a depth, mm.
    #[must_use]
    pub fn worn(mut self, depth: f64) -> Self {
        self.groove.depth = depth;
        self
    }

    /// Its camera.
    #[must_use]
    pub fn view(&self) -> View {
        View::new(self.size, 0.75, [0.02, -0.01], &self.pose)
    }

    /// The bytes of the photo.
    #[must_use]
    pub fn take(&self, ink: &Ink) -> Vec<u8> {
        film::take(&self.scene(ink, self.piece().as_ref()), &self.view(), &self.film)
    }

    /// Its pixels before they become a JPEG.
    #[must_use]
    pub fn pixels(&self, ink: &Ink) -> Vec<u8> {
        film::pixels(&self.scene(ink, self.piece().as_ref()), &self.view(), &self.film)
    }

    fn piece(&self) -> Option<Piece> {
        self.shape.as_ref().map(|shape| Piece::new(shape).worn(self.groove, 0.0))
    }

    fn scene<'a>(&self, ink: &'a Ink, piece: Option<&'a Piece>) -> Scene<'a> {
        Scene { ink, piece, lay: self.lay, look: self.look.clone(), fingers: self.fingers.clone(), curl: self.curl }
    }
}
