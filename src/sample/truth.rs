//! What is true in the sample: the values that its pictures and notes were made from.
//!
//! Everything here is invented. The skins and pressures are of the size that workshops report for such a vehicle
//! (common practice, no source).

use std::fmt::Write as _;

/// Emissivity of the original's black moulded tanks.
pub const MOULDED: f64 = 0.94;
/// Emissivity of the matt tape.
pub const TAPE: f64 = 0.95;
/// Emissivity of the replacement's bare welded tanks.
pub const BARE_WELDED: f64 = 0.20;

/// The camera's emissivity setting.
pub const SETTING_EMISSIVITY: f64 = 0.95;
/// The camera's setting of the reflected temperature, °C.
pub const SETTING_REFLECTED: f64 = 20.0;
/// The camera reads all apparent temperatures this much too high, K; well inside its stated accuracy of 2 °C.
pub const CAMERA_OFFSET: f64 = 0.4;
/// Standard deviation of the noise from pixel to pixel, K.
pub const CAMERA_NOISE: f64 = 0.06;
/// The gauge reads all pressures this much too high, psi.
pub const GAUGE_OFFSET: f64 = 0.02;
/// How far a sound correction may end from the true skin, K: the camera's offset, its drift and the noise.
pub const TOLERANCE: f64 = 0.6;

/// One of the two coolers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cooler {
    /// Black moulded end tanks.
    Original,
    /// Welded bare aluminium with tape on the end tanks.
    Replacement,
}

impl Cooler {
    /// Its key in the session.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Original => "original",
            Self::Replacement => "replacement",
        }
    }
}

/// How a run's picture is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Container {
    /// 16-bit TIFF, counts of 0.01 K.
    Tiff,
    /// 16-bit grey PNG, counts of 0.02 K.
    Png,
    /// Matrix of °C with one decimal.
    Csv,
    /// JPEG in colours with their bar.
    Jpeg,
}

/// What is true in one run.
#[derive(Debug, Clone, Copy)]
pub struct Run {
    /// The cooler fitted.
    pub cooler: Cooler,
    /// Its name in the session.
    pub name: &'static str,
    /// Its picture.
    pub file: &'static str,
    /// How the picture is stored.
    pub container: Container,
    /// Air in the shop, °C.
    pub ambient: f64,
    /// What matt surfaces mirror of the workshop: the reflected apparent temperature, °C.
    pub reflected: f64,
    /// Skin of the inlet tank, mean over its height, °C.
    pub inlet_skin: f64,
    /// Skin of the outlet tank, mean over its height, °C.
    pub outlet_skin: f64,
    /// Gauge pressure at the inlet tank's tap, psi.
    pub inlet_pressure: f64,
    /// Gauge pressure at the outlet tank's tap, psi.
    pub outlet_pressure: f64,
    /// What the camera's drift adds in this picture, K.
    pub drift: f64,
    /// Seed of the picture's noise.
    pub seed: u8,
    /// How the skins got there, where earlier pictures of the hold show it.
    pub settling: Option<Settling>,
}

/// Skins on their way in one hold: T(t) = T_steady − (T_steady − T_start) exp(−(t − delay)/τ).
///
/// τ is that of the original's wall and films as the session states them, and the delay is what its higher terms leave
/// behind: the first seconds pass before anything shows outside.
#[derive(Debug, Clone, Copy)]
pub struct Settling {
    /// Skins before the load came on, °C: inlet, outlet.
    pub start: [f64; 2],
    /// τ, s.
    pub time_constant: f64,
    /// Delay, s.
    pub delay: f64,
    /// When the run's own picture was taken, s into the hold.
    pub at: f64,
    /// The earlier pictures.
    pub earlier: [Earlier; 3],
}

/// A picture taken earlier in the hold, stored as the run's own.
#[derive(Debug, Clone, Copy)]
pub struct Earlier {
    /// The picture.
    pub file: &'static str,
    /// When it was taken, s into the hold.
    pub at: f64,
    /// What the camera's drift adds in this picture, K.
    pub drift: f64,
    /// Seed of the picture's noise.
    pub seed: u8,
}

