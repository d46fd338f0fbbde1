//! Logs as loggers write them.

use std::io::Cursor;

use approx::assert_relative_eq;

use super::*;

fn column(channel: Channel, name: &str) -> Column {
    Column {
        channel,
        name: name.to_owned(),
        unit: None,
    }
}

fn request(columns: &[(Channel, &str)], window: Window) -> Request {
    Request {
        columns: columns
            .iter()
            .map(|(channel, name)| column(*channel, name))
            .collect(),
        window,
        surroundings: Surroundings::default(),
    }
}

const ALL: Window = Window::Time {
    low: -1e9,
    high: 1e9,
};

const TWO: [(Channel, &str); 2] = [(Channel::Time, "Time"), (Channel::InletPressure, "MAP")];

fn of(text: &str, columns: &[(Channel, &str)], window: Window) -> Result<Reading, Vec<Fault>> {
    read(Cursor::new(text.as_bytes()), &request(columns, window))
}

fn mean(reading: &Reading, channel: Channel) -> Mean {
    let mut means = reading.means.iter();
    *means.find(|mean| mean.channel == channel).unwrap()
}

/// The only fault.
fn fault(text: &str, columns: &[(Channel, &str)], window: Window) -> Fault {
    let faults = of(text, columns, window).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    faults[0].clone()
}

#[test]
fn a_plain_log() {
    let text = "Time (s),MAP [kPa]\n0,100\n1,102\n2,104\n3,106\n4,108\n";
    let window = Window::Time {
        low: 1.0,
        high: 4.0,
    };
    let reading = of(text, &TWO, window).unwrap();
    assert_eq!((reading.rows, reading.in_window), (5, 4));
    let pressure = mean(&reading, Channel::InletPressure);
    assert_relative_eq!(pressure.value, 105e3);
    assert_eq!(pressure.count, 4);
    assert_relative_eq!(pressure.half_last_digit, 500.0);
    assert!(
        reading
            .means
            .iter()
            .all(|mean| mean.channel != Channel::Time)
    );
    assert_eq!(reading.sha256.len(), 64);
}

#[test]
fn remarks_unit_rows_gaps_quotes_and_decimal_commas() {
    let text = "\u{feff}Logger 3000; no \"real\" make\r\n# a remark; with; delimiters\r\n\r\nTime;\"MAP; raw\";Note\r\n\
        [s];(mbar);\r\n;;\r\n0,0;1000,5;on\r\n0,5;NaN;\r\n// pause\r\n1,0; 1001,5 ;\"a\nb\"\r\n1,5;---;x\r\n2,0;1002,5;\r\n\
        2,5;1003,5\r\n3,0\r\n";
    let columns = [
        (Channel::Time, "time"),
        (Channel::InletPressure, "MAP; raw"),
    ];
    let reading = of(text, &columns, ALL).unwrap();
    assert_eq!(reading.rows, 7);
    let pressure = mean(&reading, Channel::InletPressure);
    assert_eq!(pressure.count, 4);
    assert_relative_eq!(pressure.value, 100_200.0, max_relative = 1e-12);
    assert_relative_eq!(pressure.half_last_digit, 5.0, max_relative = 1e-12);
}

#[test]
fn latin_1_and_old_line_ends() {
    let text = b"Zeit [s];Luft [\xB0C]\r0;20\r1;21\r2;22\r3;23\r".to_vec();
    let wanted = request(
        &[(Channel::Time, "Zeit"), (Channel::IntakeAir, "Luft")],
        ALL,
    );
    let reading = read(Cursor::new(text), &wanted).unwrap();
    assert_relative_eq!(mean(&reading, Channel::IntakeAir).value, 294.65);
}

#[test]
fn units_from_wherever_they_stand() {
    let rows = "1,20\n2,21\n3,22\n4,23\n";
    for head in [
        "SEC,Boost (PSI)",
        "sec,Boost [psi]",
        "sec,Boost\ns,psi",
        "sec,Boost\n[s],[psi]",
    ] {
        let text = format!("{head}\n{rows}");
        let columns = [(Channel::Time, "sec"), (Channel::InletPressure, "Boost")];
        let reading = of(&text, &columns, ALL).unwrap();
        let pressure = mean(&reading, Channel::InletPressure).value;
        assert_relative_eq!(pressure, 21.5 * 6_894.757_293_168, max_relative = 1e-12);
    }
    let mut stated = request(&TWO, ALL);
    stated.columns[1].unit = Some(Unit {
        scale: 1e5,
        offset: 0.0,
    });
    let text = "Time (ms),MAP (kPa)\n0,1\n1,1\n2,1\n3,1\n";
    let reading = read(Cursor::new(text), &stated).unwrap();
    let pressure = mean(&reading, Channel::InletPressure);
    assert_relative_eq!(pressure.value, 1e5);
    assert_eq!(pressure.standard, 0.0, "always the same");
    let unknown = fault(
        "Time,MAP (foo)\n0,1\n1,1\n",
        &[(Channel::InletPressure, "MAP")],
        ALL,
    );
    assert!(
        unknown.what.contains("`foo`") && unknown.mend.contains("unit = "),
        "{unknown:?}"
    );
}

