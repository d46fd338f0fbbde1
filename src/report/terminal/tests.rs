use super::*;
use crate::report::fixture;

fn at(width: usize, intervals: bool) -> String {
    summary(
        &fixture::outcome(intervals),
        Some(Path::new("shop/session-results")),
        width,
        false,
        false,
    )
}

#[test]
fn with_the_budget() {
    let outcome = fixture::outcome(true);
    insta::assert_snapshot!(summary(&outcome, None, 70, false, true));
}

#[test]
fn without_intervals() {
    insta::assert_snapshot!(at(100, false));
}

#[test]
fn with_intervals() {
    insta::assert_snapshot!(at(100, true));
}

#[test]
fn narrow() {
    insta::assert_snapshot!(at(50, true));
}

#[test]
fn one_cooler() {
    insta::assert_snapshot!(summary(&fixture::alone(), None, 80, false, false));
}

#[test]
fn lines_keep_to_the_width() {
    for intervals in [false, true] {
        for width in [40, 60, 72, 80, 100, 300] {
            for line in at(width, intervals).lines() {
                let long = line.width() > width.min(100);
                assert!(!long || !line.trim().contains(' '), "{width}: {line}");
            }
        }
    }
}

#[test]
fn colours_only_when_asked_for() {
    assert!(!at(100, true).contains('\u{1b}'));
    let coloured = summary(&fixture::outcome(true), None, 100, true, false);
    assert!(coloured.contains("\u{1b}[1m"));
}

#[test]
fn control_characters_of_a_session_do_not_reach_the_terminal() {
    let mut outcome = fixture::outcome(false);
    outcome.results.title = Some("a\u{1b}[2Jb\u{7}".to_owned());
    let text = summary(&outcome, None, 80, false, false);
    assert!(!text.contains('\u{1b}') && !text.contains('\u{7}'));
}
