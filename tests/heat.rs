//! Heat transfer and gas laws against published worked examples, the libraries ht and CoolProp, and finite volumes
//! (origins in tests/data/heat/SOURCE.md).
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use endtank::heat::{air, compressor, exchanger, film, flow, slab::Slab, wall};

/// The rows of a table as text.
fn rows(name: &str) -> Vec<Vec<String>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/heat")
        .join(name);
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows = reader
        .records()
        .map(|row| row.unwrap().iter().map(str::to_owned).collect());
    let rows: Vec<Vec<String>> = rows.collect();
    assert!(rows.len() > 5, "{name}");
    rows
}

fn numbers(row: &[String]) -> Vec<f64> {
    row.iter().map(|cell| cell.parse().unwrap()).collect()
}

/// A worked example: its arguments, the printed answer and what its printing allows.
fn example(id: &str) -> ([f64; 3], f64, f64) {
    let all = rows("examples.csv");
    let row = all.iter().find(|row| row[0] == id).unwrap();
    let number = |cell: &String| cell.parse().unwrap_or(f64::NAN);
    (
        [number(&row[2]), number(&row[3]), number(&row[4])],
        number(&row[5]),
        number(&row[6]),
    )
}

#[test]
fn films_of_published_examples() {
    let ([prandtl, grashof, _], answer, off) = example("C1");
    assert_abs_diff_eq!(
        film::vertical_plate(grashof * prandtl, prandtl),
        answer,
        epsilon = off
    );
    let ([reynolds, prandtl, friction], answer, off) = example("C5");
    assert_abs_diff_eq!(
        film::gnielinski(reynolds, prandtl, friction),
        answer,
        epsilon = off
    );
    let ([reynolds, prandtl, _], answer, off) = example("P7");
    assert_abs_diff_eq!(film::flat_plate(reynolds, prandtl), answer, epsilon = off);
    let ([emissivity, warm, cold], answer, off) = example("G2");
    assert_abs_diff_eq!(
        wall::flux(0.0, warm, 0.0, emissivity, cold),
        answer,
        epsilon = off
    );
    assert_abs_diff_eq!(
        wall::radiation_film(warm, emissivity, cold) * (warm - cold),
        answer,
        epsilon = off
    );
}

/// Dittus and Boelter's older correlation of the same pipe, which has a scatter of its own of about a quarter.
#[test]
fn gnielinski_is_near_dittus_and_boelter() {
    let ([reynolds, prandtl, power], answer, off) = example("C4h");
    let dittus_boelter = 0.023 * reynolds.powf(0.8) * prandtl.powf(power);
    assert_abs_diff_eq!(dittus_boelter, answer, epsilon = off);
    assert_relative_eq!(film::tube(reynolds, prandtl), answer, max_relative = 0.05);
}

#[test]
fn tubes_and_plates_as_ht_has_them() {
    for row in rows("tube.csv") {
        let row = numbers(&row);
        assert_relative_eq!(film::tube(row[0], row[1]), row[2], max_relative = 1e-7);
    }
    for row in rows("plate.csv") {
        let cells = numbers(&row[1..]);
        let (number, prandtl, nusselt) = (cells[0], cells[1], cells[2]);
        let ours = match row[0].as_str() {
            "vertical" => film::vertical_plate(number * prandtl, prandtl),
            "laminar" => film::flat_plate(number, prandtl),
            other => panic!("{other}"),
        };
        assert_relative_eq!(ours, nusselt, max_relative = 1e-3);
    }
}

#[test]
fn films_join_without_steps() {
    assert_abs_diff_eq!(film::tube(2299.0, 0.7), 3.66);
    let joins = [2300.0, 3000.0];
    for join in joins {
        let (below, above) = (film::tube(join - 0.01, 0.7), film::tube(join + 0.01, 0.7));
        assert_abs_diff_eq!(below, above, epsilon = 1e-3);
    }
    // 0.664 Re^½ and 0.037 Re^0.8 − 871 meet at Re = 5·10⁵ to a part in a thousand.
    let (below, above) = (
        film::flat_plate(4.9999e5, 0.7),
        film::flat_plate(5.0001e5, 0.7),
    );
    assert_relative_eq!(below, above, max_relative = 2e-3);
    // Still air leaves natural convection.
    let still = film::Outside {
        speed: 0.0,
        height: 0.14,
        skin: 350.0,
        ambient: 291.0,
        pressure: 101_325.0,
    };
    let natural = film::outside(still);
    assert!((4.0..8.0).contains(&natural), "{natural}");
    assert!(
        film::outside(film::Outside {
            speed: 6.0,
            ..still
        }) > 2.0 * natural
    );
}

