//! Every unit, every way to write limits, and everything that is refused.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::*;

use Dimension::{
    Angle, Conductivity, Density, EngineSpeed, HeatTransferCoefficient, Length, MassFlow, Pressure,
    Ratio, SpecificHeat, Temperature, TemperatureDifference, Time, Velocity,
};

fn read(text: &str, dimension: Dimension) -> Parsed {
    parse(text, dimension).unwrap_or_else(|error| panic!("{text}: {error:?}"))
}

fn refused(text: &str, dimension: Dimension) -> Unreadable {
    match parse(text, dimension) {
        Ok(parsed) => panic!("{text} was read as {parsed:?}"),
        Err(error) => error,
    }
}

/// Figures from the definitions: inch 25.4 mm, pound 0.45359237 kg, °F = 5/9 (t − 32) °C, all exact; psi and inHg as
/// rounded in NIST SP 811 appendix B (from memory).
#[test]
fn every_unit_in_every_spelling() {
    let rows: &[(Dimension, &[&str], f64)] = &[
        (
            Temperature,
            &[
                "20 °C",
                "20°C",
                "20 degC",
                "20 C",
                "20 ºC",
                "20\u{a0}°C",
                "20\u{202f}˚C",
            ],
            293.15,
        ),
        (Temperature, &["68 °F", "68 degF", "68F"], 293.15),
        (Temperature, &["293.15 K", "293.15K"], 293.15),
        (Temperature, &["−10 °C", "-10 °C"], 263.15),
        (TemperatureDifference, &["9 °F", "9 degF", "9 F"], 5.0),
        (TemperatureDifference, &["5 K", "5 °C", "5 degC", "5C"], 5.0),
        (
            Pressure,
            &[
                "100000 Pa",
                "1000 hPa",
                "1000 mbar",
                "100 kPa",
                "1 bar",
                "1e5 Pa",
            ],
            1e5,
        ),
        (Pressure, &["10 psi"], 68_947.572_931_68),
        (Pressure, &["29.92 inHg"], 101_320.758_88),
        (
            Length,
            &["3 m", "300 cm", "3000 mm", "3e6 µm", "3e6 μm", "3e6 um"],
            3.0,
        ),
        (Length, &["10 in"], 0.254),
        (Time, &["90 s", "1.5 min", "0.025 h", "90000 ms"], 90.0),
        (
            EngineSpeed,
            &["2400 rpm", "2400 1/min", "2400 min-1", "2400 min⁻¹"],
            2400.0,
        ),
        (MassFlow, &["120 g/s", "0.12 kg/s"], 0.12),
        (MassFlow, &["60 lb/min"], 0.453_592_37),
        (Velocity, &["10 m/s", "36 km/h"], 10.0),
        (
            Conductivity,
            &[
                "0.3 W/(m K)",
                "0.3 W/mK",
                "0.3 W/m/K",
                "0.3 W/(m·K)",
                "0.3 W/m K",
                "0.3 W m-1 K-1",
                "0.3 W/(m*K)",
                "0.3 W/(m⋅K)",
            ],
            0.3,
        ),
        (
            HeatTransferCoefficient,
            &[
                "25 W/(m2 K)",
                "25 W/m2K",
                "25 W/m²K",
                "25 W/(m²·K)",
                "25 W/(m² K)",
                "25 W/m2/K",
                "25 W/(m^2 K)",
                "25 W m⁻² K⁻¹",
            ],
            25.0,
        ),
        (
            SpecificHeat,
            &[
                "1500 J/(kg K)",
                "1500 J/kgK",
                "1500 J/kg/K",
                "1.5 kJ/(kg K)",
            ],
            1500.0,
        ),
        (
            Density,
            &[
                "1370 kg/m3",
                "1370 kg/m³",
                "1370 kg/m^3",
                "1.37 g/cm3",
                "1.37 g/cm³",
            ],
            1370.0,
        ),
        (Angle, &["20°", "20 °", "20 deg", "20º"], 20.0),
        (Ratio, &["0.94", "94 %", "94%", "9.4e-1"], 0.94),
    ];
    for (dimension, texts, value) in rows {
        for text in *texts {
            let parsed = read(text, *dimension);
            assert_relative_eq!(parsed.value, *value, max_relative = 1e-12);
            assert_eq!(
                (parsed.law, parsed.limits_stated),
                (Law::Exact, false),
                "{text}"
            );
        }
    }
}

