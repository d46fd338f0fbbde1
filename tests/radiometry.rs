//! The radiometry against sources outside the project: adaptive quadrature, handbook tables, a published satellite
//! product, and figures that were computed independently.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use endtank::radiometry::equation::{arriving, path_removed, skin_signal};
use endtank::radiometry::planck::spectral_radiance;
use endtank::radiometry::{Band, Detector, FIRST_RADIATION_CONSTANT, SECOND_RADIATION_CONSTANT};

/// Rows of a reference file, as numbers; cells that are none are NaN.
fn rows(file: &str) -> Vec<Vec<f64>> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(file);
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows: Vec<Vec<f64>> = reader
        .records()
        .map(|record| {
            record
                .unwrap()
                .iter()
                .map(|cell| cell.parse().unwrap_or(f64::NAN))
                .collect()
        })
        .collect();
    assert!(!rows.is_empty(), "{file} has no rows");
    rows
}

fn band(low: f64, high: f64) -> Detector {
    Detector::band(&Band::flat(low, high).unwrap())
}

/// CODATA 2022 (exact from h, c and k), as given by scipy.constants.physical_constants.
#[test]
fn radiation_constants_are_those_of_codata() {
    assert_relative_eq!(
        FIRST_RADIATION_CONSTANT,
        1.191_042_972e8,
        max_relative = 1e-9
    );
    assert_relative_eq!(
        SECOND_RADIATION_CONSTANT,
        14_387.768_775,
        max_relative = 1e-11
    );
    // Wien's displacement constant b = 2897.771955 µm K: where the spectral radiance is greatest.
    let at = |wavelength| spectral_radiance(wavelength, 1000.0);
    let peak = 2.897_771_955;
    assert!(at(peak) > at(peak - 1e-4) && at(peak) > at(peak + 1e-4));
}

/// tests/reference/radiometry.py: scipy's adaptive quadrature of Planck's law.
#[test]
fn signals_agree_with_adaptive_quadrature() {
    for row in rows("reference/band_signal.csv") {
        let [low, high, kelvin, signal] = row[..] else {
            panic!("four columns")
        };
        let detector = band(low, high);
        assert_relative_eq!(detector.signal(kelvin), signal, max_relative = 1e-6);
        assert_abs_diff_eq!(detector.temperature(signal), kelvin, epsilon = 1e-3);
    }
}

/// tests/reference/radiometry.py: invented scenes, the measurement equation solved by scipy's root finding.
#[test]
fn skins_agree_with_quadrature_and_root_finding() {
    for row in rows("reference/skin_temperature.csv") {
        let [
            low,
            high,
            setting,
            setting_reflected,
            shown,
            emissivity,
            reflected,
            ambient,
            transmittance,
            apparent,
            skin,
        ] = row[..]
        else {
            panic!("eleven columns")
        };
        let detector = band(low, high);
        let signal = |celsius: f64| detector.signal(celsius + 273.15);
        let arrived = setting * signal(shown) + (1.0 - setting) * signal(setting_reflected);
        assert_abs_diff_eq!(
            detector.temperature(arrived) - 273.15,
            apparent,
            epsilon = 1e-3
        );
        let leaving = path_removed(arrived, signal(ambient), transmittance);
        let found =
            detector.temperature(skin_signal(leaving, signal(reflected), emissivity)) - 273.15;
        assert_abs_diff_eq!(found, skin, epsilon = 0.01);
    }
}

/// Blackbody fractions F(0 → λT). Source: Kutz (ed.), Mechanical Engineers' Handbook vol. 4, Table 16, and rows of
/// Brewster and of Incropera (seen; in `reference/blackbody_fraction.csv`). Older tables use c2 = 14388 µm K: they may
/// differ by 6e-5, and by one unit of their last digit.
#[test]
fn band_fractions_agree_with_handbook_tables() {
    let kelvin = 300.0;
    let total = 5.670_374_419e-8 * f64::powi(kelvin, 4) / std::f64::consts::PI;
    let mut compared = 0;
    for row in rows("reference/blackbody_fraction.csv") {
        let (product, published) = (row[0], row[1]);
        let wavelength = product / kelvin;
        if !(0.3..=900.0).contains(&wavelength) {
            continue;
        }
        // Nothing to speak of is radiated below a fifth of that wavelength, or of the peak's.
        let from = (wavelength / 5.0).clamp(0.2, 2.0);
        let fraction = Band::flat(from, wavelength).unwrap().radiance(kelvin) / total;
        assert!(
            (fraction - published).abs() <= 6.5e-5 + 2e-3 * published.min(0.01),
            "F({product}) = {published} published, {fraction} here"
        );
        compared += 1;
    }
    assert!(compared > 90, "{compared} rows");
}

