//! Scatter between runs, pooled over the coolers, as a term of each figure's draws.

use super::draw::Stream;

/// The scatter of one quantity between the runs of the same cooler.
///
/// Pooled as s² = ΣΣ (q − q̄)² / ν with ν = Σ (n − 1) (GUM, JCGM 100:2008, 4.2.4). Each draw takes one χ²_ν / ν for the
/// quantity, shared by the coolers, and one normal for each cooler: + s/√n · z / √(χ²_ν/ν), which is Student's t
/// (JCGM 101:2008, 6.4.9).
#[derive(Debug, Clone, PartialEq)]
pub struct Pool {
    /// What names its random numbers, for instance the quantity's identifier.
    pub name: String,
    /// Degrees of freedom ν, at least 1.
    pub freedom: f64,
    /// One term for each cooler that has the quantity.
    pub terms: Vec<Term>,
}

/// One cooler's share of a pool.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// The cooler's key.
    pub name: String,
    /// The normals it is made of: what names their random numbers, and the standard deviation of each. Terms of one pool
    /// share the normals of the same name.
    pub parts: Vec<(String, f64)>,
}

impl Term {
    /// Standard deviation of this term less another of the same pool.
    #[must_use]
    pub fn standard_less(&self, other: Option<&Self>) -> f64 {
        let less = other.map_or(&[][..], |other| &other.parts);
        let of = |parts: &[(String, f64)], name: &str| -> f64 {
            let alike = parts.iter().filter(|part| part.0 == name);
            alike.map(|part| part.1).sum()
        };
        let only_less = less
            .iter()
            .filter(|(name, _)| !self.parts.iter().any(|own| own.0 == *name));
        let own = self
            .parts
            .iter()
            .map(|(name, standard)| standard - of(less, name));
        own.chain(only_less.map(|part| part.1))
            .map(|standard| standard * standard)
            .sum::<f64>()
            .sqrt()
    }
}

/// The pooled standard deviation of groups of values, each about its own mean, and its degrees of freedom; `None` where no
/// group has two (GUM 4.2.4).
pub fn pooled<'a>(groups: impl IntoIterator<Item = &'a Vec<f64>>) -> Option<(f64, f64)> {
    let mut freedom = 0.0;
    let mut squares = 0.0;
    for values in groups.into_iter().filter(|values| !values.is_empty()) {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        squares += values
            .iter()
            .map(|value| (value - mean) * (value - mean))
            .sum::<f64>();
        freedom += values.len() as f64 - 1.0;
    }
    (freedom >= 1.0).then(|| ((squares / freedom).sqrt(), freedom))
}

impl Pool {
    /// Pools the values of several coolers' runs, or takes their scatter as `planned` where that is given; `None` where no
    /// cooler has two.
    #[must_use]
    pub fn of(name: &str, coolers: &[(String, Vec<f64>)], planned: Option<f64>) -> Option<Self> {
        let (shown, freedom) = pooled(coolers.iter().map(|(_, values)| values))?;
        let deviation = planned.unwrap_or(shown);
        let terms = coolers
            .iter()
            .filter(|(_, values)| !values.is_empty())
            .map(|(key, values)| Term {
                name: key.clone(),
                parts: vec![(
                    format!("cooler {key}"),
                    deviation / (values.len() as f64).sqrt(),
                )],
            })
            .collect();
        Some(Self {
            name: name.to_owned(),
            freedom,
            terms,
        })
    }
}

/// The streams of a pool.
#[derive(Debug)]
pub(super) struct Draws {
    freedom: f64,
    chi_square: Stream,
    normals: Vec<Stream>,
    /// For each term its normals, by index, with the standard deviation of each.
    terms: Vec<Vec<(usize, f64)>>,
}

impl Draws {
    pub(super) fn new(pool: &Pool, seed: u64) -> Self {
        let stream = |name: &str| Stream::new(seed, &format!("scatter of {}: {name}", pool.name));
        let mut names: Vec<&str> = Vec::new();
        let mut terms = Vec::new();
        for term in &pool.terms {
            let mut parts = Vec::new();
            for (name, standard) in &term.parts {
                let known = names.iter().position(|other| other == name);
                let index = known.unwrap_or_else(|| {
                    names.push(name);
                    names.len() - 1
                });
                parts.push((index, *standard));
            }
            terms.push(parts);
        }
        Self {
            freedom: pool.freedom,
            chi_square: stream("pooled"),
            normals: names.iter().map(|name| stream(name)).collect(),
            terms,
        }
    }

