//! The pull: the greatest rise of the engine speed in a log, in steps of engine speed.

use std::collections::BTreeMap;

use super::fit::{Fit, line};
use super::{Channel, Row};
use crate::heat::air;

/// The width of a step, rpm.
const STEP: f64 = 100.0;

/// A rise ends where the speed falls by more than this below its top, rpm (judgement: more than a logger's noise, less
/// than a change of gear).
const FALL: f64 = 200.0;

/// Speeds beyond this belong to no engine: they are left out, which bounds the number of steps, rpm.
const FASTEST: f64 = 20_000.0;

/// A step of fewer rows is left out.
const FEWEST_ROWS: u64 = 4;

/// A rise over fewer steps is no pull.
const FEWEST_STEPS: usize = 3;

/// What a pull takes that the log does not give.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Surroundings {
    /// What makes the logged inlet pressure absolute, Pa: the barometer, or 0.
    pub inlet_added: f64,
    /// What makes the logged outlet pressure absolute, Pa.
    pub outlet_added: f64,
    /// Air at the inlet where the log does not have it, K.
    pub inlet_air: Option<f64>,
    /// Air at the outlet where the log does not have it, K.
    pub outlet_air: Option<f64>,
}

/// A pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Pull {
    /// Its steps by rising engine speed.
    pub bins: Vec<Bin>,
    /// Δp = offset + K ṁ²/ρ̄ through the steps, where the log has what it takes.
    pub fit: Option<Fit>,
    /// What is missing for the fit, in the session's keys.
    pub missing: Vec<&'static str>,
}

/// The means of a step of engine speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Engine speed, rpm.
    pub engine_speed: f64,
    /// Inlet less outlet pressure, Pa.
    pub pressure_drop: f64,
    /// Air flow, kg/s.
    pub air_flow: Option<f64>,
    /// Rows with a pressure drop.
    pub rows: u64,
}

/// Sums over the rows of a step.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    rows: u64,
    speed: f64,
    drop: f64,
    flows: u64,
    flow: f64,
    /// Rows that have all that the fit takes.
    whole: u64,
    /// ṁ²/ρ̄.
    load: f64,
    drop_of_whole: f64,
}

/// The steps of a rise by their place on the scale of speed.
type Steps = BTreeMap<u32, Sums>;

/// The greatest rise so far and the one that is going on.
#[derive(Debug)]
pub struct Rise {
    surroundings: Surroundings,
    /// Lowest and highest speed of the current rise, rpm.
    ends: Option<(f64, f64)>,
    steps: Steps,
    /// Since the highest speed: only a higher one makes it a part of the rise.
    since_top: Steps,
    best: Option<(f64, Steps)>,
    /// Channels that some row had.
    seen: [bool; super::channel::CHANNELS],
}

impl Rise {
    /// Nothing has risen yet.
    pub fn new(surroundings: Surroundings) -> Self {
        Self {
            surroundings,
            ends: None,
            steps: Steps::new(),
            since_top: Steps::new(),
            best: None,
            seen: [false; super::channel::CHANNELS],
        }
    }

    /// Takes the next row.
    pub fn take(&mut self, row: &Row) {
        for channel in Channel::ALL {
            self.seen[channel as usize] |= row.get(channel).is_some();
        }
        let Some(speed) = row.get(Channel::EngineSpeed) else {
            return;
        };
        if !(0.0..=FASTEST).contains(&speed) {
            return;
        }
        let sums = self.sums(row, speed);
        match self.ends {
            Some((low, high)) if speed >= low && speed > high => {
                add(&mut self.steps, speed, &sums);
                for (step, sums) in std::mem::take(&mut self.since_top) {
                    self.steps.entry(step).or_default().join(&sums);
                }
                self.ends = Some((low, speed));
            }
            Some((low, high)) if speed >= low && speed >= high - FALL => {
                add(&mut self.since_top, speed, &sums);
            }
            _ => {
                self.close();
                self.ends = Some((speed, speed));
                add(&mut self.steps, speed, &sums);
            }
        }
    }

    /// Ends the current rise.
    fn close(&mut self) {
        let steps = std::mem::take(&mut self.steps);
        self.since_top.clear();
        let Some((low, high)) = self.ends.take() else {
            return;
        };
        if self
            .best
            .as_ref()
            .is_none_or(|(greatest, _)| high - low > *greatest)
        {
            self.best = Some((high - low, steps));
        }
    }

