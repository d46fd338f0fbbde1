//! The whole face of a session file, read from disk.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use approx::assert_relative_eq;
use endtank::locate::shape::Shape;
use endtank::quantity::QuantityId;
use endtank::session::{
    self, Accuracy, BarLaw, ColourBar, Declared, Emissivity, Gauge, InstrumentKind, LowEnd, Pixels,
    Region, Response, Role, Session, Tank, ThermalInstrument, Use,
};
use endtank::units::Law;

const FULL: &str = include_str!("data/session/full.toml");

const FILES: &[&str] = &[
    "original-1.tiff",
    "pictures/original-2.tiff",
    "alloy-1.tiff",
    "limits.csv",
    "response.csv",
    "pull.csv",
];

/// The log of the full session: at 2400 rpm only four rows.
const LOG: &str = "Time (s),RPM,MAP,Tap 2 [kPa],dp [kPa],IAT (degC),T1 (degC),T2 (degC),MAF (g/s),Shop (degC),Face (degC)\n\
    0,2000,100,95,5,40,100,41,90,19.0,18\n1,2390,147,139,8,44,121,42,119,19.5,18\n2,2400,148,140,8,44,122,42,120,19.5,18\n\
    3,2410,149,140,9,44,123,42,121,20.5,18\n4,2420,150,141,9,44,124,42,122,20.5,18\n5,3000,180,165,15,50,150,45,180,21,18\n";

fn write_folder(folder: &Path, text: &str) -> std::path::PathBuf {
    std::fs::create_dir(folder.join("pictures")).unwrap();
    for file in FILES {
        let bytes: &[u8] = if *file == "limits.csv" {
            b"file,low,high\nalloy-1.tiff,18.5 \xC2\xB0C,61.0 \xC2\xB0C\n"
        } else if *file == "pull.csv" {
            LOG.as_bytes()
        } else {
            b""
        };
        std::fs::write(folder.join(file), bytes).unwrap();
    }
    let path = folder.join("session.toml");
    std::fs::write(&path, text).unwrap();
    path
}

fn read(text: &str) -> Session {
    let folder = tempfile::tempdir().unwrap();
    let path = write_folder(folder.path(), text);
    session::read(&path).unwrap_or_else(|problems| panic!("{problems}"))
}

fn rectangular(declared: &Declared, low: f64, high: f64) {
    match declared.law {
        Law::Rectangular {
            low: bottom,
            high: top,
        } => {
            assert_relative_eq!(bottom, low, max_relative = 1e-12);
            assert_relative_eq!(top, high, max_relative = 1e-12);
        }
        other => panic!("{}: {other:?}", declared.place),
    }
}

fn thermal(session: &Session, index: usize) -> &ThermalInstrument {
    match &session.instruments[index].kind {
        InstrumentKind::Thermal(thermal) => thermal,
        InstrumentKind::Gauge(gauge) => panic!("{gauge:?}"),
    }
}

fn gauge(session: &Session, index: usize) -> &Gauge {
    match &session.instruments[index].kind {
        InstrumentKind::Gauge(gauge) => gauge,
        InstrumentKind::Thermal(thermal) => panic!("{thermal:?}"),
    }
}

#[test]
fn the_sessions_own_keys() {
    let session = read(FULL);
    assert_eq!(session.title.as_deref(), Some("Moulded or bare tanks"));
    assert_eq!(session.baseline, 0);
    assert_eq!(session.primary, Some(QuantityId::OutletNormalised));
    let matters = session.matters.as_ref().unwrap();
    assert_eq!((matters.value, matters.law), (2.0, Law::Exact));
    assert_eq!(
        session.repeatability.temperature.as_ref().unwrap().value,
        0.8
    );
    assert_relative_eq!(
        session.repeatability.pressure.as_ref().unwrap().value,
        300.0
    );
}

