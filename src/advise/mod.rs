//! What following the advice of a caution would do to the intervals.
//!
//! The same scene is put together as a better prepared session would have read it, with the same true skins, and goes
//! through the same stages. What comes out is told in the caution's advice, in figures.

mod altered;
mod improvement;

use crate::caution::{Caution, CautionId};
use crate::correct::Detectors;
use crate::measure::PictureMeasurement;
use crate::outcome::{Budget, Outcome, Q, Reading, SCATTER, Verdict};
use crate::place::kind;
use crate::session::{Declared, InstrumentKind, Scatter, Session};
use crate::surface;
use crate::uncertainty::Settings;
use crate::units::{Dimension, Law};
use altered::{Altered, Place, places};

pub use improvement::Improvement;
pub(crate) use improvement::all as improvements;

/// Draws of one altered session: its intervals are told in two digits.
const DRAWS: u64 = 20_000;

/// An interval that keeps this share of its width is hardly narrower.
const HARDLY: f64 = 0.9;

/// The tape that is advised for bare metal, of the presets.
const TAPE: &str = "tape-electrical";

/// Scatter between holds that is tried where it is not known, K: from what a careful shop repeats to what a careless one does.
const REPEATABILITY: [f64; 5] = [0.2, 0.5, 1.0, 2.0, 4.0];

/// How a session whose pictures are measured is concluded; `None` where it has no solution.
pub type Conclude<'a> = dyn Fn(&Session, &[PictureMeasurement], Settings) -> Option<Outcome> + 'a;

/// Adds to the advice of an outcome's cautions, and to the budget of its answers, what following it would do.
pub fn quantify(
    session: &Session,
    pictures: &[PictureMeasurement],
    detectors: &Detectors,
    outcome: &mut Outcome,
    conclude: &Conclude<'_>,
) {
    let settings = Settings {
        draws: DRAWS.min(outcome.results.draws),
        seed: outcome.results.seed,
        what_ifs: false,
    };
    let advisor = Advisor {
        session,
        pictures,
        detectors,
        outcome,
        conclude: &|altered| conclude(&altered.session, &altered.pictures, settings),
    };
    let actions = advisor.of_budget();
    let mut added = advisor.of_readings();
    added.extend(advisor.of_session());
    for (candidate, action, difference) in actions {
        let answers = |entry: &&mut Budget| entry.candidate.as_ref() == Some(&candidate);
        let mut entries = outcome.results.budget.iter_mut().filter(answers);
        if let Some(advice) = entries.find_map(|entry| entry.advice.as_mut()) {
            advice.action = Some(action);
            advice.with_action = Some(difference);
        }
    }
    for (id, place, sentence) in added {
        let concerned = |caution: &&mut Caution| caution.id == id && caution.place == place;
        let cautions = outcome.results.cautions.iter_mut().filter(concerned);
        cautions.for_each(|caution| {
            caution.advice.push(' ');
            caution.advice.push_str(&sentence);
        });
    }
}

/// A sentence for the cautions of a kind at a place.
type Added = (CautionId, String, String);

struct Advisor<'a> {
    session: &'a Session,
    pictures: &'a [PictureMeasurement],
    detectors: &'a Detectors,
    outcome: &'a Outcome,
    conclude: &'a dyn Fn(&Altered) -> Option<Outcome>,
}

/// An altered session's outcome, with the places of its readings.
struct Concluded {
    places: Vec<Place>,
    outcome: Outcome,
}

impl Concluded {
    /// What became of a reading. Its names do not tell it: a run may have two of a tank.
    fn reading(&self, place: Place) -> Option<&Reading> {
        let mut readings = self.places.iter().zip(&self.outcome.results.readings);
        Some(readings.find(|(other, _)| **other == place)?.1)
    }
}

