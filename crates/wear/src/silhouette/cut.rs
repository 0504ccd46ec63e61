//! A first cut-out of the piece: what in the field is much darker than the paper would be there.

use crate::camera::Camera;
use crate::linear::Normal;
use crate::photo::Light;
use crate::plane::{Point, area, median};
use crate::sheet::sheet;
use crate::trouble::{PhotoTrouble, Trouble};
use contour::ContourBuilder;

/// A rough cut-out: closed lines with the metal to their left, so that a quarter turn back from their direction is out of it.
pub struct CutOut {
    pub outer: Vec<Point>,
    pub inner: Vec<Point>,
    pub paper: Paper,
}

/// Side of a cell of the field, mm.
const CELL_MM: f64 = 0.25;
/// Side of a block over which the light of the paper is taken, in cells.
const BLOCK: usize = 40;
/// Least area of a piece with its opening, and of its opening, mm².
const LEAST_PIECE_MM2: f64 = 700.0;
const LEAST_OPENING_MM2: f64 = 150.0;

/// Metal is told from shadow up to this share of the paper's light; what is darker than `PALE` may be metal all the same.
const BRIGHTEST_METAL: f64 = 0.6;
const PALE: f64 = 0.85;

/// The field seen from above, cell by cell.
struct Field {
    width: usize,
    height: usize,
    light: Vec<f64>,
}

/// Something dark: the line around it and those around its openings, on the sheet, mm.
struct Shape {
    outer: Vec<Point>,
    openings: Vec<Vec<Point>>,
}

/// The light of bare paper over the field: a surface of second degree.
pub struct Paper([f64; 6]);

impl Paper {
    pub fn at(&self, point: Point) -> f64 {
        terms(point).iter().zip(&self.0).map(|(a, b)| a * b).sum()
    }
}

fn terms(point: Point) -> [f64; 6] {
    let [x, y] = [point[0] / 100.0, point[1] / 100.0];
    [1.0, x, y, x * x, x * y, y * y]
}

/// Cuts the piece out.
pub fn cut_out(light: &Light, camera: &Camera) -> Result<CutOut, Trouble> {
    let field = Field::see(light, camera);
    let paper = field.paper().ok_or(Trouble::plain(PhotoTrouble::NoPiece))?;
    let shares = field.shares(&paper);
    let shapes = field.shapes(&shares, threshold(&shares));
    let piece = field.largest_inside(&shapes).map_err(|trouble| field.or_pale(&shares, trouble))?;
    let opening = opening(piece)?;
    Ok(CutOut { outer: turned(&piece.outer, 1.0), inner: turned(opening, -1.0), paper })
}

impl Field {
    fn see(light: &Light, camera: &Camera) -> Self {
        let width = (2.0 * sheet().field_half_width_mm / CELL_MM) as usize;
        let height = (2.0 * sheet().field_half_height_mm / CELL_MM) as usize;
        let factor = (CELL_MM * camera.pixels_per_mm([0.0, 0.0])).floor().max(1.0) as usize;
        let small = light.smaller(factor);
        let middle = (factor as f64 - 1.0) / 2.0;
        let mut field = Self { width, height, light: vec![0.0; width * height] };
        for cell in 0..width * height {
            let [x, y] = camera.project(field.place((cell % width) as f64, (cell / width) as f64), 0.0);
            field.light[cell] = small.between((x - middle) / factor as f64, (y - middle) / factor as f64);
        }
        field
    }

    fn place(&self, column: f64, row: f64) -> Point {
        [(column + 0.5) * CELL_MM - sheet().field_half_width_mm, (row + 0.5) * CELL_MM - sheet().field_half_height_mm]
    }

    /// The light of the paper, from what is bright in each block; blocks that do not go with the others do not count.
    fn paper(&self) -> Option<Paper> {
        let mut blocks: Vec<(Point, f64)> = Vec::new();
        for top in (0..self.height).step_by(BLOCK) {
            for left in (0..self.width).step_by(BLOCK) {
                let (down, right) = ((top + BLOCK).min(self.height), (left + BLOCK).min(self.width));
                let mut cells: Vec<f64> = (top..down)
                    .flat_map(|row| self.light[row * self.width + left..row * self.width + right].to_vec())
                    .collect();
                let bright = cells.len() * 3 / 4;
                let value = *cells.select_nth_unstable_by(bright, f64::total_cmp).1;
                blocks.push((self.place((left + right) as f64 / 2.0, (top + down) as f64 / 2.0), value));
            }
        }
        let level = median(&mut blocks.iter().map(|block| block.1).collect::<Vec<_>>());
        let mut paper = Paper([level, 0.0, 0.0, 0.0, 0.0, 0.0]);
        for tolerance in [0.35, 0.2, 0.12, 0.08, 0.08] {
            let mut normal = Normal::<6>::new();
            for (place, value) in &blocks {
                let expected = paper.at(*place);
                // Darker than the rest is common (metal, shadow), brighter is glare.
                if (value - expected).abs() < tolerance * expected {
                    normal.add(&terms(*place), *value, 1.0);
                }
            }
            paper = Paper(normal.solve()?);
        }
        (paper.at([0.0, 0.0]) > 0.0).then_some(paper)
    }