#[test]
fn the_names_may_stand_below_remarks_that_look_like_rows() {
    let text = "Vehicle,tow truck,RPM\nDate,2026\nTime (s),RPM,MAP (kPa)\n0,1000,1\n1,1001,2\n2,1002,3\n3,1003,4\n";
    let window = Window::Speed {
        low: 1000.0,
        high: 1003.0,
    };
    let columns = [
        (Channel::EngineSpeed, "RPM"),
        (Channel::InletPressure, "MAP"),
    ];
    let reading = of(text, &columns, window).unwrap();
    assert_relative_eq!(mean(&reading, Channel::InletPressure).value, 2500.0);
}

#[test]
fn what_is_wrong_is_said_all_at_once() {
    let text = "Time (s),Boost (kPa),RPM,RPM\n0,1,2,3\n";
    let columns = [
        (Channel::Time, "Time"),
        (Channel::InletPressure, "Bost (kPa)"),
        (Channel::OutletPressure, "zzzzzz"),
        (Channel::EngineSpeed, "RPM"),
    ];
    let faults = of(text, &columns, ALL).unwrap_err();
    let said: Vec<String> = faults
        .iter()
        .map(|fault| format!("{}: {}", fault.what, fault.mend))
        .collect();
    assert_eq!(said.len(), 3, "{said:?}");
    assert!(said[0].contains("did you mean `Boost (kPa)`?"));
    assert!(said[1].contains("its columns are `Time (s)`, `Boost (kPa)`"));
    assert!(said[2].contains("2 columns `RPM`"));
    assert_eq!(faults[1].about, About::Column(Channel::OutletPressure));
}

#[test]
fn rows_that_are_none() {
    let word = fault("Time (s),MAP (kPa)\n0,1\n1,abc\n2,x\n3,4\n", &TWO, ALL);
    assert_eq!(word.about, About::Column(Channel::InletPressure));
    assert!(word.what.contains("line 3: `abc`"), "{word:?}");
    assert!(word.what.contains("and so in 1 row more"), "{word:?}");
    let back = fault("Time (s),MAP (kPa)\n0,1\n2,1\n1,1\n3,4\n4,4\n", &TWO, ALL);
    assert!(
        back.what
            .contains("line 4: the time goes back from 2 s to 1 s"),
        "{back:?}"
    );
    let clock = fault("Time (s),MAP (kPa)\n0,1\n12:00:01,1\n", &TWO, ALL);
    assert!(
        clock.mend.contains("seconds from the log's start"),
        "{clock:?}"
    );
    let thousands = fault("Time (s);MAP (kPa)\n0;1\n1;1.000,5\n", &TWO, ALL);
    assert!(thousands.mend.contains("thousands"), "{thousands:?}");
}

#[test]
fn windows_that_hold_nothing() {
    let text = "Time (s),RPM,MAP (kPa)\n0,1000,1\n1,1500,\n2,2000,3\n3,2500,4\n4,,4\n";
    let columns = [
        (Channel::EngineSpeed, "RPM"),
        (Channel::InletPressure, "MAP"),
    ];
    let speed = |low, high| Window::Speed { low, high };
    let none = fault(text, &columns, speed(5000.0, 6000.0));
    assert_eq!(none.about, About::Window);
    assert!(none.mend.contains("from 1000 to 2500 rpm"), "{none:?}");
    let few = fault(text, &columns, speed(900.0, 2100.0));
    assert!(few.what.contains("holds 3 rows"), "{few:?}");
    let gappy = fault(text, &columns, speed(900.0, 2600.0));
    assert_eq!(gappy.about, About::Column(Channel::InletPressure));
    assert!(gappy.what.contains("has 3 values, of 4 rows"), "{gappy:?}");
    let empty = fault("RPM,MAP (kPa)\n", &columns, speed(0.0, 1.0));
    assert!(empty.what.contains("no rows with numbers"), "{empty:?}");
    let text = "RPM,MAP (kPa)\n,1\n,2\n,3\n,4\n";
    assert!(
        fault(text, &columns, speed(0.0, 1.0))
            .mend
            .contains("is empty")
    );
}

#[test]
fn what_is_no_log() {
    for (bytes, what) in [
        (&b""[..], "empty"),
        (b"PK\x03\x04....", "spreadsheet"),
        (b"\xFF\xFET\0i\0m\0e\0", "UTF-16"),
        (b"Time\0\0", "no text file"),
    ] {
        let faults = read(Cursor::new(bytes), &request(&TWO, ALL)).unwrap_err();
        assert_eq!(faults.len(), 1);
        assert!(faults[0].what.contains(what), "{faults:?}");
    }
    let faults = of("just some words\n", &TWO, ALL).unwrap_err();
    assert_eq!(faults.len(), 2, "{faults:?}");
}

