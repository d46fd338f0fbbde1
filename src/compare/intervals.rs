//! How sure each reading, quantity and difference is: what is asked of the Monte Carlo, and its answers.

use std::collections::{BTreeMap, HashMap};

use super::drift::Trend;
use super::quantities::Quantities;
use crate::correct::Reading;
use crate::model::{Model, Slot, Values};
use crate::quantity::QuantityId;
use crate::session::{BetweenRuns, Cooler, Scatter, Session, Tank};
use crate::uncertainty::{Figure, Interval, Pool, Settings, Term, pooled, simulate};

/// The answers.
#[derive(Debug)]
pub(super) struct Intervals {
    slots: HashMap<Slot, Interval>,
    coolers: HashMap<(usize, QuantityId), Interval>,
    differences: HashMap<(usize, QuantityId), Interval>,
    pools: BTreeMap<QuantityId, usize>,
}

/// What a figure that is asked for stands for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Asked {
    /// Any slot, without the scatter between runs.
    Slot(Slot),
    /// A cooler's quantity.
    Cooler(usize, QuantityId),
    /// A candidate's quantity less the baseline's.
    Difference(usize, QuantityId),
}

/// Every quantity of every cooler and every difference as figures of the Monte Carlo, and the scatter that they have.
pub(super) fn of_coolers(
    session: &Session,
    quantities: &Quantities,
    central: &Values,
) -> (Vec<Pool>, Vec<(Asked, Figure)>) {
    let (pools, of_quantity) = pools(session, quantities, central);
    let terms = Terms {
        session,
        quantities,
        pools: &pools,
        of_quantity: &of_quantity,
    };
    let asked = (0..session.coolers.len())
        .flat_map(|cooler| terms.of_cooler(cooler))
        .collect();
    (pools, asked)
}

impl Intervals {
    /// Asks the Monte Carlo for all of them at once.
    pub(super) fn work_out(
        session: &Session,
        readings: &[Reading],
        quantities: &Quantities,
        further: &[Slot],
        model: &Model,
        central: &Values,
        settings: Settings,
    ) -> Self {
        let (pools, of_quantity) = pools(session, quantities, central);
        let mut asked: Vec<(Asked, Figure)> = Vec::new();
        for slot in slots(readings, quantities, further, session.coolers.len()) {
            asked.push((
                Asked::Slot(slot),
                Figure {
                    slot,
                    less: None,
                    scatter: None,
                    less_scatter: None,
                },
            ));
        }
        let terms = Terms {
            session,
            quantities,
            pools: &pools,
            of_quantity: &of_quantity,
        };
        for cooler in 0..session.coolers.len() {
            asked.extend(terms.of_cooler(cooler));
        }
        let figures: Vec<Figure> = asked.iter().map(|(_, figure)| *figure).collect();
        let answers = simulate(model, &pools, &figures, settings);
        let mut intervals = Self {
            slots: HashMap::new(),
            coolers: HashMap::new(),
            differences: HashMap::new(),
            pools: of_quantity,
        };
        for ((asked, _), interval) in asked.into_iter().zip(answers) {
            match asked {
                Asked::Slot(slot) => intervals.slots.insert(slot, interval).map(|_| ()),
                Asked::Cooler(cooler, id) => {
                    intervals.coolers.insert((cooler, id), interval).map(|_| ())
                }
                Asked::Difference(cooler, id) => intervals
                    .differences
                    .insert((cooler, id), interval)
                    .map(|_| ()),
            };
        }
        intervals
    }

    pub(super) fn of_slot(&self, slot: Slot) -> Option<&Interval> {
        self.slots.get(&slot)
    }

    pub(super) fn of_cooler(&self, cooler: usize, quantity: QuantityId) -> Option<&Interval> {
        self.coolers.get(&(cooler, quantity))
    }