    /// Light as a share of the paper's, cell by cell.
    fn shares(&self, paper: &Paper) -> Vec<f64> {
        (0..self.light.len())
            .map(|cell| {
                let place = self.place((cell % self.width) as f64, (cell / self.width) as f64);
                self.light[cell] / paper.at(place).max(1e-6)
            })
            .collect()
    }

    /// All that is darker than `dark`, its lines running between the cells.
    fn shapes(&self, shares: &[f64], dark: f64) -> Vec<Shape> {
        let darkness: Vec<f64> = shares.iter().map(|share| -share).collect();
        let corner = self.place(-0.5, -0.5);
        let found = ContourBuilder::new(self.width, self.height, true)
            .x_origin(corner[0])
            .y_origin(corner[1])
            .x_step(CELL_MM)
            .y_step(CELL_MM)
            .contours(&darkness, &[-dark])
            .expect("a share for each cell");
        let line = |ring: &geo_types::LineString| ring.coords().skip(1).map(|place| [place.x, place.y]).collect();
        let shapes = found.into_iter().flat_map(|level| level.into_inner().0);
        shapes
            .map(|shape| Shape {
                outer: line(shape.exterior()),
                openings: shape.interiors().iter().map(line).collect(),
            })
            .collect()
    }

    /// Where no piece was found: whether there is one that is hardly darker than the paper.
    fn or_pale(&self, shares: &[f64], trouble: Trouble) -> Trouble {
        let is_pale = trouble.code == PhotoTrouble::NoPiece && self.largest_inside(&self.shapes(shares, PALE)).is_ok();
        if !is_pale {
            return trouble;
        }
        let mut pale: Vec<f64> = shares.iter().copied().filter(|share| *share < PALE).collect();
        Trouble::beyond(PhotoTrouble::TooPale, 1.0 - median(&mut pale), 1.0 - BRIGHTEST_METAL)
    }

    /// The largest dark thing in the field, which must not reach its edge.
    fn largest_inside<'a>(&self, shapes: &'a [Shape]) -> Result<&'a Shape, Trouble> {
        let large = || shapes.iter().filter(|shape| size(&shape.outer) > LEAST_PIECE_MM2);
        let inside = large().filter(|shape| self.holds(&shape.outer));
        match inside.max_by(|a, b| size(&a.outer).total_cmp(&size(&b.outer))) {
            Some(shape) => Ok(shape),
            None if large().next().is_some() => Err(Trouble::plain(PhotoTrouble::PieceCutOff)),
            None => Err(Trouble::plain(PhotoTrouble::NoPiece)),
        }
    }

    /// Whether a line stays clear of the field's outermost cells.
    fn holds(&self, line: &[Point]) -> bool {
        let [left, top] = self.place(0.5, 0.5);
        let [right, bottom] = self.place(self.width as f64 - 1.5, self.height as f64 - 1.5);
        line.iter().all(|&[x, y]| x > left && x < right && y > top && y < bottom)
    }
}

/// A line that turns from x towards y for `sense` 1.
fn turned(line: &[Point], sense: f64) -> Vec<Point> {
    let mut line = line.to_vec();
    if area(&line) * sense < 0.0 {
        line.reverse();
    }
    line
}

/// What a line encloses, mm².
fn size(line: &[Point]) -> f64 {
    area(line).abs()
}

/// The largest hole of a piece.
fn opening(piece: &Shape) -> Result<&Vec<Point>, Trouble> {
    let large = piece.openings.iter().filter(|line| size(line) > LEAST_OPENING_MM2);
    large.max_by(|a, b| size(a).total_cmp(&size(b))).ok_or(Trouble::beyond(
        PhotoTrouble::OutlineOpen,
        1.0,
        super::MISSING,
    ))
}

/// The share of the paper's light that parts metal from paper best, by the variance between both (Otsu N., 1979), within bounds
/// that keep shadows out and dark metal in.
fn threshold(shares: &[f64]) -> f64 {
    const STEPS: usize = 120;
    let mut counts = [0.0; STEPS];
    for share in shares {
        counts[((share * 100.0).max(0.0) as usize).min(STEPS - 1)] += 1.0;
    }
    let whole: f64 = counts.iter().sum();
    let moment: f64 = counts.iter().enumerate().map(|(step, count)| step as f64 * count).sum();
    let (mut below, mut below_moment, mut best) = (0.0, 0.0, (0.0, 0));
    for (step, count) in counts.iter().enumerate() {
        below += count;
        below_moment += step as f64 * count;
        if below > 0.0 && below < whole {
            let gap = below_moment / below - (moment - below_moment) / (whole - below);
            let between = below * (whole - below) * gap * gap;
            best = if between > best.0 { (between, step) } else { best };
        }
    }
    (best.1 as f64 / 100.0 + 0.01).clamp(0.3, BRIGHTEST_METAL)
}