#[test]
fn instruments_in_the_order_of_the_file() {
    let session = read(FULL);
    let names: Vec<_> = session
        .instruments
        .iter()
        .map(|instrument| instrument.name.as_str())
        .collect();
    assert_eq!(names, ["camera", "raw", "pistol", "gauge"]);
    let camera = thermal(&session, 0);
    assert_eq!(
        camera.band,
        Response::Flat {
            low: 8.0,
            high: 14.0
        }
    );
    assert_eq!(camera.emissivity, Some(0.95));
    assert_eq!(camera.reflected, Some(293.15));
    assert_eq!(
        camera.accuracy,
        Some(Accuracy {
            absolute: 2.0,
            relative: 0.02
        })
    );
    assert!(camera.drift.is_some());
    assert_eq!(
        camera.pixels,
        Some(Pixels::Linear {
            step: 1.0,
            zero: 273.15
        })
    );
    assert_eq!(
        camera.colour_bar,
        Some(ColourBar::Box([300.0, 30.0, 16.0, 180.0]))
    );
    assert_eq!(
        (camera.low_end, camera.bar_law),
        (Some(LowEnd::Bottom), BarLaw::Temperature)
    );
    let raw = thermal(&session, 1);
    assert_eq!(raw.emissivity, None);
    assert!(matches!(&raw.band, Response::Curve { file, .. } if file == "response.csv"));
    assert_eq!(thermal(&session, 2).distance_ratio, Some(12.0));
    assert_eq!(
        thermal(&session, 2).band,
        Response::Flat {
            low: 8.0,
            high: 14.0
        }
    );
    let gauge = gauge(&session, 3);
    assert_eq!(gauge.measures, ["inlet-pressure", "outlet-pressure"]);
    assert_eq!(
        gauge.accuracy,
        Some(Accuracy {
            absolute: 2000.0,
            relative: 0.0
        })
    );
    assert!(!gauge.absolute);
}

#[test]
fn surfaces_and_coolers() {
    let session = read(FULL);
    let moulded = &session.surfaces[0];
    assert_eq!(moulded.like.as_deref(), Some("plastic-black"));
    let Emissivity::Stated(emissivity) = &moulded.emissivity else {
        panic!("{:?}", moulded.emissivity);
    };
    rectangular(emissivity, 0.92, 0.96);
    assert!(!emissivity.limits_assumed);
    rectangular(moulded.wall.as_ref().unwrap(), 0.0025, 0.0035);
    assert!(moulded.wall.as_ref().unwrap().limits_assumed);
    assert_eq!(moulded.outer_area_ratio.as_ref().unwrap().law, Law::Exact);
    let Emissivity::Stated(tape) = &session.surfaces[1].emissivity else {
        panic!("{:?}", session.surfaces[1].emissivity);
    };
    assert_eq!((tape.written.as_str(), tape.limits_assumed), ("0.95", true));
    rectangular(tape, 0.945, 0.955);
    assert!(session.surfaces[1].shared);
    assert!(matches!(
        session.surfaces[2].emissivity,
        Emissivity::FromPatch(_)
    ));
    assert!(matches!(
        session.surfaces[3].emissivity,
        Emissivity::FromContact(_)
    ));
    let [original, alloy] = session.coolers.as_slice() else {
        panic!("{:?}", session.coolers);
    };
    assert_eq!(
        (original.label.as_str(), alloy.label.as_str()),
        ("Original, moulded tanks", "alloy")
    );
    assert_eq!(
        (alloy.surface(Tank::Inlet), alloy.surface(Tank::Outlet)),
        (2, 3)
    );
    assert_eq!(
        original.inner_film.as_ref().unwrap().law,
        Law::Factor { factor: 1.5 }
    );
    assert_eq!(alloy.tank_diameter.as_ref().unwrap().law, Law::Exact);
}

#[test]
fn regions_with_names_roles_and_shapes() {
    let session = read(FULL);
    let regions = &session.runs[0].snapshots[0].regions;
    let names: Vec<_> = regions.iter().map(|region| region.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "inlet",
            "outlet",
            "reflector",
            "patch",
            "reference",
            "rib",
            "inlet 2"
        ]
    );
    let roles: Vec<Role> = regions.iter().map(|region| region.role).collect();
    assert_eq!(
        roles[..5],
        [
            Role::Tank,
            Role::Tank,
            Role::Reflector,
            Role::Patch,
            Role::Reference
        ]
    );
    assert_eq!(regions[0].shape, Shape::Rectangle([40.0, 60.0, 50.0, 90.0]));
    assert_eq!(regions[2].shape, Shape::Circle([30.0, 30.0, 8.0]));
    assert_eq!(
        (regions[3].tank, regions[3].surface),
        (Some(Tank::Inlet), Some(1))
    );
    rectangular(regions[4].temperature.as_ref().unwrap(), 317.85, 318.45);
    let rib: &Region = &regions[5];
    assert_eq!(rib.shape, Shape::Line([[40.0, 60.0], [40.0, 150.0]]));
    assert_eq!(
        rib.exclude,
        [
            Shape::Circle([40.0, 100.0, 3.0]),
            Shape::Point([40.0, 61.0])
        ]
    );
    assert_eq!(
        (rib.statistic, regions[6].statistic),
        (Use::Median, Use::Max)
    );
    assert_eq!(
        rib.reflected.as_ref().unwrap().place,
        "view.front.rib.reflected"
    );
}

#[test]
fn a_view_is_one_declaration_wherever_it_is_used() {
    let session = read(FULL);
    let of = |run: usize| {
        session.runs[run].snapshots[0].regions[5]
            .reflected
            .as_ref()
            .unwrap()
            .place
            .clone()
    };
    assert_eq!(of(0), of(1));
}