    /// Of a candidate less the baseline.
    pub(super) fn of_difference(
        &self,
        candidate: usize,
        quantity: QuantityId,
    ) -> Option<&Interval> {
        self.differences.get(&(candidate, quantity))
    }

    /// Whether any cooler has a quantity from more than one run, so that the scatter between runs is known.
    pub(super) fn scatter_is_known(&self, quantity: QuantityId) -> bool {
        self.pools.contains_key(&quantity)
    }
}

/// How sure a candidate's difference to the baseline is in a model that was changed: with its own scatter between runs.
pub(super) fn difference(
    session: &Session,
    quantities: &Quantities,
    model: &Model,
    (candidate, quantity): (usize, QuantityId),
    settings: Settings,
) -> Option<Interval> {
    let (pools, of_quantity) = pools(session, quantities, &model.central());
    let terms = Terms {
        session,
        quantities,
        pools: &pools,
        of_quantity: &of_quantity,
    };
    let figure = terms.difference(candidate, quantity)?;
    simulate(model, &pools, &[figure], settings).pop()
}

/// Every slot whose doubt is wanted without the scatter between holds, each once: of the readings, of coolers' skins,
/// and whatever else is asked for.
fn slots(
    readings: &[Reading],
    quantities: &Quantities,
    further: &[Slot],
    coolers: usize,
) -> Vec<Slot> {
    let skins = (0..coolers)
        .filter_map(|cooler| quantities.of_cooler(cooler))
        .flat_map(|slots| {
            Tank::BOTH
                .into_iter()
                .filter_map(|tank| slots.get(&tank.skin()).copied())
        });
    let mut slots: Vec<Slot> = readings
        .iter()
        .flat_map(|reading| [reading.emissivity, reading.reflected, reading.skin])
        .flatten()
        .chain(skins)
        .chain(further.iter().copied())
        .collect();
    slots.sort_unstable();
    slots.dedup();
    slots
}

/// Scatter between runs, pooled over the coolers, for each quantity that has any.
fn pools(
    session: &Session,
    quantities: &Quantities,
    central: &Values,
) -> (Vec<Pool>, BTreeMap<QuantityId, usize>) {
    let mut pools = Vec::new();
    let mut of_quantity = BTreeMap::new();
    if session.scatter == Scatter::Drawn {
        return (pools, of_quantity);
    }
    for &id in QuantityId::ALL {
        let values: Vec<(String, Vec<f64>)> = session
            .coolers
            .iter()
            .enumerate()
            .map(|(index, cooler)| {
                let values = of_runs(session, quantities, central, index, id);
                (cooler.key.clone(), values)
            })
            .collect();
        let planned = planned(session, quantities, id);
        let about_a_drift = quantities.trends.get(&id).and_then(|trend| {
            let shown = || about_drift(quantities, central, (id, trend));
            Some(drift_pool(session, (id, trend), planned.or_else(shown)?))
        });
        if let Some(pool) = about_a_drift.or_else(|| Pool::of(id.id(), &values, planned)) {
            of_quantity.insert(id, pools.len());
            pools.push(pool);
        }
    }
    (pools, of_quantity)
}

/// Standard deviation between runs that a plan takes a quantity to have, in its base unit: about its drift where that is
/// taken out. `None` where nothing is planned.
pub(super) fn planned(session: &Session, quantities: &Quantities, id: QuantityId) -> Option<f64> {
    let Scatter::Planned(between_runs) = &session.scatter else {
        return None;
    };
    let taken_out = quantities.trends.contains_key(&id);
    Some(between_runs.get(&id)?.less_drift(taken_out))
}

