//! Small least-squares problems.

/// Sums of a least-squares problem in `N` unknowns: rows are added one by one, then it is solved.
#[derive(Clone)]
pub struct Normal<const N: usize> {
    matrix: [[f64; N]; N],
    right: [f64; N],
}

impl<const N: usize> Normal<N> {
    pub fn new() -> Self {
        Self { matrix: [[0.0; N]; N], right: [0.0; N] }
    }

    /// One equation `row · unknowns = value` that counts `weight` times.
    pub fn add(&mut self, row: &[f64; N], value: f64, weight: f64) {
        for i in 0..N {
            let weighted = weight * row[i];
            self.right[i] += weighted * value;
            for (sum, term) in self.matrix[i].iter_mut().zip(row) {
                *sum += weighted * term;
            }
        }
    }

    /// Makes every unknown's own term larger by a share, as Levenberg and Marquardt do.
    pub fn damp(&mut self, share: f64) {
        for i in 0..N {
            self.matrix[i][i] *= 1.0 + share;
        }
    }

    /// The unknowns; `None` where the equations do not settle them.
    pub fn solve(&self) -> Option<[f64; N]> {
        let inverse = self.inverse()?;
        let mut unknowns = [0.0; N];
        for i in 0..N {
            unknowns[i] = (0..N).map(|j| inverse[i][j] * self.right[j]).sum();
        }
        Some(unknowns)
    }

    /// The inverse of the matrix of sums: the covariance of the unknowns for equations of unit spread.
    pub fn inverse(&self) -> Option<[[f64; N]; N]> {
        let mut left = self.matrix;
        let mut inverse = [[0.0; N]; N];
        for (i, row) in inverse.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        for column in 0..N {
            let pivot = (column..N).max_by(|&a, &b| left[a][column].abs().total_cmp(&left[b][column].abs()))?;
            let size = left[pivot][column];
            let least = 1e-14 * self.matrix[column][column].abs();
            if size.is_nan() || size.abs() <= least {
                return None;
            }
            left.swap(column, pivot);
            inverse.swap(column, pivot);
            eliminate(&mut left, &mut inverse, column);
        }
        Some(inverse)
    }
}

/// One step of Gauss and Jordan: column `column` becomes that of the unit matrix.
fn eliminate<const N: usize>(left: &mut [[f64; N]; N], inverse: &mut [[f64; N]; N], column: usize) {
    let size = left[column][column];
    for j in 0..N {
        left[column][j] /= size;
        inverse[column][j] /= size;
    }
    for i in (0..N).filter(|&i| i != column) {
        let factor = left[i][column];
        for j in 0..N {
            left[i][j] -= factor * left[column][j];
            inverse[i][j] -= factor * inverse[column][j];
        }
    }
}

/// Standard deviation of what changes with some unknowns by `slopes`, from their covariance.
pub(crate) fn spread<const N: usize>(slopes: &[f64; N], covariance: &[[f64; N]; N]) -> f64 {
    let pairs = (0..N).flat_map(|i| (0..N).map(move |j| (i, j)));
    let variance: f64 = pairs.map(|(i, j)| slopes[i] * covariance[i][j] * slopes[j]).sum();
    variance.max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::Normal;

    #[test]
    fn a_line_through_points_is_found() {
        let mut normal = Normal::<2>::new();
        for x in 0..5 {
            normal.add(&[1.0, f64::from(x)], 3.0 - 0.5 * f64::from(x), 1.0);
        }
        let [start, slope] = normal.solve().expect("settled");
        assert!((start - 3.0).abs() < 1e-12 && (slope + 0.5).abs() < 1e-12);
    }

    #[test]
    fn equations_that_say_the_same_settle_nothing() {
        let mut normal = Normal::<2>::new();
        normal.add(&[1.0, 2.0], 1.0, 1.0);
        normal.add(&[2.0, 4.0], 2.0, 1.0);
        assert!(normal.solve().is_none());
    }
}
