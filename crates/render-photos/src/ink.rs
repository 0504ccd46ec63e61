//! The printed sheet, read from its SVG: how much ink covers each spot.

/// How black the sheet is, on a fine grid.
pub struct Ink {
    per_mm: f64,
    low: [f64; 2],
    width: usize,
    height: usize,
    cover: Vec<u8>,
    /// Half the size of the paper, mm.
    pub paper_half: [f64; 2],
}

enum Form {
    Ring { middle: [f64; 2], radius: f64, stroke: f64 },
    Box { low: [f64; 2], high: [f64; 2] },
    Sector { middle: [f64; 2], from: [f64; 2], to: [f64; 2], radius: f64 },
}

impl Ink {
    /// The ink of a page with `per_mm` grid points to the millimetre. Circles, boxes and sectors are read, words are not.
    ///
    /// # Panics
    /// Where the page is not written as the sheet is.
    #[must_use]
    pub fn read(svg: &str, per_mm: f64) -> Self {
        let view: Vec<f64> = attribute(svg, "viewBox").split(' ').map(|part| part.parse().expect("a number")).collect();
        let forms: Vec<Form> = svg.lines().filter_map(form).collect();
        let boxes: Vec<[[f64; 2]; 2]> = forms.iter().map(Form::bounds).collect();
        let low: [f64; 2] = std::array::from_fn(|i| boxes.iter().map(|b| b[0][i]).fold(f64::MAX, f64::min) - 1.0);
        let high: [f64; 2] = std::array::from_fn(|i| boxes.iter().map(|b| b[1][i]).fold(f64::MIN, f64::max) + 1.0);
        let [width, height] = std::array::from_fn(|i| ((high[i] - low[i]) * per_mm).ceil() as usize);
        let paper_half = [view[2] / 2.0, view[3] / 2.0];
        let mut ink = Self { per_mm, low, width, height, cover: vec![0; width * height], paper_half };
        for (form, bounds) in forms.iter().zip(&boxes) {
            ink.lay(form, bounds);
        }
        ink
    }

    fn lay(&mut self, form: &Form, bounds: &[[f64; 2]; 2]) {
        let cell = |i: usize, value: f64| ((value - self.low[i]) * self.per_mm).floor().max(0.0) as usize;
        let (columns, rows) =
            (cell(0, bounds[0][0])..=cell(0, bounds[1][0]), cell(1, bounds[0][1])..=cell(1, bounds[1][1]));
        for row in rows {
            for column in columns.clone() {
                let inside = (0..16).filter(|part| form.holds(self.spot(column, row, *part))).count();
                let cell = &mut self.cover[row * self.width + column];
                *cell = (*cell).max((inside * 255 / 16) as u8);
            }
        }
    }

    fn spot(&self, column: usize, row: usize, part: usize) -> [f64; 2] {
        let (right, down) = ((part % 4) as f64 * 0.25 + 0.125, (part / 4) as f64 * 0.25 + 0.125);
        [self.low[0] + (column as f64 + right) / self.per_mm, self.low[1] + (row as f64 + down) / self.per_mm]
    }

    /// Share of a spot that is black, between grid points bilinear.
    #[must_use]
    pub fn at(&self, point: [f64; 2]) -> f64 {
        let x = (point[0] - self.low[0]) * self.per_mm - 0.5;
        let y = (point[1] - self.low[1]) * self.per_mm - 0.5;
        if x < 0.0 || y < 0.0 || x >= self.width as f64 - 1.0 || y >= self.height as f64 - 1.0 {
            return 0.0;
        }
        let (column, row) = (x as usize, y as usize);
        let (right, down) = (x - column as f64, y - row as f64);
        let cell = |c: usize, r: usize| f64::from(self.cover[r * self.width + c]);
        let upper = cell(column, row) * (1.0 - right) + cell(column + 1, row) * right;
        let lower = cell(column, row + 1) * (1.0 - right) + cell(column + 1, row + 1) * right;
        (upper * (1.0 - down) + lower * down) / 255.0
    }
}

impl Form {
    fn bounds(&self) -> [[f64; 2]; 2] {
        match self {
            Self::Ring { middle, radius, stroke } => around(*middle, radius + stroke / 2.0),
            Self::Box { low, high } => [*low, *high],
            Self::Sector { middle, radius, .. } => around(*middle, *radius),
        }
    }

    fn holds(&self, [x, y]: [f64; 2]) -> bool {
        match self {
            Self::Ring { middle, radius, stroke } => {
                let (right, down) = (x - middle[0], y - middle[1]);
                ((right * right + down * down).sqrt() - radius).abs() < stroke / 2.0
            }
            Self::Box { low, high } => x > low[0] && x < high[0] && y > low[1] && y < high[1],
            Self::Sector { middle, from, to, radius } => {
                let (a, b) = ([from[0] - middle[0], from[1] - middle[1]], [to[0] - middle[0], to[1] - middle[1]]);
                let p = [x - middle[0], y - middle[1]];
                p[0] * p[0] + p[1] * p[1] < radius * radius && a[0] * p[1] > a[1] * p[0] && p[0] * b[1] > p[1] * b[0]
            }
        }
    }
}

fn around(middle: [f64; 2], reach: f64) -> [[f64; 2]; 2] {
    [[middle[0] - reach, middle[1] - reach], [middle[0] + reach, middle[1] + reach]]
}

fn form(line: &str) -> Option<Form> {
    let number = |name: &str| attribute(line, name).parse::<f64>().expect("a number");
    if line.starts_with("<circle") {
        Some(Form::Ring { middle: [number("cx"), number("cy")], radius: number("r"), stroke: number("stroke-width") })
    } else if line.starts_with("<rect") {
        let low = [number("x"), number("y")];
        Some(Form::Box { low, high: [low[0] + number("width"), low[1] + number("height")] })
    } else if line.starts_with("<path") {
        let numbers: Vec<f64> = attribute(line, "d").split(' ').filter_map(|word| word.parse().ok()).collect();
        let &[x, y, x1, y1, radius, _, _, _, _, x2, y2] = numbers.as_slice() else { panic!("a sector: {line}") };
        Some(Form::Sector { middle: [x, y], from: [x1, y1], to: [x2, y2], radius })
    } else {
        None
    }
}

fn attribute<'a>(text: &'a str, name: &str) -> &'a str {
    let opening = format!(" {name}=\"");
    let start = text.find(&opening).unwrap_or_else(|| panic!("{name} in {text}")) + opening.len();
    text[start..].split('"').next().expect("a closing quote")
}
