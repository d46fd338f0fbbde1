//! A series of readings of one tank in one hold, and the steady skin fitted through it.

use super::hold::FEWEST;
use super::{Place, Series};
use crate::correct::Source;
use crate::heat::settling::{self, MOST_READINGS};
use crate::model::{Builder, Domain, Function, Slot};
use crate::units::{Dimension, Law};

/// Pictures further apart than this are not of one hold, s.
pub(super) const LONGEST: f64 = 7200.0;

/// Readings closer together than this are repeats of one another rather than a series, s: walls follow the air in half a
/// minute to two (judgement).
const SHORTEST: f64 = 30.0;

/// Degrees of freedom from which on an estimated scatter is as good as a known one.
const MANY: usize = 30;

/// A series that does not bend may still end this far from its last reading, K: then it had settled.
const FLAT: f64 = 1.0;

/// When a reading was taken.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moment {
    /// Seconds, for ordering; into the hold where that is known.
    pub(super) seconds: f64,
    /// Whether it is stated, rather than told by the picture.
    pub(super) stated: bool,
    /// Whether it tells this reading from others of the run.
    pub(super) ordered: bool,
    /// Time into the hold, s, where that is known.
    pub(super) into_hold: Option<Slot>,
}

/// A reading with its moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Timed {
    pub(super) kelvin: Slot,
    pub(super) index: usize,
    pub(super) moment: Moment,
}

/// All readings at one time.
struct Point {
    seconds: f64,
    /// The time as stated, with its limits.
    stated: Option<Slot>,
    skins: Vec<Slot>,
}

/// The steady skin through three or more readings at different times; `None` where there is no such series. The slot is
/// `None` where the series does not tell where the skin is going.
pub(super) fn fitted(
    place: &Place<'_>,
    timed: &[Timed],
    model: &mut Builder,
) -> Option<(Option<Slot>, Series)> {
    let points = points(timed)?;
    let skins: Vec<Slot> = points
        .iter()
        .map(|point| model.mean(&point.skins))
        .collect();
    let times: Vec<f64> = points.iter().map(|point| point.seconds).collect();
    let values: Option<Vec<f64>> = {
        let central = model.central();
        skins.iter().map(|&skin| central.get(skin)).collect()
    };
    let values = values?;
    let fit = settling::fit(&times, &values)?;
    let last = *values.last()?;
    let too_short = fit.open_ended && (fit.steady - last).abs() > FLAT;
    let scatter = scatter(place, timed, fit.squares, times.len());
    let series = Series {
        points: times.iter().copied().zip(values).collect(),
        fit,
        too_short,
        scatter,
    };
    if too_short {
        return Some((None, series));
    }
    let mut arguments: Vec<Slot> = points
        .iter()
        .map(|point| {
            point
                .stated
                .unwrap_or_else(|| model.constant(point.seconds))
        })
        .collect();
    let spread = spread(place, scatter, times.len() - FEWEST, model);
    for (&skin, &time) in skins.iter().zip(&times) {
        arguments.push(scattered(place, skin, time, (scatter, spread), model));
    }
    let steady = model.call(Function::Steady, &arguments);
    Some((Some(steady), series))
}

/// The readings by time, rising: those with a stated time, else those whose pictures tell it.
fn points(timed: &[Timed]) -> Option<Vec<Point>> {
    [true, false].into_iter().find_map(|stated| {
        let mut chosen: Vec<&Timed> = timed
            .iter()
            .filter(|timed| timed.moment.ordered && timed.moment.stated == stated)
            .collect();
        chosen.sort_by(|a, b| a.moment.seconds.total_cmp(&b.moment.seconds));
        let mut points: Vec<Point> = Vec::new();
        for timed in chosen {
            match points.last_mut() {
                Some(point) if point.seconds == timed.moment.seconds => {
                    point.skins.push(timed.kelvin);
                }
                _ => points.push(Point {
                    seconds: timed.moment.seconds,
                    stated: timed.moment.into_hold.filter(|_| stated),
                    skins: vec![timed.kelvin],
                }),
            }
        }
        let span = points.last()?.seconds - points.first()?.seconds;
        (points.len() >= FEWEST && (SHORTEST..=LONGEST).contains(&span)).then(|| thinned(points))
    })
}

/// At most as many points as are fitted, evenly over the series, first and last among them.
fn thinned(points: Vec<Point>) -> Vec<Point> {
    let count = points.len();
    if count <= MOST_READINGS {
        return points;
    }
    let keep = |index: usize| {
        let step = |index: usize| index * (MOST_READINGS - 1) / (count - 1);
        index == 0 || step(index) != step(index - 1)
    };
    let points = points.into_iter().enumerate();
    points
        .filter(|(index, _)| keep(*index))
        .map(|(_, point)| point)
        .collect()
}

/// How far the readings scatter about the fit, K, beyond what their instruments' drift explains: noise, an unsteady load,
/// or a wall that does not follow one exponential.
fn scatter(place: &Place<'_>, timed: &[Timed], squares: f64, count: usize) -> f64 {
    if count <= FEWEST {
        return 0.0;
    }
    let drift = timed
        .iter()
        .filter_map(|timed| drift(place, timed))
        .fold(f64::INFINITY, f64::min);
    let drift = if drift.is_finite() { drift } else { 0.0 };
    // Rectangular limits have a third of their square as variance.
    (squares / (count - FEWEST) as f64 - drift * drift / 3.0)
        .max(0.0)
        .sqrt()
}

fn drift(place: &Place<'_>, timed: &Timed) -> Option<f64> {
    let reading = place.readings.get(timed.index)?;
    if reading.error_measured {
        return Some(0.0);
    }
    let run = place.run();
    let instrument = match reading.source {
        Source::Region { snapshot, .. } => run.snapshots.get(snapshot)?.instrument,
        Source::Pistol(index) => run.pistols.get(index)?.instrument,
    };
    let thermal = place.session.instruments.get(instrument)?.thermal()?;
    Some(thermal.drift.unwrap_or(crate::correct::ASSUMED_DRIFT))
}

/// How much wider the true scatter may be than that of so few readings: one factor for the whole series, so that each
/// reading's scatter follows Student's t (JCGM 101, 6.4.9). `None` where nothing scatters or many readings say how much.
fn spread(place: &Place<'_>, scatter: f64, freedom: usize, model: &mut Builder) -> Option<Slot> {
    if scatter == 0.0 || freedom >= MANY {
        return None;
    }
    let standard: Vec<Slot> = (1..=freedom)
        .map(|number| {
            let name = named(place, &format!("spread {number}"));
            let law = Law::Normal { standard: 1.0 };
            model.input(&name, 0.0, law, Domain::Any)
        })
        .collect();
    Some(model.call(Function::Spread, &standard))
}

fn named(place: &Place<'_>, what: &str) -> String {
    format!(
        "run.{}.{} skin {what} (scatter about the fit)",
        place.run().name,
        place.tank.word()
    )
}

fn scattered(
    place: &Place<'_>,
    skin: Slot,
    time: f64,
    (scatter, spread): (f64, Option<Slot>),
    model: &mut Builder,
) -> Slot {
    if scatter == 0.0 {
        return skin;
    }
    let name = named(place, &format!("at {time} s"));
    let law = Law::Normal { standard: scatter };
    let kind = Dimension::TemperatureDifference;
    let mut noise = model.input_of(kind, &name, 0.0, law, Domain::Any);
    if let Some(spread) = spread {
        noise = model.product(noise, spread);
    }
    model.sum(skin, noise)
}