impl Settling {
    /// The share of its way that a skin has left to go.
    fn left(&self, at: f64) -> f64 {
        (-(at - self.delay) / self.time_constant).exp()
    }

    /// Where skins are going that are as the run's own picture shows them, °C.
    fn steady(&self, shown: [f64; 2]) -> [f64; 2] {
        let left = self.left(self.at);
        std::array::from_fn(|tank| (shown[tank] - left * self.start[tank]) / (1.0 - left))
    }
}

impl Run {
    /// The skins that the run's own picture shows, °C: inlet, outlet.
    fn skins(&self) -> [f64; 2] {
        [self.inlet_skin, self.outlet_skin]
    }

    /// The run as each of its pictures shows it, in the order of time; skins to a hundredth of a kelvin, as they stand in
    /// the table of truths.
    #[must_use]
    pub fn pictures(&self) -> Vec<Self> {
        let earlier = self.settling.iter().flat_map(|settling| {
            let steady = settling.steady(self.skins());
            settling.earlier.iter().map(move |picture| {
                let left = settling.left(picture.at);
                let skin = |tank: usize| {
                    let exact = steady[tank] - left * (steady[tank] - settling.start[tank]);
                    (100.0 * exact).round() / 100.0
                };
                Self {
                    file: picture.file,
                    inlet_skin: skin(0),
                    outlet_skin: skin(1),
                    drift: picture.drift,
                    seed: picture.seed,
                    ..*self
                }
            })
        });
        earlier.chain([*self]).collect()
    }
}

/// The six runs, in the order of the session.
pub const RUNS: [Run; 6] = [
    Run {
        cooler: Cooler::Original,
        name: "hold 1",
        file: "original-1.tiff",
        container: Container::Tiff,
        ambient: 18.0,
        reflected: 20.6,
        inlet_skin: 52.8,
        outlet_skin: 30.7,
        inlet_pressure: 22.90,
        outlet_pressure: 21.88,
        drift: 0.10,
        seed: 1,
        settling: None,
    },
    Run {
        cooler: Cooler::Original,
        name: "hold 2",
        file: "original-2.png",
        container: Container::Png,
        ambient: 18.4,
        reflected: 21.3,
        inlet_skin: 53.5,
        outlet_skin: 31.4,
        inlet_pressure: 22.97,
        outlet_pressure: 21.95,
        drift: -0.15,
        seed: 2,
        settling: Some(Settling {
            start: [30.4, 24.3],
            time_constant: 88.0,
            delay: 8.0,
            at: 300.0,
            earlier: [
                Earlier {
                    file: "original-2-at-60.png",
                    at: 60.0,
                    drift: 0.10,
                    seed: 7,
                },
                Earlier {
                    file: "original-2-at-120.png",
                    at: 120.0,
                    drift: -0.05,
                    seed: 8,
                },
                Earlier {
                    file: "original-2-at-180.png",
                    at: 180.0,
                    drift: 0.05,
                    seed: 9,
                },
            ],
        }),
    },
    Run {
        cooler: Cooler::Original,
        name: "hold 3",
        file: "original-3.csv",
        container: Container::Csv,
        ambient: 18.2,
        reflected: 20.9,
        inlet_skin: 53.1,
        outlet_skin: 31.1,
        inlet_pressure: 22.85,
        outlet_pressure: 21.82,
        drift: 0.05,
        seed: 3,
        settling: None,
    },
    Run {
        cooler: Cooler::Replacement,
        name: "hold 4",
        file: "replacement-1.tiff",
        container: Container::Tiff,
        ambient: 17.6,
        reflected: 20.3,
        inlet_skin: 63.7,
        outlet_skin: 26.7,
        inlet_pressure: 23.41,
        outlet_pressure: 22.71,
        drift: -0.10,
        seed: 4,
        settling: None,
    },
    Run {
        cooler: Cooler::Replacement,
        name: "hold 5",
        file: "replacement-2.png",
        container: Container::Png,
        ambient: 17.8,
        reflected: 20.8,
        inlet_skin: 64.3,
        outlet_skin: 27.2,
        inlet_pressure: 23.36,
        outlet_pressure: 22.66,
        drift: 0.10,
        seed: 5,
        settling: None,
    },
    Run {
        cooler: Cooler::Replacement,
        name: "hold 6",
        file: "replacement-3.jpg",
        container: Container::Jpeg,
        ambient: 18.0,
        reflected: 21.2,
        inlet_skin: 64.0,
        outlet_skin: 27.1,
        inlet_pressure: 23.47,
        outlet_pressure: 22.77,
        drift: -0.05,
        seed: 6,
        settling: None,
    },
];