#[test]
fn every_unit_of_the_tables_is_tested_above() {
    for dimension in spelling::DIMENSIONS {
        for (names, scale, offset) in spelling::rows(*dimension) {
            for name in *names {
                let parsed = read(&format!("1 {name}"), *dimension);
                assert_relative_eq!(parsed.value, offset + scale, max_relative = 1e-15);
            }
        }
    }
}

fn assert_rectangular(text: &str, dimension: Dimension, value: f64, low: f64, high: f64) {
    let parsed = read(text, dimension);
    assert!(parsed.limits_stated, "{text}");
    assert_relative_eq!(parsed.value, value, max_relative = 1e-12);
    let Law::Rectangular {
        low: bottom,
        high: top,
    } = parsed.law
    else {
        panic!("{text}: {parsed:?}");
    };
    assert_relative_eq!(bottom, low, max_relative = 1e-12);
    assert_relative_eq!(top, high, max_relative = 1e-12);
}

#[test]
fn a_pressure_that_says_from_where_it_is_counted_is_told_where_that_belongs() {
    for (text, kept, reference) in [
        ("20.2 psia", "`psi`", "\"absolute\""),
        ("20.2 PSIG", "`psi`", "\"gauge\""),
        ("1.4 bara", "`bar`", "\"absolute\""),
        ("140 kPag", "`kPa`", "\"gauge\""),
    ] {
        let mend = parse(text, Dimension::Pressure).unwrap_err().mend;
        assert!(mend.contains(kept) && mend.contains(reference), "{mend}");
    }
}

#[test]
fn plus_minus_in_every_spelling_and_place_of_the_unit() {
    for text in [
        "23.5 °C ± 0.5",
        "23.5 °C ± 0.5 °C",
        "23.5 ± 0.5 °C",
        "23.5 °C ± 0.5 K",
        "23.5 °C +/- 0.5",
        "23.5 °C +- 0.5",
        "23.5°C±0.5",
        "23.5 °C ± 0.9 °F",
        "74.3 °F ± 0.9 °F",
        "74.3 °F ± 0.5 K",
    ] {
        assert_rectangular(text, Temperature, 296.65, 296.15, 297.15);
    }
    assert_rectangular(
        "25 ± 15 W/(m2 K)",
        HeatTransferCoefficient,
        25.0,
        10.0,
        40.0,
    );
    assert_rectangular("9 kPa ± 0.2", Pressure, 9000.0, 8800.0, 9200.0);
    assert_rectangular("1 bar ± 2 kPa", Pressure, 1e5, 98e3, 102e3);
    assert_rectangular("0.94 ± 0.02", Ratio, 0.94, 0.92, 0.96);
}

#[test]
fn an_interval_of_one_fahrenheit_is_five_ninths_of_a_kelvin() {
    assert_rectangular(
        "20 °C ± 1 °F",
        Temperature,
        293.15,
        293.15 - 5.0 / 9.0,
        293.15 + 5.0 / 9.0,
    );
}

#[test]
fn per_cent_is_relative_to_the_number_as_written() {
    assert_rectangular("40 °C ± 2 %", Temperature, 313.15, 312.35, 313.95);
    assert_rectangular("-40 °C ± 2 %", Temperature, 233.15, 232.35, 233.95);
    assert_rectangular(
        "100 °F ± 9 %",
        Temperature,
        273.15 + 340.0 / 9.0,
        273.15 + 295.0 / 9.0,
        273.15 + 385.0 / 9.0,
    );
    assert_rectangular("150 kPa ± 1 %", Pressure, 150e3, 148.5e3, 151.5e3);
    assert_rectangular("0.5 ± 2 %", Ratio, 0.5, 0.49, 0.51);
}

#[test]
fn limits_of_a_percentage_are_percentage_points() {
    for text in ["94 % ± 2 %", "94 % ± 2", "94% ± 2%"] {
        assert_rectangular(text, Ratio, 0.94, 0.92, 0.96);
    }
}