#[test]
fn effectiveness_of_published_examples() {
    let ([ntu, ratio, _], answer, off) = example("N1");
    assert_abs_diff_eq!(
        exchanger::effectiveness_closed_form(ntu, ratio),
        answer,
        epsilon = off
    );
    let ([ntu, ratio, _], answer, off) = example("N5");
    assert_abs_diff_eq!(
        exchanger::effectiveness_closed_form(ntu, ratio),
        answer,
        epsilon = off
    );
    let ([ntu, ratio, _], answer, off) = example("N11");
    assert_abs_diff_eq!(exchanger::effectiveness(ntu, ratio), answer, epsilon = off);
    // The example was solved with the closed form: the exact series needs a little more.
    let ([wanted, ratio, conductance], answer, off) = example("N2");
    assert_abs_diff_eq!(
        exchanger::effectiveness_closed_form(answer, ratio),
        wanted,
        epsilon = 2e-4
    );
    let ntu = exchanger::transfer(wanted, 30.0, 50.0);
    let ua = exchanger::conductance(ntu, 30.0, 50.0);
    assert_abs_diff_eq!(ntu, answer, epsilon = 2.0 * off);
    assert_relative_eq!(ua, conductance, max_relative = 1e-3);
    let ([inlet, air, share], answer, off) = example("A1");
    assert_abs_diff_eq!(inlet - share * (inlet - air), answer, epsilon = off);
}

#[test]
fn effectiveness_as_ht_has_it_and_back() {
    let mut furthest: f64 = 0.0;
    for row in rows("exchanger.csv") {
        let row = numbers(&row);
        let (ntu, ratio, exact, closed) = (row[0], row[1], row[2], row[3]);
        assert_abs_diff_eq!(exchanger::effectiveness(ntu, ratio), exact, epsilon = 1e-8);
        assert_abs_diff_eq!(
            exchanger::effectiveness_closed_form(ntu, ratio),
            closed,
            epsilon = 1e-8
        );
        furthest = furthest.max((closed / exact - 1.0).abs());
        // Where the curve is flat a digit of the effectiveness is many of the NTU.
        let back = exchanger::transfer_units(exact, ratio);
        assert_abs_diff_eq!(
            exchanger::effectiveness(back, ratio),
            exact,
            epsilon = 1e-12
        );
        if exact < 0.98 {
            assert_relative_eq!(back, ntu, max_relative = 1e-6);
        }
    }
    assert!((0.03..0.04).contains(&furthest), "{furthest}");
}

#[test]
fn the_smaller_capacity_rate_is_used_rightly() {
    // The same exchanger seen from either side: UA is one, whichever fluid is the smaller.
    let (hot, cold, conductance) = (120.0, 80.0, 150.0);
    let share = exchanger::effectiveness(conductance / cold, cold / hot);
    let charge = share * cold / hot;
    let ntu = exchanger::transfer(charge, hot, cold);
    let ua = exchanger::conductance(ntu, hot, cold);
    assert_relative_eq!(ua, conductance, max_relative = 1e-9);
    assert_relative_eq!(ntu, conductance / cold, max_relative = 1e-9);
    // More heat than the cooling air can take has no exchanger.
    assert!(exchanger::transfer(0.7, 120.0, 80.0).is_nan());
    assert!(
        exchanger::transfer_units(1.0, 0.3).is_nan()
            && exchanger::transfer_units(-0.1, 0.3).is_nan()
    );
    assert!(exchanger::transfer_units(f64::NAN, 0.3).is_nan());
    let ntu = exchanger::transfer(0.7, 120.0, f64::INFINITY);
    let ua = exchanger::conductance(ntu, 120.0, f64::INFINITY);
    assert_abs_diff_eq!(ntu, -(0.3_f64).ln(), epsilon = 1e-12);
    assert_abs_diff_eq!(ua, 120.0 * ntu, epsilon = 1e-9);
}