/// The text of `truth.toml`, the file beside the session that says what its pictures were made from.
#[must_use]
pub fn document() -> String {
    let mut text = format!(
        "# What is true in this sample: what its pictures and notes were made from. No program needs this file;\n\
         # it is here so that you can see how near the corrected figures come.\n\
         # Temperatures in °C unless the name says kelvin; pressures are gauge pressures in psi.\n\n\
         # A sound correction ends within this many kelvin of the true skins: the camera's own error and noise.\n\
         tolerance-kelvin = {TOLERANCE:.1}\n\n\
         [emissivity]\n\
         moulded = {MOULDED:.2}\n\
         tape = {TAPE:.2}\n\
         bare-welded = {BARE_WELDED:.2}\n\n\
         [camera]\n\
         setting-emissivity = {SETTING_EMISSIVITY:.2}\n\
         setting-reflected = {SETTING_REFLECTED:.1}\n\
         offset-kelvin = {CAMERA_OFFSET:.2}\n\
         noise-kelvin = {CAMERA_NOISE:.2}\n\n\
         [gauge]\n\
         offset = {GAUGE_OFFSET:.2}\n"
    );
    for run in &RUNS {
        // Writing to a String cannot fail, so there is nothing to hand on.
        let _ = write!(
            text,
            "\n[[run]]\n\
             cooler = \"{}\"\n\
             name = \"{}\"\n\
             file = \"{}\"\n\
             ambient = {:.1}\n\
             reflected = {:.1}\n\
             skin = {{ inlet = {:.1}, outlet = {:.1} }}\n\
             pressure = {{ inlet = {:.2}, outlet = {:.2} }}\n\
             drift-kelvin = {:.2}\n",
            run.cooler.key(),
            run.name,
            run.file,
            run.ambient,
            run.reflected,
            run.inlet_skin,
            run.outlet_skin,
            run.inlet_pressure,
            run.outlet_pressure,
            run.drift,
        );
        if let Some(settling) = &run.settling {
            of_settling(run, settling, &mut text);
        }
    }
    text
}

/// How a run's skins got where its own picture shows them.
fn of_settling(run: &Run, settling: &Settling, text: &mut String) {
    let [inlet, outlet] = settling.steady(run.skins());
    let _ = write!(
        text,
        "# Pictures were taken from early in the hold on; the skins go towards\n\
         steady-skin = {{ inlet = {inlet:.2}, outlet = {outlet:.2} }}\n\
         start-skin = {{ inlet = {:.1}, outlet = {:.1} }}\n\
         time-constant-seconds = {:.1}\n\
         delay-seconds = {:.1}\n\
         at-seconds = {:.1}\n",
        settling.start[0], settling.start[1], settling.time_constant, settling.delay, settling.at,
    );
    for (earlier, picture) in settling.earlier.iter().zip(run.pictures()) {
        let _ = write!(
            text,
            "\n[[run.earlier]]\n\
             file = \"{}\"\n\
             at-seconds = {:.1}\n\
             skin = {{ inlet = {:.2}, outlet = {:.2} }}\n\
             drift-kelvin = {:.2}\n",
            earlier.file, earlier.at, picture.inlet_skin, picture.outlet_skin, earlier.drift,
        );
    }
}
