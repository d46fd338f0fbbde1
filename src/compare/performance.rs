//! What a cooler does with the charge air, as steps of the model: effectiveness, densities, heat, transfer units, losses.

use super::quantities::{self, Slots};
use crate::correct::notes;
use crate::infer::{Inferred, TankState};
use crate::model::{Builder, Domain, Function, Slot, Values};
use crate::quantity::QuantityId;
use crate::session::{PerTank, Run, Session, Tank};
use crate::units::Law;

/// The quotient of the outlet's and the inlet's skin-to-air ratios is within this factor (judgement).
pub(super) const QUOTIENT_DOUBT: f64 = 1.1;

/// How the air of a tank is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Air {
    /// By a probe in the air stream, in this run or in one that calibrates it.
    Probe,
    /// Through the wall.
    Wall,
}

/// What the effectiveness rests on: the best that all coolers have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Basis {
    /// The charge air of both tanks.
    Air(PerTank<Air>),
    /// The skins of both tanks.
    Skins,
}

impl Basis {
    /// All, the best first.
    const ALL: [Self; 5] = [
        Self::of(Air::Probe, Air::Probe),
        Self::of(Air::Probe, Air::Wall),
        Self::of(Air::Wall, Air::Probe),
        Self::of(Air::Wall, Air::Wall),
        Self::Skins,
    ];

    const fn of(inlet: Air, outlet: Air) -> Self {
        Self::Air(PerTank { inlet, outlet })
    }

    /// Both tanks' temperatures of a run by this evidence.
    fn temperatures(self, tanks: &PerTank<TankState>) -> Option<PerTank<Slot>> {
        let of = |tank: Tank| {
            let state = tanks.get(tank);
            match self {
                Self::Air(air) => match air.get(tank) {
                    Air::Probe => state.probe.or(state.calibrated),
                    Air::Wall => state.wall,
                },
                // Where only a bound is known of where a skin is going, it stands as it was read.
                Self::Skins => state.steady.or(state.skin),
            }
        };
        Some(PerTank {
            inlet: of(Tank::Inlet)?,
            outlet: of(Tank::Outlet)?,
        })
    }

    /// Whether a run has this evidence at both tanks.
    pub(super) fn is_in(self, tanks: &PerTank<TankState>, central: &Values) -> bool {
        self.temperatures(tanks).is_some_and(|both| {
            central.get(both.inlet).is_some() && central.get(both.outlet).is_some()
        })
    }

    /// Whether it is better than another.
    pub(super) fn is_better_than(self, other: Self) -> bool {
        let place = |basis| Self::ALL.iter().position(|&one| one == basis);
        place(self) < place(other)
    }

    /// The best that a run has.
    pub(super) fn best_of(tanks: &PerTank<TankState>, central: &Values) -> Option<Self> {
        let mut all = Self::ALL.into_iter();
        all.find(|basis| basis.is_in(tanks, central))
    }

    /// For the report.
    pub(super) fn words(self) -> String {
        match self {
            Self::Skins => format!(
                "the skins of the tanks, the quotient of their ratios to the air within 1 ×/÷ {QUOTIENT_DOUBT} for each cooler"
            ),
            Self::Air(air) => {
                let word = |air: Air| match air {
                    Air::Probe => "by probes in the air stream",
                    Air::Wall => "through the wall",
                };
                if air.inlet == air.outlet {
                    format!("the charge air {}", word(air.inlet))
                } else {
                    format!(
                        "the charge air, at the inlet {}, at the outlet {}",
                        word(air.inlet),
                        word(air.outlet)
                    )
                }
            }
        }
    }
}

/// Adds everything that follows from the charge air to each run's quantities, and says what the effectiveness rests on.
pub(super) fn lay_out(
    session: &Session,
    inferred: &Inferred,
    runs: &mut [Slots],
    model: &mut Builder,
) -> Option<Basis> {
    for ((run, tanks), slots) in session
        .runs
        .iter()
        .zip(&inferred.tanks)
        .zip(runs.iter_mut())
    {
        charge(run, tanks, slots, model);
        densities(slots, model);
        flows(session, run, slots, model);
    }
    let basis = best(session, inferred, model)?;
    let temperatures: Vec<Option<PerTank<Slot>>> = inferred
        .tanks
        .iter()
        .map(|tanks| basis.temperatures(tanks))
        .collect();
    effectiveness(session, basis, &temperatures, runs, model);
    normalise(session, &temperatures, runs, model);
    if basis != Basis::Skins {
        gain(session, runs, model);
    }
    Some(basis)
}

