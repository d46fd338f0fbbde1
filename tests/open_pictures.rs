//! Real temperature pictures (tests/data/open/SOURCE.md) give their authors' and numpy's statistics.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod picture_files;

use approx::assert_abs_diff_eq;
use endtank::load::{self, ThermalImage, Wanted};
use picture_files::data;

/// Valid pixels, and minimum, mean and maximum of their temperatures, K.
fn statistics(image: &ThermalImage) -> (usize, [f64; 3]) {
    let valid: Vec<f64> = (0..image.height())
        .flat_map(|y| (0..image.width()).filter_map(move |x| image.shown(x, y)))
        .collect();
    let mean = valid.iter().sum::<f64>() / valid.len() as f64;
    let low = valid.iter().copied().fold(f64::INFINITY, f64::min);
    let high = valid.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (valid.len(), [low, mean, high])
}

/// Checks a picture against its line of statistics.csv, which is in `zero` + its unit.
fn check(file: &str, zero: f64, unit: &str) -> [f64; 3] {
    let bytes = std::fs::read(data(&format!("open/{file}"))).unwrap();
    let image = load::read(&bytes, Wanted::default()).unwrap();
    assert!(
        image
            .assumed
            .as_deref()
            .unwrap()
            .contains(&format!("taken as {unit} ")),
        "{:?}",
        image.assumed
    );
    let mut table = csv::Reader::from_path(data("open/statistics.csv")).unwrap();
    let record = table
        .records()
        .map(Result::unwrap)
        .find(|record| &record[0] == file)
        .unwrap();
    let number = |column: usize| record[column].parse::<f64>().unwrap();
    assert_eq!(image.height() as f64, number(1));
    assert_eq!(image.width() as f64, number(2));
    let (valid, found) = statistics(&image);
    assert_eq!(valid as f64, number(3));
    for (column, found) in (4..).zip(found) {
        assert_abs_diff_eq!(found, number(column) + zero, epsilon = 1e-9);
    }
    found
}

#[test]
fn the_mean_over_a_leaf_is_the_authors_own() {
    let [_, mean, _] = check("leaf.csv", 273.15, "°C");
    assert_abs_diff_eq!(mean - 273.15, 30.079, epsilon = 0.01);
}

#[test]
fn land_surface_temperatures_are_found_to_be_kelvin() {
    let [_, mean, _] = check("lst-crop.tif", 0.0, "K");
    assert!((290.0..320.0).contains(&mean));
}
