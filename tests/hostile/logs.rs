//! Logs that are damaged or lie: an error or a reading, never a panic, never much memory.

use std::io::Cursor;

use endtank::log::{self, Channel, Column, Fault, Reading, Request, Surroundings, Window};

use super::watch::watched;

const LOG: &str = "# made up\nTime (s);RPM;MAP [kPa];MAF (g/s)\n0,0;1500;50,5;60\n0,1;1600;55;65,5\n0,2;1700;\"60\";70\n\
    0,3;1800;65;75\n0,4;1900;-;80\n0,5;2000;75;85\n0,6;2100;80;90\n";

fn read(bytes: &[u8], window: Window) -> Result<Reading, Vec<Fault>> {
    let column = |(channel, name): (Channel, &str)| Column {
        channel,
        name: name.to_owned(),
        unit: None,
    };
    let columns = [
        (Channel::Time, "Time (s)"),
        (Channel::EngineSpeed, "RPM"),
        (Channel::InletPressure, "MAP"),
        (Channel::AirFlow, "MAF"),
    ];
    let request = Request {
        columns: columns.map(column).to_vec(),
        window,
        surroundings: Surroundings::default(),
    };
    watched(bytes, || log::read(Cursor::new(bytes), &request))
}

/// How many of the windows could be averaged; whatever came out is finite.
fn all(bytes: &[u8]) -> usize {
    let windows = [
        Window::Speed {
            low: 1500.0,
            high: 2000.0,
        },
        Window::Time {
            low: 0.0,
            high: 1.0,
        },
        Window::PeakBoost,
    ];
    let done = windows.map(|window| match read(bytes, window) {
        Ok(reading) => {
            let finite = |mean: &log::Mean| mean.value.is_finite() && mean.standard.is_finite();
            assert!(reading.means.iter().all(finite), "{reading:?}");
            1
        }
        Err(faults) => {
            assert!(!faults.is_empty());
            0
        }
    });
    done.iter().sum()
}

#[test]
fn logs_cut_or_changed_never_panic() {
    assert_eq!(all(LOG.as_bytes()), 3);
    for length in 0..LOG.len() {
        all(&LOG.as_bytes()[..length]);
    }
    let mut state = 99_u64;
    let mut next = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state as usize
    };
    let mut sound = 0;
    for _ in 0..2000 {
        let mut bytes = LOG.as_bytes().to_vec();
        for _ in 0..1 + next() % 3 {
            let at = next() % bytes.len();
            bytes[at] = match next() % 3 {
                0 => b";,\n\r\"#\0\xFF-e"[next() % 10],
                1 => next() as u8,
                _ => bytes[at] ^ 1 << (next() % 8),
            };
        }
        sound += usize::from(all(&bytes) > 0);
    }
    assert!((100..2000).contains(&sound), "{sound}");
}

#[test]
fn numbers_beyond_all_measure_stay_finite_or_are_refused() {
    for number in ["1e308", "-1e308", "1e-320", "1e18", "9".repeat(60).as_str()] {
        let log = LOG.replace("75;85", &format!("{number};{number}"));
        all(log.as_bytes());
        all(LOG.replace("2000", number).as_bytes());
    }
}

/// Long rows, many columns, and rows without an end.
#[test]
fn logs_of_odd_shapes_take_little_memory() {
    all(&vec![b';'; 5 << 20]);
    all(&[LOG.as_bytes(), &vec![b'1'; 6 << 20]].concat());
    all(&[LOG.as_bytes(), b"\"", &vec![b'\n'; 6 << 20]].concat());
    let wide = format!("{}Time (s);RPM;MAP [kPa];MAF (g/s)\n", "x;".repeat(20_000));
    assert_eq!(all(wide.as_bytes()), 0);
    let names = "RPM;".repeat(50_000);
    assert_eq!(all(names.as_bytes()), 0);
}
