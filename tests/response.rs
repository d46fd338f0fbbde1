//! Spectral responses and emissivities against open data: a satellite band's own table, a hot metal's radiance, and a
//! clean metal's optical constants.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use approx::assert_abs_diff_eq;
use endtank::radiometry::{Band, Detector};

fn data(file: &str) -> Vec<u8> {
    std::fs::read(
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/data")
            .join(file),
    )
    .unwrap()
}

/// Rows of numbers separated by commas or spaces; other lines are left out.
fn numbers(file: &str) -> Vec<Vec<f64>> {
    let text = String::from_utf8(data(file)).unwrap();
    let row = |line: &str| -> Option<Vec<f64>> {
        line.split([',', ' '])
            .filter(|cell| !cell.is_empty())
            .map(|cell| cell.parse().ok())
            .collect()
    };
    text.lines()
        .filter_map(row)
        .filter(|row| row.len() > 1)
        .collect()
}

/// Thermal band of Landsat 5 (tests/data/band6/SOURCE.md): temperatures come back from its published radiances, through
/// its response file, within 0.01 K.
#[test]
fn landsat_band_comes_back_through_its_response() {
    let band = Band::curve(endtank::load::response(&data("band6/response.txt")).unwrap()).unwrap();
    let detector = Detector::band(&band);
    let mut compared = 0;
    for row in numbers("band6/lut.txt")
        .iter()
        .filter(|row| row[0] >= 200.0 && row[0] <= 360.0)
    {
        // The table holds the band's mean radiance; a signal is its integral.
        assert_abs_diff_eq!(
            detector.temperature(row[1] * band.area()),
            row[0],
            epsilon = 0.01
        );
        compared += 1;
    }
    assert!(compared > 300);
}

/// The same response as a table with a heading and decimal commas.
#[test]
fn response_may_be_a_spreadsheets_table() {
    let plain = endtank::load::response(&data("band6/response.txt")).unwrap();
    let mut text = "Wellenlänge (µm);relativ\r\n".to_owned();
    for (wavelength, response) in &plain {
        text.push_str(&format!("{wavelength};{response}\r\n").replace('.', ","));
    }
    assert_eq!(endtank::load::response(text.as_bytes()).unwrap(), plain);
}

/// Tantalum at 573 K, 2 to 10 µm (tests/data/metals/SOURCE.md): T = Planck⁻¹(radiance / emissivity), wavelength by
/// wavelength. The source does not say whether the radiance was measured or computed, so this checks arithmetic only.
#[test]
fn tantalum_comes_back_from_its_radiance() {
    let emissivity = numbers("metals/tantalum-emissivity.csv");
    let at = |wavelength: f64| {
        let next = emissivity.iter().position(|row| row[0] >= wavelength)?;
        let (a, b) = (emissivity.get(next.checked_sub(1)?)?, &emissivity[next]);
        Some(a[1] + (wavelength - a[0]) / (b[0] - a[0]) * (b[1] - a[1]))
    };
    let mut found: Vec<f64> = numbers("metals/tantalum-irradiance.csv")
        .iter()
        .filter_map(|row| {
            let narrow = Band::flat(row[0] - 1e-4, row[0] + 1e-4).ok()?;
            Some(narrow.temperature(row[1] / at(row[0])? * narrow.area()))
        })
        .collect();
    found.sort_unstable_by(f64::total_cmp);
    assert!(found.len() > 50, "{}", found.len());
    assert_abs_diff_eq!(found[found.len() / 2], 574.1, epsilon = 0.3);
    assert!(
        found[0] > 560.0 && found[found.len() - 1] < 578.0,
        "{found:?}"
    );
}

/// Smooth clean iron over 8 to 14 µm at 300 K has an emissivity of 0.0316 (tests/data/metals/SOURCE.md): normal incidence,
/// ε = 1 − ((n − 1)² + k²)/((n + 1)² + k²), weighted by Planck's law.
#[test]
fn clean_iron_has_the_emissivity_of_its_optical_constants() {
    let emissivity: Vec<(f64, f64)> = numbers("metals/Fe-Ordal.yml")
        .iter()
        .map(|row| {
            let (n, k) = (row[1], row[2]);
            (
                row[0],
                1.0 - ((n - 1.0).powi(2) + k * k) / ((n + 1.0).powi(2) + k * k),
            )
        })
        .collect();
    let at = |wavelength: f64| {
        let next = emissivity
            .iter()
            .position(|row| row.0 >= wavelength)
            .unwrap();
        let (a, b) = (emissivity[next - 1], emissivity[next]);
        a.1 + (wavelength - a.0) / (b.0 - a.0) * (b.1 - a.1)
    };
    let points = (0..=600)
        .map(|step| 8.0 + 0.01 * f64::from(step))
        .map(|wavelength| (wavelength, at(wavelength)));
    let emitted = Band::curve(points.collect()).unwrap().radiance(300.0);
    let black = Band::flat(8.0, 14.0).unwrap().radiance(300.0);
    assert_abs_diff_eq!(emitted / black, 0.0316, epsilon = 0.0002);
}
