//! Whether a skin had settled when it was read, and where it was going.

use super::series::{self, Moment, Timed};
use super::wall::Through;
use super::{Place, Settling, Skin};
use crate::correct::Source;
use crate::heat::slab::Slab;
use crate::model::{Builder, Domain, Slot};
use crate::units::Law;

/// Below this share of its way a skin gives only a bound.
pub const LEAST_SHARE: f64 = 0.5;

/// From this share on a skin counts as settled.
pub const SETTLED: f64 = 0.95;

/// Fewest readings, at different times, that a steady skin is fitted through.
pub const FEWEST: usize = 3;

/// A tank of which no wall or film is stated: 2 mm of aluminium, the quickest of the usual walls, between films as good as they
/// get on a dynamometer, so that a skin has hardly gone farther than this one would have (judgement).
const QUICK: Slab = Slab {
    thickness: 0.002,
    conductivity: 150.0,
    capacity: 2.43e6,
    inner_film: 200.0,
    outer_film: 60.0,
};

/// A tank in a hold.
pub(super) struct Hold<'a> {
    pub(super) place: &'a Place<'a>,
    pub(super) through: &'a Through,
}

/// Where the skin is going.
pub(super) struct Settled {
    pub(super) steady: Option<Slot>,
    pub(super) how: Settling,
    /// What each reading says of it, in their order.
    pub(super) readings: Vec<Own>,
}

/// What one reading says of the steady skin.
#[derive(Debug, Clone, Copy)]
pub(super) enum Own {
    /// The steady skin by this reading alone.
    Steady(Slot),
    /// It is part of a series that is fitted as a whole.
    OnItsWay,
    /// Only a bound.
    Bound,
}

