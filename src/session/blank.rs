//! Blanks: values that are still to be filled in.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Span;
use crate::diagnostics::Problem;

/// What stands, in quotes, where a value is still to be filled in.
pub const BLANK: &str = "?";

/// What to write for keys that `endtank new` leaves blank.
const EXAMPLES: &[(&str, &str)] = &[
    ("ambient", "ambient = \"18 °C ± 0.5\""),
    (
        "emissivity",
        "a number above 0 and at most 1, for instance emissivity = 0.95",
    ),
    (
        "like",
        "a preset, for instance like = \"plastic-black\"; `endtank surfaces` lists them",
    ),
    (
        "low",
        "the number printed at the colour bar's cold end, for instance low = \"20.1 °C\"",
    ),
    (
        "high",
        "the number printed at the colour bar's hot end, for instance high = \"66.3 °C\"",
    ),
    (
        "pixels",
        "what a pixel's number means, for instance pixels = { step = \"0.01 K\", zero = \"0 K\" } or { unit = \"°C\" }",
    ),
    ("rectangle", "rectangle = [x, y, width, height]"),
];

/// Every blank of a session, as a problem at its place, in the order of the file.
pub(super) fn find(session: &DeTable<'_>) -> Vec<Problem> {
    let mut blanks = Vec::new();
    // A list instead of recursion: no session is too deeply nested for it.
    let mut open: Vec<(&str, &Spanned<DeValue<'_>>)> = Vec::new();
    let of = |(key, value)| named(key, value);
    open.extend(session.iter().map(of));
    while let Some((key, value)) = open.pop() {
        match value.get_ref() {
            DeValue::String(text) if text.trim() == BLANK => {
                blanks.push(problem(key, value.span()));
            }
            DeValue::Array(list) => open.extend(list.iter().map(|element| (key, element))),
            DeValue::Table(table) => open.extend(table.iter().map(of)),
            _ => {}
        }
    }
    blanks.sort_by_key(Problem::place);
    blanks
}

fn named<'t>(
    key: &'t Spanned<toml::de::DeString<'t>>,
    value: &'t Spanned<DeValue<'t>>,
) -> (&'t str, &'t Spanned<DeValue<'t>>) {
    (key.get_ref(), value)
}

fn problem(key: &str, span: Span) -> Problem {
    let known = EXAMPLES.iter().find(|(known, _)| *known == key);
    let mend = match known {
        Some((_, example)) => format!("write {example}"),
        None => format!("write a value instead of \"{BLANK}\", or take `{key}` out"),
    };
    Problem::at(span, format!("still to fill in: `{key}`"), mend)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    /// Each blank is told, also two of one line, and nothing that only follows from them.
    #[test]
    fn every_blank_is_listed_once_and_nothing_that_follows_from_it() {
        let text = r#"
conditions = { ambient = "?" }
instrument.camera = { emissivity = "?", pixels = "?" }
surface.tank = { like = "?" }
cooler.a = { inlet = "tank", outlet = "tank" }
view.front.regions = [{ tank = "inlet", rectangle = "?" }, { tank = "outlet", rectangle = ["?", 1, 2, 3] }]
[[run]]
cooler = "a"
[[run.snapshot]]
file = "a.jpg"
view = "front"
colour-bar = "find"
low = "?"
high = "66 °C"
"#;
        let problems = crate::session::from_text(Path::new("a.toml"), text).unwrap_err();
        let found: Vec<&str> = problems
            .list
            .iter()
            .map(|problem| problem.what.as_str())
            .collect();
        let keys = [
            "ambient",
            "emissivity",
            "pixels",
            "like",
            "rectangle",
            "rectangle",
            "low",
        ];
        let wanted: Vec<String> = keys
            .iter()
            .map(|key| format!("still to fill in: `{key}`"))
            .collect();
        assert_eq!(found, wanted, "{problems}");
        assert!(
            problems
                .list
                .iter()
                .all(|problem| problem.mend.starts_with("write "))
        );
    }

    #[test]
    fn another_fault_is_told_beside_the_blanks() {
        let text = "conditions = { ambient = \"?\" }\n[[run]]\ncooler = \"b\"\nintake-air = \"40 K ± x\"\n";
        let problems = crate::session::from_text(Path::new("a.toml"), text).unwrap_err();
        assert!(
            problems
                .list
                .iter()
                .any(|problem| problem.what.contains("`ambient`"))
        );
        assert!(
            problems
                .list
                .iter()
                .any(|problem| problem.what.contains("`intake-air`"))
        );
        assert!(
            problems
                .list
                .iter()
                .any(|problem| problem.what.contains("no cooler `b`"))
        );
    }
}