    /// Fills one column for each of the pool's terms with a block of draws.
    pub(super) fn fill(&self, block: u64, draws: usize, columns: &mut [f64]) {
        let mut chi_square = self.chi_square.block(block);
        let roots: Vec<f64> = (0..draws)
            .map(|_| chi_square.reduced_chi_square(self.freedom).sqrt())
            .collect();
        columns[..self.terms.len() * draws].fill(0.0);
        for (index, stream) in self.normals.iter().enumerate() {
            let mut normal = stream.block(block);
            let students: Vec<f64> = roots.iter().map(|root| normal.normal() / root).collect();
            for (parts, column) in self.terms.iter().zip(columns.chunks_mut(draws)) {
                for (_, standard) in parts.iter().filter(|(part, _)| *part == index) {
                    let students = column.iter_mut().zip(&students);
                    students.for_each(|(value, student)| *value += standard * student);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn scatter_is_pooled_over_coolers() {
        let coolers = [
            ("a".to_owned(), vec![1.0, 3.0]),
            ("b".to_owned(), vec![10.0, 11.0, 12.0]),
            ("c".to_owned(), vec![5.0]),
        ];
        let pool = Pool::of("outlet_surface", &coolers, None).unwrap();
        // Squares 2 and 2 over ν = 1 + 2 + 0.
        let deviation = (4.0_f64 / 3.0).sqrt();
        assert_eq!(pool.freedom, 3.0);
        let standards: Vec<f64> = pool
            .terms
            .iter()
            .map(|term| term.standard_less(None))
            .collect();
        assert_relative_eq!(standards[0], deviation / 2_f64.sqrt());
        assert_relative_eq!(standards[1], deviation / 3_f64.sqrt());
        assert_relative_eq!(standards[2], deviation);
    }

    #[test]
    fn what_two_terms_share_cancels_between_them() {
        let term = |parts: &[(&str, f64)]| Term {
            name: String::new(),
            parts: parts
                .iter()
                .map(|&(name, standard)| (name.to_owned(), standard))
                .collect(),
        };
        let a = term(&[("run 1", 0.5), ("run 2", 0.5)]);
        let b = term(&[("run 2", 0.5), ("run 3", 1.0)]);
        assert_relative_eq!(a.standard_less(None), 0.5_f64.sqrt());
        assert_relative_eq!(a.standard_less(Some(&b)), 1.25_f64.sqrt());
        assert_relative_eq!(a.standard_less(Some(&a)), 0.0);
        let draws = |term: &Term| {
            let pool = Pool {
                name: "x".into(),
                freedom: 1e6,
                terms: vec![term.clone(), b.clone()],
            };
            let mut columns = vec![0.0; 2 * 20_000];
            Draws::new(&pool, 7).fill(0, 20_000, &mut columns);
            let (own, other) = columns.split_at(20_000);
            let squares: f64 = own.iter().zip(other).map(|(a, b)| (a - b) * (a - b)).sum();
            (squares / 20_000.0).sqrt()
        };
        assert_relative_eq!(draws(&a), 1.25_f64.sqrt(), max_relative = 0.02);
        assert_relative_eq!(draws(&b), 0.0);
    }

    #[test]
    fn single_runs_have_no_scatter_to_pool() {
        assert!(
            Pool::of(
                "x",
                &[("a".to_owned(), vec![1.0]), ("b".to_owned(), vec![2.0])],
                None
            )
            .is_none()
        );
    }

    #[test]
    fn a_term_is_students_t() {
        let pool = Pool {
            name: "x".into(),
            freedom: 4.0,
            terms: vec![Term {
                name: "a".into(),
                parts: vec![("cooler a".into(), 1.0)],
            }],
        };
        let mut column = vec![0.0; 200_000];
        let draws = column.len();
        Draws::new(&pool, 3).fill(0, draws, &mut column);
        column.sort_unstable_by(f64::total_cmp);
        // t(0.975, ν = 4) = 2.776445 (scipy.stats.t.ppf).
        assert_relative_eq!(column[195_000], 2.776_445, max_relative = 0.02);
        assert_relative_eq!(column[5_000], -2.776_445, max_relative = 0.02);
    }
}