impl Advisor<'_> {
    fn unaltered(&self) -> Altered {
        Altered {
            session: self.session.clone(),
            pictures: self.pictures.to_vec(),
        }
    }

    /// Tape for what mirrors, foil for what is mirrored: told once for each cooler, of the reading that is worst.
    fn of_readings(&self) -> Vec<Added> {
        let places = places(self.session, self.pictures);
        let readings: Vec<(Place, &Reading)> = places
            .into_iter()
            .zip(&self.outcome.results.readings)
            .collect();
        // Foil stands beside every cooler or none: what coolers share cancels. So it is one session for all.
        let foil = self.with_foil(&readings);
        let mut added = Vec::new();
        for cooler in &self.outcome.results.coolers {
            for id in [
                CautionId::LowEmissivity,
                CautionId::NotMeasurable,
                CautionId::ReflectedAssumed,
            ] {
                let concerned: Vec<(Place, &Reading)> = readings
                    .iter()
                    .filter(|(_, reading)| reading.cooler == cooler.cooler)
                    .filter(|(_, reading)| reading.cautions.contains(&id))
                    .copied()
                    .collect();
                let Some(sentence) = self.sentence(id, &cooler.label, &concerned, foil.as_ref())
                else {
                    continue;
                };
                let of_reading = concerned
                    .iter()
                    .map(|(_, reading)| (id, called(reading), sentence.clone()));
                added.extend(of_reading);
                if id == CautionId::NotMeasurable {
                    added.push((id, cooler.label.clone(), sentence.clone()));
                }
            }
        }
        added
    }

    /// With foil beside everything whose reflected temperature was assumed.
    fn with_foil(&self, all: &[(Place, &Reading)]) -> Option<Concluded> {
        let id = CautionId::ReflectedAssumed;
        let assumed = all
            .iter()
            .filter(|(_, reading)| reading.cautions.contains(&id));
        let assumed: Vec<_> = assumed.copied().collect();
        if assumed.is_empty() {
            return None;
        }
        self.concluded(self.unaltered().with_foil(&assumed, self.detectors)?)
    }

    /// With tape on the spots of some readings.
    fn with_tape(&self, readings: &[(Place, &Reading)]) -> Option<Concluded> {
        let tape = surface::preset(TAPE)?;
        let altered = self
            .unaltered()
            .with_finish(tape, readings, self.detectors)?;
        self.concluded(altered)
    }

    fn concluded(&self, altered: Altered) -> Option<Concluded> {
        Some(Concluded {
            places: places(&altered.session, &altered.pictures),
            outcome: (self.conclude)(&altered)?,
        })
    }

    fn sentence(
        &self,
        id: CautionId,
        label: &str,
        concerned: &[(Place, &Reading)],
        foil: Option<&Concluded>,
    ) -> Option<String> {
        let reach = |reading: &Reading| reading.surface_temperature.as_ref().and_then(Q::reach);
        let width = |reading: &Reading| reach(reading).unwrap_or(f64::INFINITY);
        let (place, worst) = concerned
            .iter()
            .max_by(|(_, a), (_, b)| width(a).total_cmp(&width(b)))?;
        let taped;
        let (with, altered) = match id {
            CautionId::ReflectedAssumed => ("With foil", foil?),
            _ => {
                taped = self.with_tape(concerned)?;
                ("With tape", &taped)
            }
        };
        let cooler = worst.cooler.as_str();
        let after = altered.reading(*place)?;
        let (before, after) = (reach(worst), reach(after)?);
        let what = if concerned.len() > 1 {
            format!("the least certain of these skins of {label}")
        } else {
            format!("this skin of {label}")
        };
        let skin = narrowed(with, &what, before, after, "K");
        Some(match self.answer(&altered.outcome, cooler) {
            Some(answer) => format!("{skin} {answer}"),
            None => skin,
        })
    }

    /// What an altered session does to the answer that a cooler has a part in, where it narrows it.
    fn answer(&self, altered: &Outcome, cooler: &str) -> Option<String> {
        let unit = self.outcome.results.primary.unit().of_difference();
        let after = primary(altered, cooler)?.reach()?;
        let then = figure(after, unit.symbol());
        match primary(self.outcome, cooler).as_ref().and_then(Q::reach) {
            Some(before) => (after < HARDLY * before).then(|| {
                let now = figure(before, unit.symbol());
                format!("The answer's {now} would become {then}.")
            }),
            None => Some(format!("The answer would be known to {then}.")),
        }
    }

    /// What to do about the largest part of each answer's doubt, and the difference that it would leave, by candidate.
    fn of_budget(&self) -> Vec<(String, String, Q)> {
        let mut concluded: Vec<(Improvement, Option<Outcome>)> = Vec::new();
        let mut actions = Vec::new();
        for entry in &self.outcome.results.budget {
            let (Some(candidate), Some(advice)) = (&entry.candidate, &entry.advice) else {
                continue;
            };
            let remedies = advice
                .inputs
                .first()
                .map_or(&[][..], |input| remedies(input));
            for &improvement in remedies {
                if !concluded.iter().any(|(known, _)| *known == improvement) {
                    concluded.push((improvement, self.with(improvement)));
                }
                let outcome = concluded
                    .iter()
                    .find(|(known, _)| *known == improvement)
                    .and_then(|(_, outcome)| outcome.as_ref());
                // What would then answer must be the same quantity, or there is nothing to compare.
                let then = outcome
                    .filter(|outcome| outcome.results.primary == entry.quantity)
                    .and_then(|outcome| primary(outcome, candidate));
                let now = primary(self.outcome, candidate);
                if let (Some(then), Some(now)) = (then, now)
                    && then.reach() < now.reach().map(|now| HARDLY * now)
                {
                    actions.push((
                        candidate.clone(),
                        improvement.words(self.session).to_owned(),
                        then,
                    ));
                    break;
                }
            }
        }
        actions
    }

    /// The session with an improvement, and with the scatter that its runs show now.
    fn with(&self, improvement: Improvement) -> Option<Outcome> {
        let scene = self.unaltered();
        let mut altered = improvement::improved(improvement, scene, self.outcome, self.detectors)?;
        altered.session.scatter = Scatter::Planned(self.outcome.between_runs.clone());
        (self.conclude)(&altered)
    }

    /// What concerns the session as a whole.
    fn of_session(&self) -> Vec<Added> {
        let has = |id| {
            self.outcome
                .results
                .cautions
                .iter()
                .any(|one: &Caution| one.id == id)
        };
        let mut added = Vec::new();
        if has(CautionId::LimitsAssumed)
            && let Some(sentence) = self.at_best("With all of them exact", |session| {
                session.amend(&mut |declared| {
                    if declared.limits_assumed {
                        declared.law = Law::Exact;
                    }
                });
            })
        {
            added.push((CautionId::LimitsAssumed, "session".to_owned(), sentence));
        }
        for (index, instrument) in self.session.instruments.iter().enumerate() {
            let InstrumentKind::Thermal(thermal) = &instrument.kind else {
                continue;
            };
            if thermal.accuracy.is_some() {
                continue;
            }
            let exact = |session: &mut Session| {
                if let Some(InstrumentKind::Thermal(thermal)) = session
                    .instruments
                    .get_mut(index)
                    .map(|instrument| &mut instrument.kind)
                {
                    thermal.accuracy = Some(crate::session::Accuracy {
                        absolute: 0.0,
                        relative: 0.0,
                    });
                }
            };
            if let Some(sentence) = self.at_best("With an instrument without error", exact) {
                let place = format!("instrument.{}", instrument.name);
                added.push((CautionId::AccuracyAssumed, place, sentence));
            }
        }
        if has(CautionId::FewRuns)
            && let Some(sentence) = self.repeated()
        {
            added.push((CautionId::FewRuns, "session".to_owned(), sentence));
        }
        added
    }

    /// The most that better knowledge could do for the answer.
    fn at_best(&self, with: &str, change: impl Fn(&mut Session)) -> Option<String> {
        let mut altered = self.unaltered();
        change(&mut altered.session);
        let outcome = (self.conclude)(&altered)?;
        let any = &self.outcome.results.baseline;
        let (before, after) = (primary(self.outcome, any)?, primary(&outcome, any)?);
        let unit = self.outcome.results.primary.unit().of_difference();
        Some(narrowed(
            with,
            "the answer",
            before.reach(),
            after.reach()?,
            unit.symbol(),
        ))
    }

    /// The greatest scatter between holds with which the answer would have a verdict.
    fn repeated(&self) -> Option<String> {
        let decided = |standard: f64| -> Option<Verdict> {
            let mut altered = self.unaltered();
            let stated = &mut altered.session.repeatability;
            stated.temperature = Some(scatter(standard));
            let outcome = (self.conclude)(&altered)?;
            let row = row(&outcome, &outcome.results.baseline)?;
            row.verdict.filter(|verdict| {
                matches!(verdict, Verdict::Higher | Verdict::Lower | Verdict::Equal)
            })
        };
        if row(self.outcome, &self.outcome.results.baseline)?.verdict != Some(Verdict::NeedsRepeats)
        {
            return None;
        }
        let found = REPEATABILITY
            .iter()
            .rev()
            .find_map(|&standard| Some((standard, decided(standard)?)));
        Some(match found {
            Some((standard, verdict)) => format!(
                "If single holds scatter by a standard deviation of {standard} K or less, the answer will be “{}”.",
                verdict.words()
            ),
            None => format!(
                "Even if holds scattered by a standard deviation of {} K only, one hold of each would not answer the question.",
                REPEATABILITY[0]
            ),
        })
    }
}