/// The best evidence of which every cooler that has any has a whole run.
fn best(session: &Session, inferred: &Inferred, model: &Builder) -> Option<Basis> {
    let central = model.central();
    let has = |cooler: usize, basis: Basis| {
        let mut runs = session.runs.iter().zip(&inferred.tanks);
        runs.any(|(run, tanks)| run.cooler == cooler && basis.is_in(tanks, &central))
    };
    let known: Vec<usize> = (0..session.coolers.len())
        .filter(|&cooler| Basis::ALL.iter().any(|&basis| has(cooler, basis)))
        .collect();
    if known.is_empty() {
        return None;
    }
    let all = |basis: &Basis| known.iter().all(|&cooler| has(cooler, *basis));
    Basis::ALL.into_iter().find(all)
}

/// Charge air at both tanks, its drop and effectiveness.
fn charge(run: &Run, tanks: &PerTank<TankState>, slots: &mut Slots, model: &mut Builder) {
    let (inlet, outlet) = (tanks.inlet.charge(), tanks.outlet.charge());
    slots.extend(inlet.map(|slot| (QuantityId::InletCharge, slot)));
    slots.extend(outlet.map(|slot| (QuantityId::OutletCharge, slot)));
    if let (Some(inlet), Some(outlet)) = (inlet, outlet) {
        let drop = model.difference(inlet, outlet);
        let air = model.declared(run.conditions.air_at_face());
        let available = model.difference(inlet, air);
        slots.insert(QuantityId::ChargeDrop, drop);
        slots.insert(
            QuantityId::ChargeEffectiveness,
            model.quotient(drop, available),
        );
    }
}

/// Densities of dry air at the taps and their ratio. The outlet's temperature is the charge air's, else the sensor's.
fn densities(slots: &mut Slots, model: &mut Builder) {
    let of = |slots: &Slots, id| slots.get(&id).copied();
    let mut density = |pressure: Option<Slot>, kelvin: Option<Slot>| {
        Some(model.call(Function::Density, &[pressure?, kelvin?]))
    };
    let inlet = density(
        of(slots, QuantityId::InletPressure),
        of(slots, QuantityId::InletCharge),
    );
    let outlet = density(
        of(slots, QuantityId::OutletPressure),
        of(slots, QuantityId::OutletCharge).or(of(slots, QuantityId::IntakeAir)),
    );
    slots.extend(inlet.map(|slot| (QuantityId::InletDensity, slot)));
    slots.extend(outlet.map(|slot| (QuantityId::OutletDensity, slot)));
    if let (Some(inlet), Some(outlet)) = (inlet, outlet) {
        slots.insert(QuantityId::DensityRatio, model.quotient(outlet, inlet));
    }
}

/// What takes the air flow: loss coefficient and heat; and transfer units, which do without it where the cooling air's
/// capacity rate is taken as infinite.
fn flows(session: &Session, run: &Run, slots: &mut Slots, model: &mut Builder) {
    let of = |slots: &Slots, id| slots.get(&id).copied();
    let flow = notes::air_flow(session, run, model);
    if let (Some(flow), Some(drop), Some(inlet), Some(outlet)) = (
        flow,
        of(slots, QuantityId::PressureDrop),
        of(slots, QuantityId::InletDensity),
        of(slots, QuantityId::OutletDensity),
    ) {
        let mean = model.mean(&[inlet, outlet]);
        let coefficient = model.call(Function::LossCoefficient, &[drop, mean, flow]);
        slots.insert(QuantityId::LossCoefficient, coefficient);
    }
    let (Some(inlet), Some(outlet), Some(effectiveness)) = (
        of(slots, QuantityId::InletCharge),
        of(slots, QuantityId::OutletCharge),
        of(slots, QuantityId::ChargeEffectiveness),
    ) else {
        return;
    };
    let rate = |flow: Slot, kelvin: Slot, model: &mut Builder| {
        let heat = model.call(Function::SpecificHeat, &[kelvin]);
        model.product(flow, heat)
    };
    let hot = flow.map(|flow| {
        let heat = model.call(Function::HeatRejected, &[flow, inlet, outlet]);
        slots.insert(QuantityId::HeatRejected, heat);
        let middle = model.mean(&[inlet, outlet]);
        rate(flow, middle, model)
    });
    let cold = match &run.conditions.cooling_air_flow {
        Some(stated) => {
            let flow = model.declared_in(stated, Domain::Positive);
            let air = model.declared(run.conditions.air_at_face());
            rate(flow, air, model)
        }
        None => model.constant(f64::INFINITY),
    };
    // With a stated flow of cooling air the ratio of both is needed; without, NTU follows from the effectiveness alone.
    if hot.is_none() && run.conditions.cooling_air_flow.is_some() {
        return;
    }
    let any = hot.unwrap_or_else(|| model.constant(1.0));
    let ntu = model.call(Function::Ntu, &[effectiveness, any, cold]);
    slots.insert(QuantityId::Ntu, ntu);
    if let Some(hot) = hot {
        let ua = model.call(Function::Ua, &[ntu, hot, cold]);
        slots.insert(QuantityId::Ua, ua);
    }
}