#[test]
fn a_coverage_factor_makes_it_normal() {
    for text in [
        "23.5 °C ± 0.5 (k=2)",
        "23.5 °C ± 0.5 K (k = 2)",
        "23.5 ± 0.5 °C (k=2.0)",
        "23.5 ± 0.5 (k=2) °C",
        "23.5 °C +/- 0.5(K=2)",
    ] {
        let parsed = read(text, Temperature);
        assert_relative_eq!(parsed.value, 296.65, max_relative = 1e-12);
        assert_eq!(parsed.law, Law::Normal { standard: 0.25 }, "{text}");
    }
    let film = read("25 ± 15 W/(m2 K) (k=3)", HeatTransferCoefficient);
    assert_eq!(film.law, Law::Normal { standard: 5.0 });
}

#[test]
fn a_factor_in_every_spelling_and_place_of_the_unit() {
    for text in [
        "25 ×/÷ 1.5 W/(m2 K)",
        "25 W/(m2 K) ×/÷ 1.5",
        "25 W/(m2 K) ×/÷ 1.5 W/(m2 K)",
        "25 x/ 1.5 W/(m2 K)",
        "25 x/÷ 1.5 W/(m2 K)",
        "25 */ 1.5 W/(m2 K)",
        "25 ×/ 1.5 W/(m2 K)",
    ] {
        let parsed = read(text, HeatTransferCoefficient);
        assert_eq!(
            (parsed.value, parsed.law),
            (25.0, Law::Factor { factor: 1.5 }),
            "{text}"
        );
    }
}

#[test]
fn two_ends_with_the_value_in_their_middle() {
    for text in [
        "2350 to 2450 rpm",
        "2350 rpm to 2450 rpm",
        "2350 rpm to 2450",
        "2350to2450rpm",
    ] {
        assert_rectangular(text, EngineSpeed, 2400.0, 2350.0, 2450.0);
    }
    assert_rectangular("8 to 14 µm", Length, 11e-6, 8e-6, 14e-6);
    assert_rectangular("-5 to 5 °C", Temperature, 273.15, 268.15, 278.15);
    assert_rectangular("90 to 96 %", Ratio, 0.93, 0.90, 0.96);
    assert_rectangular("900 hPa to 1 bar", Pressure, 95e3, 90e3, 100e3);
}

#[test]
fn half_a_unit_of_the_last_digit_in_the_base_unit() {
    for (text, dimension, half) in [
        ("18 °C", Temperature, 0.5),
        ("18.0 °C", Temperature, 0.05),
        ("64 °F", Temperature, 2.5 / 9.0),
        ("148 kPa", Pressure, 500.0),
        ("1.2e3 rpm", EngineSpeed, 50.0),
        ("3 mm", Length, 0.0005),
        ("0.94", Ratio, 0.005),
        ("94 %", Ratio, 0.005),
    ] {
        assert_relative_eq!(
            read(text, dimension).half_last_digit,
            half,
            max_relative = 1e-12
        );
    }
}

#[test]
fn a_missing_unit_shows_likely_spellings() {
    let error = refused("23.5", Temperature);
    assert!(error.what.contains("no unit"), "{error:?}");
    assert!(error.mend.contains("\"23.5 °C\""), "{error:?}");
    assert!(error.mend.contains("°F"), "{error:?}");
}

#[test]
fn a_unit_of_something_else_names_what_is_expected() {
    let error = refused("23.5 kPa", Temperature);
    assert!(error.what.contains("a pressure"), "{error:?}");
    assert!(
        error.what.contains("a temperature is expected"),
        "{error:?}"
    );
    let error = refused("23.5 °C ± 2 kPa", Temperature);
    assert!(error.what.contains("kPa"), "{error:?}");
}

#[test]
fn an_unknown_unit_suggests_the_near_one() {
    for (text, dimension, near) in [
        ("3 kpa", Pressure, "kPa"),
        ("3 KPA", Pressure, "kPa"),
        ("3 Bar", Pressure, "bar"),
        ("3 sec", Time, "s"),
        ("2400 rmp", EngineSpeed, "rpm"),
        ("20 °c", Temperature, "°C"),
        ("3 inhg", Pressure, "inHg"),
    ] {
        let error = refused(text, dimension);
        assert!(
            error.mend.contains(&format!("`{near}`")),
            "{text}: {error:?}"
        );
    }
}