/// What can be done about an input, the first thing first.
fn remedies(place: &str) -> &'static [Improvement] {
    let kind = kind(place);
    let ends = |key: &str| kind.ends_with(key);
    if kind == SCATTER {
        &[Improvement::MoreRuns]
    } else if kind.starts_with("surface.") && kind.contains(".emissivity") {
        &[Improvement::Tape]
    } else if kind.starts_with("conditions.reflected") {
        &[Improvement::Foil]
    } else if kind == "run.* drift" {
        &[Improvement::Reference, Improvement::MoreRuns]
    } else if kind.starts_with("instrument.") {
        &[Improvement::Reference]
    } else if ends(".hold") || ends(".start-skin") {
        &[Improvement::LongerHold]
    } else if ends("-film")
        || ends("(correlation)")
        || ends("the inlet's")
        || kind.starts_with("surface.")
    {
        &[Improvement::Probes]
    } else if kind.starts_with("run.*.") {
        &[Improvement::MoreRuns]
    } else {
        &[]
    }
}

/// How a reading is called in cautions.
fn called(reading: &Reading) -> String {
    format!("{}, {}, {}", reading.run, reading.source, reading.region)
}

fn scatter(standard: f64) -> Declared {
    let dimension = Dimension::TemperatureDifference;
    Declared::unwritten(
        "repeatability.temperature",
        dimension,
        standard,
        Law::Exact,
        0..0,
    )
}