    fn sums(&self, row: &Row, speed: f64) -> Option<Sums> {
        let around = &self.surroundings;
        let inlet = row
            .get(Channel::InletPressure)
            .map(|read| read + around.inlet_added);
        let outlet = row
            .get(Channel::OutletPressure)
            .map(|read| read + around.outlet_added);
        let taps = inlet.zip(outlet).map(|(inlet, outlet)| inlet - outlet);
        let drop = row.get(Channel::DifferentialPressure).or(taps)?;
        let flow = row.get(Channel::AirFlow);
        let load = flow
            .zip(self.mean_density(row, inlet, outlet, drop))
            .map(|(flow, density)| flow * flow / density);
        Some(Sums {
            rows: 1,
            speed,
            drop,
            flows: u64::from(flow.is_some()),
            flow: flow.unwrap_or(0.0),
            whole: u64::from(load.is_some()),
            load: load.unwrap_or(0.0),
            drop_of_whole: load.map_or(0.0, |_| drop),
        })
    }

    /// The mean of the densities at both taps, kg/m³.
    fn mean_density(
        &self,
        row: &Row,
        inlet: Option<f64>,
        outlet: Option<f64>,
        drop: f64,
    ) -> Option<f64> {
        let around = &self.surroundings;
        let inlet = inlet.or(outlet.map(|outlet| outlet + drop))?;
        let outlet = outlet.unwrap_or(inlet - drop);
        let hot = row.get(Channel::InletAir).or(around.inlet_air)?;
        let cold = row
            .get(Channel::OutletAir)
            .or(row.get(Channel::IntakeAir))
            .or(around.outlet_air)?;
        let density = 0.5 * (air::density(inlet, hot) + air::density(outlet, cold));
        (inlet > 0.0 && outlet > 0.0 && hot > 0.0 && cold > 0.0).then_some(density)
    }

    /// The greatest rise, where it is a pull.
    pub fn finish(mut self) -> Option<Pull> {
        self.close();
        let (_, steps) = self.best.take()?;
        let enough = |rows: u64| rows >= FEWEST_ROWS;
        let steps: Vec<Sums> = steps
            .into_values()
            .filter(|sums| enough(sums.rows))
            .collect();
        if steps.len() < FEWEST_STEPS {
            return None;
        }
        let whole = steps.iter().filter(|sums| enough(sums.whole));
        let points: Vec<(f64, f64)> = whole
            .map(|sums| {
                (
                    sums.load / sums.whole as f64,
                    sums.drop_of_whole / sums.whole as f64,
                )
            })
            .collect();
        Some(Pull {
            bins: steps.iter().map(Sums::bin).collect(),
            fit: line(&points),
            missing: self.missing(),
        })
    }

    fn missing(&self) -> Vec<&'static str> {
        let seen = |channel: Channel| self.seen[channel as usize];
        let (hot, cold) = (self.surroundings.inlet_air, self.surroundings.outlet_air);
        let pressure = seen(Channel::InletPressure) || seen(Channel::OutletPressure);
        let outlet = seen(Channel::OutletAir) || seen(Channel::IntakeAir) || cold.is_some();
        let needs = [
            (seen(Channel::AirFlow), "`air-flow`"),
            (pressure, "`inlet-pressure`"),
            (seen(Channel::InletAir) || hot.is_some(), "`inlet-air`"),
            (outlet, "`outlet-air` or `intake-air`"),
        ];
        needs
            .into_iter()
            .filter(|(there, _)| !there)
            .map(|(_, key)| key)
            .collect()
    }
}

/// Adds a row to the step that its speed lies in.
fn add(steps: &mut Steps, speed: f64, sums: &Option<Sums>) {
    if let Some(sums) = sums {
        // Between 0 and 200: `take` sees to it.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let step = (speed / STEP).floor() as u32;
        steps.entry(step).or_default().join(sums);
    }
}

impl Sums {
    fn join(&mut self, other: &Self) {
        self.rows += other.rows;
        self.speed += other.speed;
        self.drop += other.drop;
        self.flows += other.flows;
        self.flow += other.flow;
        self.whole += other.whole;
        self.load += other.load;
        self.drop_of_whole += other.drop_of_whole;
    }