#[test]
fn air_as_the_reference_equation_of_state_has_it() {
    for row in rows("air.csv") {
        let row = numbers(&row);
        let (pascal, kelvin) = (1e3 * row[0], row[1]);
        assert_relative_eq!(air::density(pascal, kelvin), row[2], max_relative = 0.0015);
        assert_relative_eq!(air::specific_heat(kelvin), row[3], max_relative = 0.004);
        assert_relative_eq!(air::viscosity(kelvin), row[4], max_relative = 0.015);
        assert_relative_eq!(air::conductivity(kelvin), row[5], max_relative = 0.02);
        let prandtl = row[3] * row[4] / row[5];
        assert_relative_eq!(air::prandtl(kelvin), prandtl, max_relative = 0.02);
    }
}

#[test]
fn the_transient_wall_as_finite_volumes_have_it() {
    for row in rows("transient.csv") {
        let cells = numbers(&row[1..]);
        let slab = Slab {
            thickness: cells[0],
            conductivity: cells[1],
            capacity: cells[2],
            inner_film: cells[3],
            outer_film: cells[4],
        };
        assert_abs_diff_eq!(slab.share(cells[5]), cells[6], epsilon = 2e-6);
    }
}

/// The chart of the plane wall: its centre is the insulated side of half of it.
#[test]
fn the_transient_wall_of_the_textbook_table() {
    for id in ["S1", "S2"] {
        let ([biot, fourier, _], answer, off) = example(id);
        let slab = Slab {
            thickness: 1.0,
            conductivity: 1.0,
            capacity: 1.0,
            inner_film: biot,
            outer_film: 0.0,
        };
        assert_abs_diff_eq!(1.0 - slab.share(fourier), answer, epsilon = off);
    }
}

#[test]
fn walls_turn_round() {
    let plastic = wall::Wall {
        thickness: 0.003,
        conductivity: 0.3,
        area_ratio: 1.0,
    };
    // By hand: 25 (350 − 291) + 0.94 σ (350⁴ − 292⁴) = 1475 + 412.4; times (0.01 + 0.0125).
    let flux = wall::flux(25.0, 350.0, 291.0, 0.94, 292.0);
    assert_abs_diff_eq!(flux, 1887.36, epsilon = 0.2);
    assert_abs_diff_eq!(
        plastic.charge(350.0, flux, 80.0),
        350.0 + 42.466,
        epsilon = 0.01
    );
    // 120 g/s through 55 mm: Re about 1.3·10⁵, and the film does not depend on where the repetition starts.
    let film = plastic.inner_film(350.0, flux, 0.12, 0.055, 1.0);
    let charge = plastic.charge(350.0, flux, film);
    let inner_side = 350.0 + flux * 0.01;
    assert_relative_eq!(
        film,
        film::inside(0.12, 0.055, 0.5 * (charge + inner_side)),
        max_relative = 1e-8
    );
    assert!((90.0..140.0).contains(&film), "{film}");
}

#[test]
fn compressors_and_losses() {
    // 20 °C, PR 1.8, η 0.65: 102 °C (the isentropic formula; the 130 °C that go with it in print are wrong).
    assert_abs_diff_eq!(
        compressor::discharge(293.15, 1.8, 0.65) - 273.15,
        102.4,
        epsilon = 0.5
    );
    let bounds = compressor::bounds(291.15, 2.45);
    assert!(bounds.coldest < bounds.hottest);
    assert_abs_diff_eq!(
        bounds.coldest,
        291.15 * 2.45_f64.powf(2.0 / 7.0) - 10.0,
        epsilon = 1e-9
    );
    // Δp = K ṁ²/ρ̄ turned round.
    let coefficient = flow::loss_coefficient(9e3, 2.4, 0.12);
    assert_relative_eq!(coefficient * 0.12 * 0.12 / 2.4, 9e3, max_relative = 1e-12);
    // ½ ρ v²: 0.12 kg/s of 2.4 kg/m³ through 55 mm is 21.0 m/s.
    assert_abs_diff_eq!(
        flow::dynamic_pressure(0.12, 0.055, 2.4),
        531.5,
        epsilon = 0.5
    );
    assert_relative_eq!(
        flow::heat_rejected(0.12, 393.15, 313.15),
        0.12 * 1009.5 * 80.0,
        max_relative = 1e-3
    );
}