/// The primary's row of a candidate; of the baseline, which has a part in all, that of the first candidate.
fn row<'a>(outcome: &'a Outcome, cooler: &str) -> Option<&'a crate::outcome::Comparison> {
    let results = &outcome.results;
    let any = cooler == results.baseline;
    let mut rows = results.comparison.iter();
    rows.find(|row| row.quantity == results.primary && (any || row.candidate == cooler))
}

/// The difference that answers the question, where it may be compared.
fn primary(outcome: &Outcome, cooler: &str) -> Option<Q> {
    let row = row(outcome, cooler)?;
    (row.verdict != Some(Verdict::NotComparable)).then_some(row.difference)
}

/// "± 2.3 K": two significant digits, since it is an uncertainty (GUM 7.2.6).
fn figure(reach: f64, unit: &str) -> String {
    let scientific = format!("{reach:.1e}");
    let power = scientific
        .split_once('e')
        .and_then(|(_, power)| power.parse::<i32>().ok());
    let decimals = usize::try_from(1 - power.unwrap_or(0)).unwrap_or(0);
    let unit = if unit == "1" {
        String::new()
    } else {
        format!(" {unit}")
    };
    format!("± {reach:.decimals$}{unit}")
}

/// "With tape ± 9.4 K for this skin would become ± 2.3 K."
fn narrowed(with: &str, what: &str, before: Option<f64>, after: f64, unit: &str) -> String {
    let then = figure(after, unit);
    match before {
        None => format!("{with} {what} would be known to {then}."),
        Some(before) => {
            let now = figure(before, unit);
            if after > HARDLY * before {
                format!("That alone would hardly narrow the {now} of {what}.")
            } else {
                format!("{with} the {now} of {what} would become {then}.")
            }
        }
    }
}
