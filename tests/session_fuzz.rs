//! No text, however damaged, makes the session reader or its messages panic.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use endtank::session;
use proptest::prelude::*;

const FULL: &str = include_str!("data/session/full.toml");

/// Reads a text and shows what is wrong with it; a text that is accepted must hold what a session promises.
fn survive(text: &str) {
    match session::from_text(Path::new("session.toml"), text) {
        Ok(session) => {
            assert!(!session.runs.is_empty());
            assert!(session.baseline < session.coolers.len());
            for run in &session.runs {
                assert!(run.cooler < session.coolers.len());
                assert!(run.conditions.ambient.value > 0.0);
                for snapshot in &run.snapshots {
                    assert!(!snapshot.regions.is_empty());
                    assert!(snapshot.instrument < session.instruments.len());
                }
            }
        }
        Err(problems) => {
            assert!(!problems.list.is_empty());
            let shown = problems.render(false);
            assert!(shown.ends_with("nothing was written\n"), "{shown}");
            assert!(!shown.contains('\u{1b}'), "{shown:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn flipped_bytes(flips in proptest::collection::vec((0..FULL.len(), any::<u8>()), 1..8)) {
        let mut bytes = FULL.as_bytes().to_vec();
        for (at, byte) in flips {
            bytes[at] = byte;
        }
        survive(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn cut_off(from in 0..FULL.len(), length in 0..FULL.len()) {
        let end = (from + length).min(FULL.len());
        survive(&String::from_utf8_lossy(&FULL.as_bytes()[from..end]));
    }

    #[test]
    fn lines_swapped_doubled_and_dropped(
        swaps in proptest::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..6),
        dropped in any::<prop::sample::Index>(),
        doubled in any::<prop::sample::Index>(),
    ) {
        let mut lines: Vec<&str> = FULL.lines().collect();
        for (a, b) in swaps {
            let (a, b) = (a.index(lines.len()), b.index(lines.len()));
            lines.swap(a, b);
        }
        lines.remove(dropped.index(lines.len()));
        let twice = doubled.index(lines.len());
        lines.insert(twice, lines[twice]);
        survive(&lines.join("\n"));
    }

    #[test]
    fn values_replaced(line in any::<prop::sample::Index>(), value in "\\PC{0,20}") {
        let mut lines: Vec<String> = FULL.lines().map(str::to_owned).collect();
        let at = line.index(lines.len());
        if let Some((key, _)) = lines[at].split_once('=') {
            lines[at] = format!("{key}= {value}");
        }
        survive(&lines.join("\n"));
        let quoted = format!("\"{}\"", value.replace(['\\', '"'], ""));
        if let Some((key, _)) = lines[at].clone().split_once('=') {
            lines[at] = format!("{key}= {quoted}");
        }
        survive(&lines.join("\n"));
    }

    #[test]
    fn any_text(text in "\\PC*") {
        survive(&text);
    }
}

#[test]
fn deep_nesting_and_long_lists_end_in_messages() {
    survive(&format!("a = {}", "[".repeat(100_000)));
    survive(&format!("a = {}", "{ b = ".repeat(10_000)));
    survive(&format!("[{}]", "a.".repeat(10_000)));
    survive(&"[[run]]\n".repeat(20_000));
    survive(&"x y\n".repeat(20_000));
    survive(
        &(0..20_000)
            .map(|n| format!("[cooler.c{n}]\ninlet = \"nothing\"\n"))
            .collect::<String>(),
    );
}

/// A small file that asks for much: thousands of snapshots sharing a view of thousands of corners.
#[test]
fn many_snapshots_of_a_large_view_are_refused_instead_of_filling_the_memory() {
    let corners: Vec<String> = (0..9_000)
        .map(|n| format!("[{n},{}]", (n * n) % 97))
        .collect();
    let mut text = format!(
        "[conditions]\nambient = \"18 °C\"\n[instrument.c]\nemissivity = 1\n[surface.s]\nemissivity = 0.9\n\
         [cooler.a]\ninlet = \"s\"\noutlet = \"s\"\n[view.v]\nregions = [{{ tank = \"inlet\", polygon = [{}] }}]\n[[run]]\ncooler = \"a\"\n",
        corners.join(",")
    );
    text.push_str(&"[[run.snapshot]]\nfile = \"a.tiff\"\nview = \"v\"\n".repeat(3_000));
    let problems = session::from_text(Path::new("session.toml"), &text)
        .map(|_| ())
        .unwrap_err();
    assert_eq!(problems.list.len(), 1, "{problems}");
    assert!(
        problems.list[0].what.contains("too many corners"),
        "{problems}"
    );
}