/// E = (T_in − T_out)/(T_in − T_cooling air) by the best evidence; of skins 1 − E = (1 − E_skins)/quotient.
fn effectiveness(
    session: &Session,
    basis: Basis,
    temperatures: &[Option<PerTank<Slot>>],
    runs: &mut [Slots],
    model: &mut Builder,
) {
    for ((run, both), slots) in session.runs.iter().zip(temperatures).zip(runs) {
        let Some(both) = both else { continue };
        let air = model.declared(run.conditions.air_at_face());
        let drop = model.difference(both.inlet, both.outlet);
        let available = model.difference(both.inlet, air);
        let mut found = model.quotient(drop, available);
        if basis == Basis::Skins {
            let key = &session.coolers[run.cooler].key;
            let quotient = model.input(
                &format!("cooler.{key}.skin-to-air ratio of the outlet over the inlet's"),
                1.0,
                Law::Factor {
                    factor: QUOTIENT_DOUBT,
                },
                Domain::Positive,
            );
            let one = model.constant(1.0);
            let left = model.difference(one, found);
            let left = model.quotient(left, quotient);
            found = model.difference(one, left);
        }
        slots.insert(QuantityId::Effectiveness, found);
    }
}

/// The outlet at the baseline's mean inlet and cooling air, by the same evidence.
fn normalise(
    session: &Session,
    temperatures: &[Option<PerTank<Slot>>],
    runs: &mut [Slots],
    model: &mut Builder,
) {
    let (mut inlets, mut airs) = (Vec::new(), Vec::new());
    for (run, both) in session.runs.iter().zip(temperatures) {
        if let (Some(both), true) = (both, run.cooler == session.baseline) {
            inlets.push(both.inlet);
            airs.push(model.declared(run.conditions.air_at_face()));
        }
    }
    let ids = (QuantityId::Effectiveness, QuantityId::OutletNormalised);
    quantities::normalised(&inlets, &airs, ids, runs, model);
}

/// By how much denser the air leaves than with the baseline, from the same compressor outlet and into the same cooling
/// air: (1 − Δp/p_in)/T_out,normalised of the run over the baseline's, less 1.
fn gain(session: &Session, runs: &mut [Slots], model: &mut Builder) {
    let of_run = |slots: &Slots| {
        let loss = *slots.get(&QuantityId::PressureLoss)?;
        let outlet = *slots.get(&QuantityId::OutletNormalised)?;
        let one = model.constant(1.0);
        let kept = model.difference(one, loss);
        Some(model.quotient(kept, outlet))
    };
    let densities: Vec<Option<Slot>> = runs.iter().map(of_run).collect();
    let baseline: Vec<Slot> = session
        .runs
        .iter()
        .zip(&densities)
        .filter(|(run, _)| run.cooler == session.baseline)
        .filter_map(|(_, density)| *density)
        .collect();
    if baseline.is_empty() {
        return;
    }
    let baseline = model.mean(&baseline);
    for (slots, density) in runs.iter_mut().zip(densities) {
        if let Some(density) = density {
            let ratio = model.quotient(density, baseline);
            let one = model.constant(1.0);
            slots.insert(QuantityId::DensityGain, model.difference(ratio, one));
        }
    }
}
