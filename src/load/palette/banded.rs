//! Symmetric positive definite systems whose entries lie near the diagonal.

/// The lower half of a symmetric matrix of which entries farther than `reach` from the diagonal are zero.
#[derive(Debug, Clone)]
pub(super) struct Banded {
    reach: usize,
    /// Row by row, each from `reach` places before the diagonal up to it.
    entries: Vec<f64>,
}

impl Banded {
    pub(super) fn zero(rows: usize, reach: usize) -> Self {
        Self {
            reach,
            entries: vec![0.0; rows * (reach + 1)],
        }
    }

    fn rows(&self) -> usize {
        self.entries.len() / (self.reach + 1)
    }

    /// Adds to the entry of a row and of a column up to the diagonal within reach.
    pub(super) fn add(&mut self, row: usize, column: usize, what: f64) {
        let back = row - column;
        self.entries[row * (self.reach + 1) + self.reach - back] += what;
    }

    fn at(&self, row: usize, column: usize) -> f64 {
        self.entries[row * (self.reach + 1) + self.reach + column - row]
    }

    /// The whole matrix times a vector.
    pub(super) fn times(&self, vector: &[f64]) -> Vec<f64> {
        let mut product = vec![0.0; vector.len()];
        for row in 0..self.rows() {
            for column in row.saturating_sub(self.reach)..row {
                let entry = self.at(row, column);
                product[row] += entry * vector[column];
                product[column] += entry * vector[row];
            }
            product[row] += self.at(row, row) * vector[row];
        }
        product
    }

    /// The Cholesky factor, or `None` of a matrix that is not positive definite (G. H. Golub and C. F. Van Loan, Matrix
    /// Computations, 4.3.5, from memory).
    pub(super) fn factor(mut self) -> Option<Factor> {
        for row in 0..self.rows() {
            let first = row.saturating_sub(self.reach);
            for column in first..=row {
                let from = first.max(column.saturating_sub(self.reach));
                let sum: f64 = (from..column)
                    .map(|at| self.at(row, at) * self.at(column, at))
                    .sum();
                let left = self.at(row, column) - sum;
                let entry = if column < row {
                    left / self.at(column, column)
                } else if left > 0.0 && left.is_finite() {
                    left.sqrt()
                } else {
                    return None;
                };
                let place = row * (self.reach + 1) + self.reach + column - row;
                self.entries[place] = entry;
            }
        }
        Some(Factor(self))
    }
}

/// A lower triangle that times itself turned gives a matrix.
#[derive(Debug)]
pub(super) struct Factor(Banded);

impl Factor {
    /// What the matrix turns into `right`.
    pub(super) fn solve(&self, right: &[f64]) -> Vec<f64> {
        let Self(lower) = self;
        let mut found = right.to_vec();
        for row in 0..found.len() {
            let sum: f64 = (row.saturating_sub(lower.reach)..row)
                .map(|column| lower.at(row, column) * found[column])
                .sum();
            found[row] = (found[row] - sum) / lower.at(row, row);
        }
        for row in (0..found.len()).rev() {
            found[row] /= lower.at(row, row);
            for column in row.saturating_sub(lower.reach)..row {
                found[column] -= lower.at(row, column) * found[row];
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// A matrix with a heavy diagonal, of which the answer is known.
    fn heavy(rows: usize, reach: usize) -> Banded {
        let mut matrix = Banded::zero(rows, reach);
        for row in 0..rows {
            for column in row.saturating_sub(reach)..row {
                matrix.add(
                    row,
                    column,
                    ((7 * row + 3 * column) % 11) as f64 / 11.0 - 0.5,
                );
            }
            matrix.add(row, row, 2.0 + reach as f64);
        }
        matrix
    }

    #[test]
    fn what_is_solved_gives_the_right_hand_side() {
        for (rows, reach) in [(1, 0), (2, 3), (7, 2), (40, 15)] {
            let matrix = heavy(rows, reach);
            let truth: Vec<f64> = (0..rows).map(|at| (at as f64).sin()).collect();
            let right = matrix.times(&truth);
            let found = matrix.factor().unwrap().solve(&right);
            for (found, truth) in found.iter().zip(&truth) {
                assert_abs_diff_eq!(found, truth, epsilon = 1e-12);
            }
        }
    }

    #[test]
    fn what_is_not_positive_definite_is_refused() {
        let mut matrix = Banded::zero(2, 1);
        matrix.add(0, 0, 1.0);
        matrix.add(1, 1, 1.0);
        matrix.add(1, 0, 2.0);
        assert!(matrix.factor().is_none());
        assert!(Banded::zero(3, 1).factor().is_none());
    }
}
