//! The whole face of a session file, read from disk.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use approx::assert_relative_eq;
use endtank::quantity::QuantityId;
use endtank::session::{
    self, Accuracy, BarLaw, ColourBar, Emissivity, InstrumentKind, LowEnd, Pixels, Response, Role,
    Session, Tank, Use,
};
use endtank::units::Law;

const FULL: &str = include_str!("data/session/full.toml");

const FILES: &[&str] = &[
    "original-1.tiff",
    "pictures/original-2.tiff",
    "alloy-1.tiff",
    "limits.csv",
    "response.csv",
];

fn write_folder(folder: &Path) {
    std::fs::create_dir(folder.join("pictures")).unwrap();
    for file in FILES {
        std::fs::write(folder.join(file), b"").unwrap();
    }
    std::fs::write(folder.join("session.toml"), FULL).unwrap();
}

fn full() -> Session {
    let folder = tempfile::tempdir().unwrap();
    write_folder(folder.path());
    session::read(&folder.path().join("session.toml"))
        .unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn the_full_example_is_read() {
    let session = full();
    assert_eq!(session.title.as_deref(), Some("Moulded or bare tanks"));
    assert_eq!(session.primary, Some(QuantityId::OutletNormalised));
    assert_eq!(session.baseline, 0);
}