/// Cases K1 to K8: apparent temperatures in the 8–14 µm band, computed with scipy and the CODATA 2018 constants, not
/// published.
#[test]
fn computed_cases_come_back() {
    let cases = [
        (0.95, 353.15, 298.15, 1.0, 298.15, 350.8502),
        (0.95, 373.15, 293.15, 1.0, 293.15, 369.9957),
        (0.3, 353.15, 298.15, 1.0, 298.15, 317.1993),
        (0.09, 353.15, 298.15, 1.0, 298.15, 304.2013),
        (0.05, 393.15, 300.0, 1.0, 300.0, 306.4500),
        (0.8, 343.15, 333.15, 1.0, 298.15, 341.2033),
        (0.95, 353.15, 298.15, 0.99, 298.15, 350.4095),
        (0.3, 353.15, 298.15, 0.98, 303.15, 316.9337),
    ];
    let detector = band(8.0, 14.0);
    let signal = |kelvin| detector.signal(kelvin);
    for (emissivity, skin, reflected, transmittance, ambient, apparent) in cases {
        let arrived = arriving(
            signal(skin),
            signal(reflected),
            emissivity,
            signal(ambient),
            transmittance,
        );
        assert_abs_diff_eq!(detector.temperature(arrived), apparent, epsilon = 1e-4);
        let leaving = path_removed(signal(apparent), signal(ambient), transmittance);
        let back = detector.temperature(skin_signal(leaving, signal(reflected), emissivity));
        // The apparent temperatures are given to 0.1 mK, which an emissivity of 0.05 magnifies.
        assert_abs_diff_eq!(back, skin, epsilon = 1e-4 / emissivity + 1e-4);
    }
}

/// Cases K9 to K11: the Sakuma–Hattori form with all three parameters fitted over −20 to 200 °C follows the band to a
/// few millikelvins (computed with scipy, not published).
#[test]
fn fitted_sakuma_hattori_follows_its_band() {
    for (low, high, a, b, worst) in [
        (8.0, 14.0, 9.334_83, 178.9266, 0.003),
        (7.5, 14.0, 8.779_684, 216.067, 0.006),
        (7.5, 13.0, 8.749_172, 172.9338, 0.006),
    ] {
        let exact = band(low, high);
        // The scale c drops out of a comparison that is anchored in the middle of the range.
        let scale = exact.signal(363.15) / Detector::SakumaHattori { a, b, c: 1.0 }.signal(363.15);
        let form = Detector::SakumaHattori { a, b, c: scale };
        for celsius in -20..=200 {
            let kelvin = f64::from(celsius) + 273.15;
            assert_abs_diff_eq!(
                form.temperature(exact.signal(kelvin)),
                kelvin,
                epsilon = 2.0 * worst
            );
        }
    }
}

/// A Landsat 8 surface-temperature product (tests/data/landsat/SOURCE.md) comes back through the measurement equation.
/// The two-constant form that stands in for the band's table reads about 0.1 K high; the inputs are stored in whole
/// numbers, which a low transmittance magnifies.
#[test]
fn published_surface_temperatures_come_back() {
    const K1: f64 = 774.8853;
    const K2: f64 = 1321.0789;
    let detector = Detector::SakumaHattori {
        a: SECOND_RADIATION_CONSTANT / K2,
        b: 0.0,
        c: K1,
    };
    let mut differences: Vec<f64> = rows("landsat/pixels.csv")
        .into_iter()
        .map(|row| {
            let [_, _, published, seen, path, sky, transmittance, emissivity] = row[..] else {
                panic!("eight columns")
            };
            let (transmittance, emissivity) = (1e-4 * transmittance, 1e-4 * emissivity);
            // The product states the radiance of the path itself, (1 − τ) S(T_ambient).
            let leaving = path_removed(
                1e-3 * seen,
                1e-3 * path / (1.0 - transmittance),
                transmittance,
            );
            let found = detector.temperature(skin_signal(leaving, 1e-3 * sky, emissivity));
            found - (0.003_418_02 * published + 149.0)
        })
        .collect();
    differences.sort_unstable_by(f64::total_cmp);
    let at = |share: f64| differences[(share * (differences.len() - 1) as f64).round() as usize];
    assert_eq!(differences.len(), 501);
    assert_abs_diff_eq!(at(0.5), 0.13, epsilon = 0.05);
    assert!(
        at(0.05) > 0.0 && at(0.95) < 0.45,
        "{} to {}",
        at(0.05),
        at(0.95)
    );
}

/// Half 300 K and half 400 K at 10 µm is 357.8 K by signal (computed from Planck's law), not 350 K.
#[test]
fn mean_of_signals_is_not_the_mean_of_temperatures() {
    let narrow = band(9.999, 10.001);
    let mean = 0.5 * (narrow.signal(300.0) + narrow.signal(400.0));
    assert_abs_diff_eq!(narrow.temperature(mean), 357.8, epsilon = 0.05);
}

/// At an emissivity of 0.2 the fourth-power law puts a true 160 °C eleven kelvin off (computed).
#[test]
fn fourth_power_law_would_be_wrong() {
    let detector = band(8.0, 14.0);
    let signal = |kelvin| detector.signal(kelvin);
    let apparent = detector.temperature(arriving(signal(433.15), signal(293.15), 0.2, 0.0, 1.0));
    let fourth: f64 = (apparent.powi(4) - 0.8 * 293.15_f64.powi(4)) / 0.2;
    assert_abs_diff_eq!((fourth.powf(0.25) - 433.15).abs(), 11.0, epsilon = 1.0);
}