/// Scatter between the runs of a cooler, pooled over the coolers, in the base unit of each quantity that was repeated.
pub(super) fn deviations(
    session: &Session,
    quantities: &Quantities,
    central: &Values,
) -> BTreeMap<QuantityId, BetweenRuns> {
    let mut deviations = BTreeMap::new();
    for &id in QuantityId::ALL {
        let values: Vec<Vec<f64>> = (0..session.coolers.len())
            .map(|cooler| of_runs(session, quantities, central, cooler, id))
            .collect();
        let trend = quantities.trends.get(&id);
        if let Some((about_mean, _)) = pooled(&values) {
            let about_drift = trend.and_then(|trend| about_drift(quantities, central, (id, trend)));
            let between_runs = BetweenRuns {
                about_mean,
                about_drift,
            };
            deviations.insert(id, between_runs);
        }
    }
    deviations
}

/// A quantity in each run of a cooler that has it.
fn of_runs(
    session: &Session,
    quantities: &Quantities,
    central: &Values,
    cooler: usize,
    id: QuantityId,
) -> Vec<f64> {
    let runs = session
        .runs
        .iter()
        .enumerate()
        .filter(|(_, run)| run.cooler == cooler);
    runs.filter_map(|(index, _)| central.get(*quantities.of_run(index)?.get(&id)?))
        .collect()
}

/// Standard deviation of a quantity about its drift.
fn about_drift(
    quantities: &Quantities,
    central: &Values,
    (id, trend): (QuantityId, &Trend),
) -> Option<f64> {
    let value = |run| central.get(*quantities.of_run(run)?.get(&id)?);
    let values: Vec<f64> = trend.runs().map(value).collect::<Option<_>>()?;
    Some(trend.deviation(&values))
}

/// The scatter of a quantity about its drift: every run's own scatter goes into each cooler's level with the run's weight.
fn drift_pool(session: &Session, (id, trend): (QuantityId, &Trend), deviation: f64) -> Pool {
    let term = |(index, cooler): (usize, &Cooler)| Term {
        name: cooler.key.clone(),
        parts: trend
            .weights(index)
            .into_iter()
            .map(|(run, weight)| {
                (
                    format!("run {}", session.runs[run].name),
                    deviation * weight,
                )
            })
            .collect(),
    };
    Pool {
        name: id.id().to_owned(),
        freedom: trend.freedom,
        terms: session.coolers.iter().enumerate().map(term).collect(),
    }
}

/// Finds the slots and scatter terms of coolers' quantities.
struct Terms<'a> {
    session: &'a Session,
    quantities: &'a Quantities,
    pools: &'a [Pool],
    of_quantity: &'a BTreeMap<QuantityId, usize>,
}

impl Terms<'_> {
    /// A cooler's quantities, and of a candidate the differences to the baseline.
    fn of_cooler(&self, cooler: usize) -> Vec<(Asked, Figure)> {
        let mut asked = Vec::new();
        for (&id, &slot) in self.quantities.of_cooler(cooler).into_iter().flatten() {
            let own = Figure {
                slot,
                less: None,
                scatter: self.scatter(cooler, id),
                less_scatter: None,
            };
            asked.push((Asked::Cooler(cooler, id), own));
            if let Some(difference) = self.difference(cooler, id) {
                asked.push((Asked::Difference(cooler, id), difference));
            }
        }
        asked
    }

    /// A candidate's quantity less the baseline's.
    fn difference(&self, cooler: usize, id: QuantityId) -> Option<Figure> {
        let baseline = self.session.baseline;
        if cooler == baseline {
            return None;
        }
        let slot = |cooler| self.quantities.of_cooler(cooler)?.get(&id).copied();
        Some(Figure {
            slot: slot(cooler)?,
            less: Some(slot(baseline)?),
            scatter: self.scatter(cooler, id),
            less_scatter: self.scatter(baseline, id),
        })
    }

    fn scatter(&self, cooler: usize, id: QuantityId) -> Option<(usize, usize)> {
        let pool = *self.of_quantity.get(&id)?;
        let key = &self.session.coolers.get(cooler)?.key;
        let term = self
            .pools
            .get(pool)?
            .terms
            .iter()
            .position(|term| &term.name == key)?;
        Some((pool, term))
    }
}
