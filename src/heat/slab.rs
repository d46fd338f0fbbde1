//! How a tank's wall follows the charge air: the one-dimensional slab with a film on either side.

/// A wall between two films, SI units, per inner surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Thickness, m.
    pub thickness: f64,
    /// Conductivity, W/(m K).
    pub conductivity: f64,
    /// Density times specific heat, J/(m³ K).
    pub capacity: f64,
    /// Film on the charge air's side, W/(m² K).
    pub inner_film: f64,
    /// Film on the outside, radiation included, W/(m² K), times the outer-area ratio.
    pub outer_film: f64,
}

/// Terms of the series beyond which nothing is left at any time that matters (Fo above 0.001).
const TERMS: usize = 60;

impl Slab {
    /// The share of its way that the outer skin has gone, `time` seconds after the charge air stepped from one steady
    /// state to another: T_s(t) = T_start + F (T_steady − T_start), exact for such a step.
    ///
    /// F(t) = 1 − Σ C_n exp(−μ_n² Fo), with Fo = a t / L² and μ_n the positive roots of
    /// (μ² − Bi_o Bi_i) sin μ = μ (Bi_o + Bi_i) cos μ (H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, ch. III,
    /// MEMORY). The eigenfunctions, with x from the outer side, are X = cos μx + (Bi_o/μ) sin μx; the steady profile is
    /// 1 + Bi_o x, so C_n = ∫(1 + Bi_o x) X dx / ∫X² dx, integrated in closed form here.
    #[must_use]
    pub fn share(&self, time: f64) -> f64 {
        let outer = self.outer_film * self.thickness / self.conductivity;
        let inner = self.inner_film * self.thickness / self.conductivity;
        let fourier = self.conductivity * time / (self.capacity * self.thickness * self.thickness);
        let sound = [outer, inner, fourier]
            .iter()
            .all(|number| number.is_finite());
        if !sound || outer < 0.0 || inner <= 0.0 || fourier < 0.0 {
            return f64::NAN;
        }
        let mut left = 0.0;
        for index in 0..TERMS {
            let root = root(index, outer, inner);
            let faded = (-root * root * fourier).exp();
            left += amplitude(root, outer) * faded;
            if faded < 1e-10 {
                break;
            }
        }
        (1.0 - left).clamp(0.0, 1.0)
    }

    /// The time, s, after which the outer skin has gone a share of its way; NaN where a day is not enough.
    #[must_use]
    pub fn time_to(&self, share: f64) -> f64 {
        let (mut early, mut late) = (0.0_f64, 86_400.0_f64);
        if self.share(late).is_nan() || self.share(late) < share {
            return f64::NAN;
        }
        for _ in 0..60 {
            let middle = 0.5 * (early + late);
            if self.share(middle) < share {
                early = middle;
            } else {
                late = middle;
            }
        }
        late
    }
}

/// The root of the slab's equation in (nπ, (n + 1)π), n from 0.
fn root(index: usize, outer: f64, inner: f64) -> f64 {
    let start = std::f64::consts::PI * index as f64;
    let (sum, product) = (outer + inner, outer * inner);
    // With μ = nπ + θ the equation is θ = atan2(μ sum, μ² − product), whose right side falls with μ: one root, which
    // bisection on θ in (0, π) brackets and Newton's steps finish.
    let off = |theta: f64| {
        let root = start + theta;
        theta - (root * sum).atan2(root * root - product)
    };
    let (mut low, mut high) = (0.0_f64, std::f64::consts::PI);
    let mut theta = 0.5 * (low + high);
    for _ in 0..60 {
        let wrong = off(theta);
        if wrong > 0.0 {
            high = theta;
        } else {
            low = theta;
        }
        let root = start + theta;
        let square = root * root - product;
        let slope =
            1.0 + sum * (root * root + product) / (root * root * sum * sum + square * square);
        let next = theta - wrong / slope;
        let next = if next > low && next < high {
            next
        } else {
            0.5 * (low + high)
        };
        let step = (next - theta).abs();
        theta = next;
        if step < 1e-12 {
            break;
        }
    }
    start + theta
}

/// C_n of the series: the share of the steady profile 1 + Bi_o x that the n-th eigenfunction carries, at the outer skin.
fn amplitude(root: f64, outer: f64) -> f64 {
    let (sine, cosine) = root.sin_cos();
    let ratio = outer / root;
    let one = sine / root + ratio * (1.0 - cosine) / root;
    let x_cosine = sine / root + (cosine - 1.0) / (root * root);
    let x_sine = -cosine / root + sine / (root * root);
    let carried = one + outer * (x_cosine + ratio * x_sine);
    let double = sine * cosine / (2.0 * root);
    let norm = 0.5 + double + ratio * ratio * (0.5 - double) + ratio * sine * sine / root;
    carried / norm
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_series_begins_at_nothing_and_ends_at_all() {
        let slab = Slab {
            thickness: 0.003,
            conductivity: 0.3,
            capacity: 1370.0 * 1500.0,
            inner_film: 80.0,
            outer_film: 31.0,
        };
        assert_abs_diff_eq!(slab.share(1.0), 0.0, epsilon = 1e-3);
        assert_abs_diff_eq!(slab.share(3600.0), 1.0, epsilon = 1e-9);
        let shares: Vec<f64> = (0..100)
            .map(|step| slab.share(f64::from(step) * 4.0))
            .collect();
        assert!(
            shares.windows(2).all(|pair| pair[0] <= pair[1]),
            "{shares:?}"
        );
        assert_abs_diff_eq!(slab.share(slab.time_to(0.9)), 0.9, epsilon = 1e-9);
        assert!(slab.share(f64::NAN).is_nan());
    }

    #[test]
    fn roots_lie_one_in_each_stretch_and_solve_the_equation() {
        for (outer, inner) in [
            (0.3, 0.8),
            (1e-3, 2e-3),
            (8.0, 30.0),
            (0.0, 0.5),
            (4.0, 4.0),
        ] {
            for index in 0..20 {
                let found = root(index, outer, inner);
                let pi = std::f64::consts::PI;
                assert!(found > index as f64 * pi && found < (index + 1) as f64 * pi);
                let (sine, cosine) = found.sin_cos();
                let off = (found * found - outer * inner) * sine - found * (outer + inner) * cosine;
                assert_abs_diff_eq!(off / (1.0 + found * found), 0.0, epsilon = 1e-9);
            }
        }
    }
}
