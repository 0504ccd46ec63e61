//! Symmetric positive definite systems whose rows are short: stored by envelope, factored as L D Lᵀ.
//!
//! A. George, J. W.-H. Liu, Computer Solution of Large Sparse Positive Definite Systems, 1981, ch. 4. A net of
//! slings is nearly a chain or a strip once its points are well ordered, and then this is both short and fast.

/// A symmetric matrix, its lower triangle stored row by row from the first entry that may differ from zero.
#[derive(Debug, Clone)]
pub(super) struct Envelope {
    first: Vec<usize>,
    start: Vec<usize>,
    values: Vec<f64>,
}

impl Envelope {
    /// A zero matrix whose row `r` begins at column `first[r]`.
    pub fn new(first: Vec<usize>) -> Self {
        let mut start = vec![0];
        for (row, &column) in first.iter().enumerate() {
            start.push(start[row] + row + 1 - column);
        }
        let values = vec![0.0; start[first.len()]];
        Self { first, start, values }
    }

    pub fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds to an entry of the lower triangle within the envelope.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        let (row, column) = if row < column { (column, row) } else { (row, column) };
        self.values[self.start[row] + column - self.first[row]] += value;
    }

    pub fn add_to_diagonal(&mut self, value: f64) {
        for row in 0..self.first.len() {
            self.values[self.start[row + 1] - 1] += value;
        }
    }

    /// Solves A x = b in place; the matrix becomes its factor. False where a pivot is not positive.
    pub fn solve(&mut self, right: &mut [f64]) -> bool {
        self.factor() && {
            self.substitute(right);
            true
        }
    }

    fn factor(&mut self) -> bool {
        for row in 0..self.first.len() {
            let (above, current) = self.values.split_at_mut(self.start[row]);
            let current = &mut current[..=row - self.first[row]];
            let first = self.first[row];
            // First the products L D, column by column; then divide by D.
            for column in first..row {
                let from = first.max(self.first[column]);
                let other = &above[self.start[column] + from - self.first[column]..self.start[column + 1] - 1];
                let sum = dot(&current[from - first..column - first], other);
                current[column - first] -= sum;
            }
            let mut pivot = current[row - first];
            for column in first..row {
                let factor = current[column - first] / above[self.start[column + 1] - 1];
                pivot -= factor * current[column - first];
                current[column - first] = factor;
            }
            if pivot <= 0.0 {
                return false;
            }
            current[row - first] = pivot;
        }
        true
    }

    fn substitute(&self, right: &mut [f64]) {
        for row in 0..self.first.len() {
            let entries = &self.values[self.start[row]..self.start[row + 1] - 1];
            let sum = dot(entries, &right[self.first[row]..row]);
            right[row] -= sum;
        }
        for (value, &end) in right.iter_mut().zip(&self.start[1..]) {
            *value /= self.values[end - 1];
        }
        for row in (0..self.first.len()).rev() {
            let value = right[row];
            let entries = &self.values[self.start[row]..self.start[row + 1] - 1];
            for (other, entry) in right[self.first[row]..row].iter_mut().zip(entries) {
                *other -= entry * value;
            }
        }
    }
}

/// The inner product, summed in four strands so that it does not wait for itself.
fn dot(left: &[f64], right: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (left_quads, right_quads) = (left.chunks_exact(4), right.chunks_exact(4));
    let rest: f64 = left_quads.remainder().iter().zip(right_quads.remainder()).map(|(a, b)| a * b).sum();
    for (a, b) in left_quads.zip(right_quads) {
        for lane in 0..4 {
            sums[lane] += a[lane] * b[lane];
        }
    }
    rest + (sums[0] + sums[1]) + (sums[2] + sums[3])
}

/// An order of the points that keeps neighbours close: E. Cuthill, J. McKee, 1969, reversed (A. George, 1971).
pub(super) fn neighbourly_order(neighbours: &[Vec<usize>]) -> Vec<usize> {
    let mut order = Vec::with_capacity(neighbours.len());
    let mut seen = vec![false; neighbours.len()];
    while let Some(start) = (0..neighbours.len()).filter(|&node| !seen[node]).min_by_key(|&node| neighbours[node].len())
    {
        let start = farthest(neighbours, start);
        seen[start] = true;
        let mut next = order.len();
        order.push(start);
        while next < order.len() {
            let mut fresh: Vec<usize> = neighbours[order[next]].iter().copied().filter(|&node| !seen[node]).collect();
            fresh.sort_by_key(|&node| neighbours[node].len());
            fresh.dedup();
            fresh.iter().for_each(|&node| seen[node] = true);
            order.extend(fresh);
            next += 1;
        }
    }
    order.reverse();
    order
}

/// A point as far from `start` as any, in steps from neighbour to neighbour.
fn farthest(neighbours: &[Vec<usize>], start: usize) -> usize {
    let mut seen = vec![false; neighbours.len()];
    seen[start] = true;
    let mut reached = vec![start];
    let mut next = 0;
    while next < reached.len() {
        for &node in &neighbours[reached[next]] {
            if !seen[node] {
                seen[node] = true;
                reached.push(node);
            }
        }
        next += 1;
    }
    reached[reached.len() - 1]
}