#[test]
fn runs_with_notes_snapshots_and_readings() {
    let session = read(FULL);
    let run = &session.runs[0];
    assert_eq!((run.name.as_str(), run.cooler), ("hold 1", 0));
    let inlet = run.pressure.inlet.as_ref().unwrap();
    assert_eq!(inlet.place, "run.hold 1.inlet-pressure");
    assert_eq!(
        (inlet.written.as_str(), inlet.limits_assumed),
        ("148 kPa", true)
    );
    rectangular(inlet, 147_500.0, 148_500.0);
    assert_eq!(run.start_skin.outlet.as_ref().unwrap().value, 301.15);
    assert_eq!(
        run.start_skin.outlet.as_ref().unwrap().place,
        "run.hold 1.start-skin.outlet"
    );
    assert_eq!(run.change.as_deref(), Some("larger intake"));
    assert_relative_eq!(run.contacts[0].temperature.value, 344.45);
    let [first, second] = run.snapshots.as_slice() else {
        panic!("{:?}", run.snapshots);
    };
    assert_eq!((first.instrument, second.instrument), (0, 1));
    assert_eq!((first.page, second.page), (Some(2), None));
    assert_eq!(
        first.colour_bar,
        Some(ColourBar::Box([300.0, 30.0, 16.0, 180.0]))
    );
    assert_eq!(second.colour_bar, Some(ColourBar::Find));
    assert_eq!(
        first.pixels,
        thermal(&session, 0).pixels,
        "inherited from its instrument"
    );
    assert_eq!(second.file, "pictures/original-2.tiff");
    assert!(second.path.ends_with("pictures/original-2.tiff"));
    assert_eq!(first.printed[0].at, [160.0, 120.0]);
    assert_eq!(
        run.pistols[0].instrument, 2,
        "the only one with a distance ratio"
    );
    assert_eq!(run.pistols[0].distance.as_ref().unwrap().law, Law::Exact);
    let other = &session.runs[1];
    assert_eq!(other.name, "run 2");
    assert_eq!(
        other.snapshots[0].pixels,
        Some(Pixels::Linear {
            step: 0.01,
            zero: 0.0
        })
    );
    rectangular(
        other.differential_pressure.as_ref().unwrap(),
        8800.0,
        9200.0,
    );
}

#[test]
fn a_run_inherits_conditions_key_by_key_and_keeps_their_place() {
    let session = read(FULL);
    let [first, second] = [&session.runs[0].conditions, &session.runs[1].conditions];
    assert_eq!(first.ambient, second.ambient);
    assert_eq!(second.ambient.place, "conditions.ambient");
    assert_eq!(
        first.cooling_air.as_ref().unwrap().place,
        "conditions.cooling-air"
    );
    assert_eq!(
        second.cooling_air.as_ref().unwrap().place,
        "run.run 2.conditions.cooling-air"
    );
    rectangular(second.cooling_air.as_ref().unwrap(), 293.65, 294.65);
    assert_eq!(first.transmittance.as_ref().unwrap().law, Law::Exact);
    assert!(first.outer_film.is_some() && first.air_speed.is_none());
    assert!(
        second.outer_film.is_none() && second.air_speed.is_some(),
        "a speed replaces the inherited film"
    );
}