/// A second that is high throughout, a spike, and a high row behind a gap: the first is the peak.
#[test]
fn the_peak_is_a_second_not_a_spike() {
    let mut text = "Time (s),MAP (kPa)\n".to_owned();
    for row in 0..1000 {
        let time = f64::from(row) / 100.0;
        let pressure = match row {
            150 => 900.0,
            400..=520 => 200.0 - f64::from((row - 460_i32).abs()) / 10.0,
            _ => 100.0,
        };
        text.push_str(&format!("{time:.2},{pressure}\n"));
    }
    text.push_str("100,500\n");
    let reading = of(&text, &TWO, Window::PeakBoost).unwrap();
    let (from, to) = reading.found.unwrap();
    assert!(
        (from - 4.1).abs() < 0.015 && (to - 5.1).abs() < 0.015,
        "{from} to {to}"
    );
    assert!((100..=101).contains(&reading.in_window));
    let slow = "Time (s),MAP (kPa)\n0,1\n5,2\n10,3\n15,4\n20,5\n";
    let none = fault(slow, &TWO, Window::PeakBoost);
    assert_eq!(none.about, About::Window);
}

#[test]
fn a_quotation_mark_that_is_never_closed_fills_no_memory() {
    let mut text = b"Time (s),MAP (kPa)\n0,1\n1,\"".to_vec();
    text.resize(9 << 20, b'\n');
    let faults = read(Cursor::new(text), &request(&TWO, ALL)).unwrap_err();
    assert!(faults[0].what.contains("4 MiB"), "{faults:?}");
}

/// A thousand rows about a true value with steady noise, rounded to whole numbers: the mean and its doubt.
fn rounded_log(truth: f64, noise: f64, seed: u64) -> Mean {
    let mut state = seed;
    let mut even = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / 9_007_199_254_740_992.0 - 0.5
    };
    let mut text = "Time (s),MAP [kPa]\n".to_owned();
    for row in 0..1000 {
        // Twelve even numbers: nearly normal, of variance 1.
        let normal: f64 = (0..12).map(|_| even()).sum();
        text += &format!("{row},{:.0}\n", truth + noise * normal);
    }
    mean(&of(&text, &TWO, ALL).unwrap(), Channel::InletPressure)
}

/// However much or little the rows scatter the doubt covers what rounding hides: two standard uncertainties hold the truth
/// nearly always, even where but one row of a thousand differs.
#[test]
fn rounding_is_part_of_the_doubt_unless_the_rows_scatter_by_a_digit() {
    for noise in [0.0, 0.05, 0.15, 0.3, 0.5, 0.8, 1.5] {
        let held = (0..200_u32).filter(|&number| {
            let truth = 100.0 + f64::from(number) / 200.0;
            let mean = rounded_log(truth, noise, u64::from(number) + 1);
            (mean.value - 1e3 * truth).abs() < 2.0 * mean.doubt()
        });
        let held = held.count();
        assert!(held >= 186, "{held} of 200 with {noise}");
    }
    // 999 rows of 44 and one of 45.
    let rows: String = (0..1000)
        .map(|row| format!("{row},{}\n", if row == 500 { 45 } else { 44 }))
        .collect();
    let one = mean(
        &of(&format!("Time (s),MAP [kPa]\n{rows}"), &TWO, ALL).unwrap(),
        Channel::InletPressure,
    );
    assert!(one.standard < 2.0);
    // Half a digit of 1 kPa, even, and the mean's own 1 Pa.
    assert_relative_eq!(one.doubt(), 500.0 / 3_f64.sqrt(), max_relative = 1e-3);
    // Where rows scatter by more than a digit rounding averages out.
    let steady = rounded_log(100.3, 1.5, 1);
    assert_relative_eq!(steady.doubt(), steady.standard);
    assert_relative_eq!(steady.scatter, 1500.0, max_relative = 0.1);
}

/// A logger that leaves out zeros at the end writes its digits in most rows only.
#[test]
fn the_finest_digit_counts() {
    let text = "Time (s),MAP [kPa]\n0,44\n1,44.02\n2,44.1\n3,44.01\n";
    let pressure = mean(&of(text, &TWO, ALL).unwrap(), Channel::InletPressure);
    assert_relative_eq!(pressure.half_last_digit, 5.0, max_relative = 1e-12);
}

/// Rows of nothing but commas hold no text, but where each of their cells begins would fill the memory.
#[test]
fn rows_of_countless_cells_are_refused() {
    let text = format!(
        "Time (s),RPM\n0,1000\n1,1000\n{}",
        format!("{}\n", ",".repeat(200_000)).repeat(20)
    );
    let faults = of(
        &text,
        &[(Channel::Time, "Time (s)"), (Channel::EngineSpeed, "RPM")],
        Window::Time {
            low: 0.0,
            high: 5.0,
        },
    )
    .unwrap_err();
    assert!(faults[0].what.contains("65 536 cells"), "{faults:?}");
}