impl Hold<'_> {
    /// Where the tank's skin is going; `mean` is that of its readings.
    pub(super) fn settle(&self, skins: &[Skin], mean: Slot, model: &mut Builder) -> Settled {
        let moments: Vec<Option<Moment>> =
            skins.iter().map(|skin| self.moment(skin, model)).collect();
        let timed: Vec<Timed> = skins
            .iter()
            .zip(&moments)
            .filter_map(|(skin, moment)| {
                Some(Timed {
                    kelvin: skin.kelvin,
                    index: skin.index,
                    moment: (*moment)?,
                })
            })
            .collect();
        let by_share = self.least_share(skins, &moments, model);
        if by_share.is_some_and(|share| share >= SETTLED) {
            // What had settled before the first of them is repeated, not followed.
            return self.by_share(skins, &moments, mean, model);
        }
        let series = series::fitted(self.place, &timed, model).filter(|(steady, _)| {
            steady.is_some() || by_share.is_none_or(|share| share < LEAST_SHARE)
        });
        if let Some((steady, found)) = series {
            let own = if steady.is_some() {
                Own::OnItsWay
            } else {
                Own::Bound
            };
            return Settled {
                steady,
                how: Settling::Fitted(found),
                readings: vec![own; skins.len()],
            };
        }
        self.by_share(skins, &moments, mean, model)
    }

    /// The share of its way that the skin had gone at the first reading, at the central values; `None` where the wall, its
    /// films or the times are not all known.
    fn least_share(
        &self,
        skins: &[Skin],
        moments: &[Option<Moment>],
        model: &mut Builder,
    ) -> Option<f64> {
        let mut least = f64::INFINITY;
        for (skin, moment) in skins.iter().zip(moments) {
            let time = (*moment)?.into_hold?;
            let time = model.central().get(time)?;
            if !self.through.missing_for_share().is_empty() {
                return None;
            }
            let slab = self.through.slab(skin.kelvin, skin.reflected, model)?;
            least = least.min(slab.share(time));
        }
        least.is_finite().then_some(least)
    }

    fn by_share(
        &self,
        skins: &[Skin],
        moments: &[Option<Moment>],
        mean: Slot,
        model: &mut Builder,
    ) -> Settled {
        let as_read = |how| Settled {
            steady: Some(mean),
            how,
            readings: skins.iter().map(|skin| Own::Steady(skin.kelvin)).collect(),
        };
        let known = |moment: &Option<Moment>| (*moment)?.into_hold;
        if !moments.iter().all(|moment| known(moment).is_some()) {
            return as_read(Settling::HoldUnknown);
        }
        let earliest = moments
            .iter()
            .flatten()
            .map(|moment| moment.seconds)
            .fold(f64::INFINITY, f64::min);
        let missing = self.through.missing_for_share();
        if !missing.is_empty() {
            return self.by_quick_wall(skins, moments, (earliest, missing), model);
        }
        let shares: Vec<Option<Slot>> = skins
            .iter()
            .zip(moments)
            .map(|(skin, moment)| {
                let time = known(moment)?;
                self.through.share(time, skin.kelvin, skin.reflected, model)
            })
            .collect();
        let central = model.central();
        let mut readings = Vec::new();
        let (mut least, mut steady) = (f64::INFINITY, Vec::new());
        for (skin, share) in skins.iter().zip(shares) {
            let at_centre = share.and_then(|slot| central.get(slot)).unwrap_or(0.0);
            least = least.min(at_centre);
            let own = match share.filter(|_| at_centre >= LEAST_SHARE) {
                Some(share) => {
                    let slot = self.carried(skin.kelvin, share, model);
                    steady.push(slot);
                    Own::Steady(slot)
                }
                None => Own::Bound,
            };
            readings.push(own);
        }
        Settled {
            steady: (!steady.is_empty()).then(|| model.mean(&steady)),
            how: Settling::Share {
                share: least,
                time: earliest,
                enough: self.enough(skins, model),
                start_stated: self.start().is_some(),
            },
            readings,
        }
    }

    /// Skins whose wall is not known are taken as read, but those that not even a quick wall would have brought half its way
    /// are bounds.
    fn by_quick_wall(
        &self,
        skins: &[Skin],
        moments: &[Option<Moment>],
        (earliest, missing): (f64, Vec<&'static str>),
        model: &mut Builder,
    ) -> Settled {
        let far = |moment: &Option<Moment>| {
            moment.is_some_and(|moment| QUICK.share(moment.seconds) >= LEAST_SHARE)
        };
        let readings: Vec<Own> = skins
            .iter()
            .zip(moments)
            .map(|(skin, moment)| {
                if far(moment) {
                    Own::Steady(skin.kelvin)
                } else {
                    Own::Bound
                }
            })
            .collect();
        let steady: Vec<Slot> = readings
            .iter()
            .filter_map(|own| match own {
                Own::Steady(slot) => Some(*slot),
                Own::OnItsWay | Own::Bound => None,
            })
            .collect();
        Settled {
            steady: (!steady.is_empty()).then(|| model.mean(&steady)),
            how: Settling::NotKnown {
                time: earliest,
                missing,
                share: QUICK.share(earliest),
            },
            readings,
        }
    }

    /// A skin carried to where it is going: T_start + (T − T_start)/F.
    fn carried(&self, skin: Slot, share: Slot, model: &mut Builder) -> Slot {
        let start = match self.start() {
            Some(stated) => model.declared(stated),
            None => self.assumed_start(skin, model),
        };
        let gone = model.difference(skin, start);
        let whole = model.quotient(gone, share);
        model.sum(start, whole)
    }

    fn start(&self) -> Option<&crate::session::Declared> {
        self.place.run().start_skin.get(self.place.tank).as_ref()
    }

    /// A start that is not stated lies anywhere between the ambient and the skin as it was read; the central value is
    /// the latter, so that nothing is corrected by what nobody wrote down, and the interval holds what may be missing.
    fn assumed_start(&self, skin: Slot, model: &mut Builder) -> Slot {
        let place = format!(
            "run.{}.start-skin.{} (assumed)",
            self.place.run().name,
            self.place.tank.word()
        );
        let law = Law::Rectangular {
            low: 0.0,
            high: 1.0,
        };
        let share = model.input(&place, 1.0, law, Domain::Any);
        let above = model.difference(skin, self.through.ambient());
        let above = model.product(share, above);
        model.sum(self.through.ambient(), above)
    }

    /// The hold that would have reached [`SETTLED`], s, at the central values.
    fn enough(&self, skins: &[Skin], model: &mut Builder) -> Option<f64> {
        let skin = skins.first()?;
        let slab: Slab = self.through.slab(skin.kelvin, skin.reflected, model)?;
        Some(slab.time_to(SETTLED)).filter(|time| time.is_finite())
    }

    /// When a reading was taken: as stated, else by the pictures' own times, the first at the end of the hold.
    fn moment(&self, skin: &Skin, model: &mut Builder) -> Option<Moment> {
        let run = self.place.run();
        let source = self.place.readings.get(skin.index)?.source;
        let at = match source {
            Source::Region { snapshot, .. } => run.snapshots.get(snapshot)?.at.as_ref(),
            Source::Pistol(index) => run.pistols.get(index)?.at.as_ref(),
        };
        if let Some(at) = at {
            return Some(Moment {
                seconds: at.value,
                stated: true,
                ordered: true,
                into_hold: Some(model.declared_in(at, Domain::Positive)),
            });
        }
        let after = match source {
            Source::Region { snapshot, .. } => self.after_the_first(snapshot),
            Source::Pistol(_) => None,
        };
        let hold = run.hold.as_ref();
        if after.is_none() && hold.is_none() {
            return None;
        }
        let into_hold = hold.map(|hold| {
            let hold = model.declared_in(hold, Domain::Positive);
            let after = model.constant(after.unwrap_or(0.0));
            model.sum(hold, after)
        });
        Some(Moment {
            seconds: hold.map_or(0.0, |hold| hold.value) + after.unwrap_or(0.0),
            stated: false,
            ordered: after.is_some(),
            into_hold,
        })
    }

    /// Seconds from the run's first picture to this one, where both note when they were taken and belong to one hold.
    fn after_the_first(&self, snapshot: usize) -> Option<f64> {
        let of_run = || {
            let pictures = self.place.pictures.iter();
            pictures.filter(|picture| picture.run == self.place.run)
        };
        let own = of_run()
            .find(|picture| picture.snapshot == snapshot)?
            .captured?;
        let after = of_run()
            .filter_map(|picture| picture.captured)
            .map(|other| own.since(&other))
            .fold(0.0, f64::max);
        (after <= series::LONGEST).then_some(after)
    }
}