#[test]
fn a_decimal_comma_says_so() {
    for (text, dimension) in [
        ("23,5 °C", Temperature),
        ("23.5 °C ± 0,5", Temperature),
        ("25 ×/÷ 1,5 W/(m2 K)", HeatTransferCoefficient),
        ("8,5 to 14 µm", Length),
        ("0,95", Ratio),
    ] {
        let error = refused(text, dimension);
        assert!(error.what.contains("decimal comma"), "{text}: {error:?}");
        assert!(error.mend.contains("point"), "{text}: {error:?}");
    }
    assert!(refused("23,5 °C", Temperature).mend.contains("23.5"));
    assert!(refused("23.5 °C ± 0,5", Temperature).mend.contains("0.5"));
}

#[test]
fn senseless_limits_are_refused() {
    for (text, dimension) in [
        ("20 °C ± 0", Temperature),
        ("20 °C ± -1", Temperature),
        ("20 °C ±", Temperature),
        ("± 1 °C", Temperature),
        ("0 °C ± 2 %", Temperature),
        ("20 °C ± 1 ± 1", Temperature),
        ("20 °C ± 1 (k=0)", Temperature),
        ("20 °C ± 1 (k=-2)", Temperature),
        ("20 °C ± 1 (k=two)", Temperature),
        ("20 °C ± 1 (k=2) (k=2)", Temperature),
        ("20 °C (k=2)", Temperature),
        ("20 °C ×/÷ 1.5", Temperature),
        ("3 mm ×/÷ 1", Length),
        ("3 mm ×/÷ 0.5", Length),
        ("3 mm ×/÷ 1.5 m", Length),
        ("-3 mm ×/÷ 1.5", Length),
        ("3 mm ×/÷ 1.5 (k=2)", Length),
        ("14 to 8 µm", Length),
        ("8 to 8 µm", Length),
        ("8 to µm", Length),
        ("8 to 14", Length),
        ("8-14 µm", Length),
        ("8 to 14 to 20 µm", Length),
        ("-300 °C", Temperature),
        ("-1 K", Temperature),
        ("1e308 m/s ± 1e308", Velocity),
        ("1e308 bar", Pressure),
        ("1e-320 m ±1e-320 (k=1e9)", Length),
        ("nan K", Temperature),
        ("inf K", Temperature),
        ("", Ratio),
        ("0.9 0.8", Ratio),
    ] {
        refused(text, dimension);
    }
}

#[test]
fn a_dash_between_two_ends_is_explained() {
    assert!(refused("8-14 µm", Length).mend.contains("`8 to 14 µm`"));
    assert!(refused("8–14 µm", Length).mend.contains("to"));
}

fn dimension() -> impl Strategy<Value = Dimension> {
    proptest::sample::select(spelling::DIMENSIONS)
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC*", dimension in dimension()) {
        let _ = parse(&text, dimension);
        let _ = parse_accuracy(&text, dimension);
    }

    #[test]
    fn nothing_like_a_quantity_panics(
        text in "[-+−]?[0-9]{0,3}[.,]?[0-9]{0,3}(e[-+]?[0-9]{1,5})? ?(°C|K|%|kPa|to|±|×/÷|x/|\\(k=|2|\\)| |µm|W/\\(m2 K\\)){0,6}",
        dimension in dimension(),
    ) {
        if let Ok(parsed) = parse(&text, dimension) {
            prop_assert!(parsed.value.is_finite());
            match parsed.law {
                Law::Exact => {}
                Law::Rectangular { low, high } => prop_assert!(low <= parsed.value && parsed.value <= high),
                Law::Normal { standard } => prop_assert!(standard > 0.0),
                Law::Factor { factor } => prop_assert!(factor > 1.0 && parsed.value > 0.0),
            }
        }
        let _ = parse_accuracy(&text, dimension);
    }

    #[test]
    fn what_is_written_out_reads_back(number in -200.0..2000.0f64, limit in 0.01..50.0f64) {
        let parsed = parse(&format!("{number} °C ± {limit} K"), Temperature).unwrap();
        prop_assert_eq!(parsed.value, number + 273.15);
        prop_assert_eq!(parsed.law, Law::Rectangular { low: number + 273.15 - limit, high: number + 273.15 + limit });
        let parsed = parse(&format!("{limit} ×/÷ 1.5"), Ratio).unwrap();
        prop_assert_eq!(parsed.value, limit);
        let parsed = parse(&format!("{number} kPa"), Pressure).unwrap();
        prop_assert_eq!(parsed.value, 1000.0 * number);
    }
}
