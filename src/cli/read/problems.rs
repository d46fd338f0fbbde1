//! Problems told of the options they came from.

use std::fmt::Write as _;

use super::draft::Draft;
use crate::cli::Status;
use crate::cli::terminal::Terminal;
use crate::diagnostics::Problem;
use crate::report::terminal::layout::harmless;

/// What the engine says of a session, and the same of options; longer ones first.
const SPOKEN: [(&str, &str); 21] = [
    // The run and tank are placeholders.
    (
        "the pistol reading of the inlet tank (read)",
        "the pistol reading",
    ),
    (" (read) ", " "),
    ("State it on the instrument, ", "Say so, "),
    ("the session does not say", "no option says"),
    (
        "`emissivity`, `reflected` and `pixels`",
        "--set-emissivity, --set-reflected and what its pixels mean",
    ),
    (
        "pixels = { sakuma-hattori = { a = …, b = …, c = … } }",
        "--sakuma-hattori A,B,C",
    ),
    ("state it on the instrument: ", "say so: "),
    ("`pixels`", "--pixels-unit"),
    ("a `page`", "a --page"),
    ("`page`", "--page"),
    ("colour-bar = [x, y, width, height]", "--colour-bar X,Y,W,H"),
    ("colour-bar = \"find\"", "--colour-bar find"),
    (
        "--printed [{ at = [x, y], reading = \"53.2 °C\" }]",
        "--printed \"X,Y,53.2 °C\"",
    ),
    ("`reading`", "the printed number"),
    ("bar-law = ", "--bar-law "),
    ("low-end = ", "--low-end "),
    ("`low` and `high`", "--low and --high"),
    ("`low-end`", "--low-end"),
    ("page = ", "--page "),
    ("`band`", "--band"),
    ("instrument `instrument`: ", ""),
];

/// Prints all problems to standard error.
pub(super) fn print(problems: &[Problem], draft: &Draft, terminal: &Terminal) -> Status {
    let mut text = String::new();
    let mut told: Vec<String> = Vec::new();
    for problem in problems {
        let one = told_of_option(problem, draft);
        // An option that every picture repeats is wrong once.
        if !told.contains(&one) {
            text.push_str(&one);
            told.push(one);
        }
    }
    terminal.note(&text);
    Status::Failed
}

/// What is said of a session, said of options.
pub(super) fn in_options(words: &str) -> String {
    let spoken = SPOKEN
        .iter()
        .fold(words.to_owned(), |words, (key, option)| {
            words.replace(key, option)
        });
    with_pixels(&spoken)
}

fn told_of_option(problem: &Problem, draft: &Draft) -> String {
    let origin = problem.span.as_ref().and_then(|span| draft.origin(span));
    let (mut what, mut mend) = (problem.what.clone(), problem.mend.clone());
    if let Some(origin) = origin {
        let (key, option) = (origin.key, &origin.option);
        what = what.replace(&format!("`{key}`"), option);
        mend = mend.replace(&format!("`{key}`"), option);
        mend = mend.replace(&format!("{key} = "), &format!("{option} "));
    }
    let (what, mend) = (in_options(&what), in_options(&mend));
    let before = match origin {
        Some(origin) if !what.starts_with(&origin.option) => format!("{}: ", origin.option),
        _ => String::new(),
    };
    let mut text = String::new();
    let (what, mend) = (harmless(&what), harmless(&mend));
    // Writing to a String cannot fail.
    let _ = writeln!(text, "error: {before}{what}\nhelp: {mend}");
    text
}

/// Every `pixels = { … }` as options.
fn with_pixels(words: &str) -> String {
    let mut parts = words.split("pixels = { ");
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (inside, after) = part.split_once(" }").unwrap_or((part, ""));
        let inside = inside
            .replace("unit = ", "--pixels-unit ")
            .replace("step = ", "--pixels-step ")
            .replace(", zero = ", " --pixels-zero ");
        text.push_str(&inside);
        text.push_str(after);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_pixels_mean_is_told_in_options() {
        let words = "counts: pixels = { step = \"0.01 K\", zero = \"0 K\" }; or pixels = { unit = \"°C\" }.";
        assert_eq!(
            with_pixels(words),
            "counts: --pixels-step \"0.01 K\" --pixels-zero \"0 K\"; or --pixels-unit \"°C\"."
        );
        assert_eq!(with_pixels("nothing of the kind"), "nothing of the kind");
    }
}