#[test]
fn every_key_is_acted_on_and_the_file_of_limits_is_read() {
    let session = read(FULL);
    assert_eq!(session.limits.as_ref().unwrap().file, "limits.csv");
    let snapshots = session.runs.iter().flat_map(|run| &run.snapshots);
    let with_limits: Vec<_> = snapshots
        .filter(|snapshot| snapshot.low.is_some())
        .collect();
    let of = |file: &str| {
        let found = with_limits.iter().find(|snapshot| snapshot.file == file);
        found.unwrap().low.as_ref().unwrap().written.clone()
    };
    assert_eq!(of("original-1.tiff"), "20.1 °C", "its own");
    assert_eq!(of("alloy-1.tiff"), "18.5 °C", "the file's");
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_do_no_harm() {
    let session = read(&format!("\u{feff}{}", FULL.replace('\n', "\r\n")));
    assert_eq!(session.runs.len(), 2);
}

/// Reads the full session with its first picture written in another way, and returns what is said of it.
fn with_file(file: &str, prepare: impl Fn(&Path)) -> String {
    let folder = tempfile::tempdir().unwrap();
    let inner = folder.path().join("inner");
    std::fs::create_dir(&inner).unwrap();
    std::fs::write(folder.path().join("outside.tiff"), b"").unwrap();
    let path = write_folder(&inner, &FULL.replace("\"original-1.tiff\"", file));
    prepare(&inner);
    match session::read(&path) {
        Ok(_) => panic!("{file} was accepted"),
        Err(problems) => {
            assert_eq!(problems.list.len(), 1, "{problems}");
            problems.render(false)
        }
    }
}

#[test]
fn files_stay_inside_the_sessions_folder_and_exist() {
    let nothing = |_: &Path| {};
    for (file, said) in [
        ("\"original-l.tiff\"", "did you mean `original-1.tiff`?"),
        ("\"../outside.tiff\"", "leads out of the session's folder"),
        (
            "\"pictures/../../outside.tiff\"",
            "leads out of the session's folder",
        ),
        ("\"/etc/hostname\"", "not relative"),
        ("\"C:/x.tiff\"", "not relative"),
        ("'pictures\\x.tiff'", "backslash"),
        ("\"pictures\\\\x.tiff\"", "backslash"),
        ("\"pictures\\b.tiff\"", "backslash"),
        ("\"pictures\"", "is a folder"),
        ("\"\"", "without a name"),
        ("\"pictures/none.tiff\"", "there is no file"),
    ] {
        let shown = with_file(file, nothing);
        assert!(shown.contains(said), "{file}: {shown}");
    }
}

#[cfg(unix)]
#[test]
fn a_link_out_of_the_folder_is_refused() {
    let link = |folder: &Path| {
        std::os::unix::fs::symlink("../outside.tiff", folder.join("link.tiff")).unwrap()
    };
    assert!(with_file("\"link.tiff\"", link).contains("link that leads out"));
}

#[test]
fn a_file_that_is_no_session() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.toml");
    let said = || session::read(&path).map(|_| ()).unwrap_err().render(false);
    assert!(said().contains("cannot be read"), "{}", said());
    std::fs::write(&path, b"").unwrap();
    assert!(said().contains("empty"), "{}", said());
    std::fs::write(&path, b"title = \"20 \xb0C\"").unwrap();
    assert!(said().contains("UTF-8"), "{}", said());
    std::fs::write(&path, vec![b'#'; 5 * 1024 * 1024]).unwrap();
    assert!(said().contains("larger than 4 MiB"), "{}", said());
    let folder = session::read(folder.path()).map(|_| ()).unwrap_err();
    assert!(folder.render(false).contains("is a folder"), "{folder}");
}

#[test]
fn a_log_gives_what_is_not_written_by_hand() {
    // What the session states for all runs the log comes before; what the run states itself comes before the log.
    let more = "air-flow = \"MAF (g/s)\",\n  ambient = { column = \"Shop (degC)\", accuracy = \"1 °C\" },\n\
        cooling-air = \"Face (degC)\",\n  differential-pressure = \"dp [kPa]\",\n";
    let full = FULL.replacen("air-flow = \"MAF (g/s)\",\n", more, 1);
    let session = read(&full);
    let run = &session.runs[0];
    let log = run.log.as_ref().unwrap();
    let reading = log.reading.as_ref().unwrap();
    assert_eq!((reading.rows, reading.in_window), (6, 4));
    let used: Vec<&str> = log.used.iter().map(|channel| channel.key()).collect();
    assert_eq!(used, ["ambient", "cooling-air", "differential-pressure"]);
    assert_eq!(log.overruled.len(), 7);
    assert!(
        log.overruled
            .iter()
            .any(|(channel, hand, _)| channel.key() == "air-flow" && hand == "120 g/s")
    );
    let ambient = &run.conditions.ambient;
    assert_eq!(ambient.place, "run.hold 1.log.ambient");
    assert_relative_eq!(ambient.value, 293.15);
    // s²/4 × 3 with s² = 1/3. The sensor's ± 1 °C is an error of its own.
    let Law::Normal { standard } = ambient.law else {
        panic!("{:?}", ambient.law);
    };
    assert_relative_eq!(standard, 0.5, max_relative = 1e-12);
    let sensor = ambient.sensor.as_ref().unwrap();
    assert_eq!(sensor.place, "instrument.Shop (degC) (log).accuracy");
    assert_relative_eq!(sensor.limit, 1.0);
    // Always 18: known to half its last digit.
    rectangular(run.conditions.air_at_face(), 290.65, 291.65);
    assert!(session.files().iter().any(|file| file.file == "pull.csv"));
    let bare = read(&FULL.replacen("inlet-pressure = \"148 kPa\"\n", "", 1));
    let pressure = bare.runs[0].pressure.inlet.as_ref().unwrap();
    assert_eq!(pressure.place, "run.hold 1.log.inlet-pressure");
    assert_eq!(pressure.written, "148 kPa (log)");
    assert_eq!(
        bare.runs[0]
            .log
            .as_ref()
            .unwrap()
            .reads_absolute("inlet-pressure"),
        Some(false)
    );
}