    fn bin(&self) -> Bin {
        let rows = self.rows as f64;
        Bin {
            engine_speed: self.speed / rows,
            pressure_drop: self.drop / rows,
            air_flow: (self.flows >= FEWEST_ROWS).then(|| self.flow / self.flows as f64),
            rows: self.rows,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn row(speed: f64, inlet: f64, outlet: f64) -> Row {
        let mut row = Row::default();
        row.set(Channel::EngineSpeed, Some(speed));
        row.set(Channel::InletPressure, Some(inlet));
        row.set(Channel::OutletPressure, Some(outlet));
        row
    }

    fn pull(speeds: impl IntoIterator<Item = f64>, around: Surroundings) -> Option<Pull> {
        let mut rise = Rise::new(around);
        for speed in speeds {
            rise.take(&row(speed, 2e5, 2e5 - speed));
        }
        rise.finish()
    }

    #[test]
    fn only_the_greatest_rise_counts() {
        // A short rise, a fall, the pull with a dip of noise in it, and the run down after it.
        let short = (0..40).map(|at| 1500.0 + 10.0 * f64::from(at));
        let main =
            (0..200).map(|at| 1000.0 + 10.0 * f64::from(at) - if at % 7 == 3 { 25.0 } else { 0.0 });
        let down = (0..200).map(|at| 2990.0 - 10.0 * f64::from(at));
        let found = pull(
            short.chain(main.clone()).chain(down),
            Surroundings::default(),
        )
        .unwrap();
        assert_eq!(
            found.bins.iter().map(|bin| bin.rows).sum::<u64>(),
            // The first row of the run down is the top of the rise.
            201,
            "{found:?}"
        );
        assert!((990.0..1100.0).contains(&found.bins[0].engine_speed));
        for bin in &found.bins {
            assert_relative_eq!(bin.pressure_drop, bin.engine_speed, max_relative = 1e-9);
        }
        assert_eq!(found.fit, None);
        assert_eq!(
            found.missing,
            ["`air-flow`", "`inlet-air`", "`outlet-air` or `intake-air`"]
        );
    }

    #[test]
    fn a_steady_hold_is_no_pull() {
        let held = (0..1000).map(|at| 2400.0 + f64::from(at % 60));
        assert_eq!(pull(held, Surroundings::default()), None);
        assert_eq!(pull([], Surroundings::default()), None);
    }

    #[test]
    fn speeds_of_no_engine_are_left_out() {
        let wild = (0..10_000).map(|at| 150.0 * f64::from(at));
        let bins = pull(wild, Surroundings::default()).map_or(0, |pull| pull.bins.len());
        assert!(bins <= 200);
        assert!(pull([f64::INFINITY, -5.0, 1e300], Surroundings::default()).is_none());
    }

    /// With everything known the fit gives back what the rows were made of: offset 150 Pa, K 2e5.
    #[test]
    fn the_loss_is_fitted_through_the_steps() {
        let around = Surroundings {
            inlet_added: 1e5,
            outlet_added: 1e5,
            inlet_air: Some(400.0),
            outlet_air: Some(320.0),
        };
        let mut rise = Rise::new(around);
        for at in 0..4000 {
            let speed = 1500.0 + 0.5 * f64::from(at);
            let flow = 4e-5 * speed;
            let inlet = 0.8e5;
            // The density depends on the drop a little: iterate.
            let mut drop = 0.0;
            for _ in 0..50 {
                let hot = (inlet + 1e5) / (287.05 * 400.0);
                let cold = (inlet + 1e5 - drop) / (287.05 * 320.0);
                drop = 150.0 + 2e5 * flow * flow / (0.5 * (hot + cold));
            }
            let mut row = row(speed, inlet, inlet - drop);
            row.set(Channel::AirFlow, Some(flow));
            rise.take(&row);
        }
        let found = rise.finish().unwrap();
        assert!(found.missing.is_empty());
        let fit = found.fit.unwrap();
        assert_relative_eq!(fit.offset, 150.0, max_relative = 1e-6);
        assert_relative_eq!(fit.slope, 2e5, max_relative = 1e-9);
    }
}
