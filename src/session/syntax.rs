//! From text to tables: what TOML itself finds wrong, said in words that help.

use std::collections::HashSet;
use std::path::Path;

use toml::de::DeTable;

use super::reader::{Context, Table};
use super::{Span, UnusedKey};
use crate::diagnostics::Problem;

/// Parses the text, lets `read` walk it, and returns what it made of it with all problems and keys not used yet.
///
/// Where a line is no TOML, only that is said of it: what the recovered value looks like means nothing.
pub(super) fn with_tables<T>(
    text: &str,
    folder: Option<&Path>,
    read: impl FnOnce(&Table<'_>) -> T,
) -> (T, Vec<Problem>, Vec<UnusedKey>) {
    let (repaired, mut problems) = repair_headers(text);
    let (root, errors) = DeTable::parse_recoverable(&repaired);
    let context = Context::new(&repaired, folder);
    let one_run_table = root
        .get_ref()
        .iter()
        .any(|(key, value)| key.get_ref() == "run" && value.get_ref().is_table());
    for error in &errors {
        let span = within(text, error.span().unwrap_or_default());
        let duplicate_run =
            error.message() == "duplicate key" && text.get(span.clone()) == Some("run");
        // That runs began with something else is said by the reader, in better words.
        if !(duplicate_run && one_run_table) {
            problems.push(explain(text, span, error.message()));
        }
    }
    problems.sort_by_key(|problem| problem.span.as_ref().map(|span| span.start));
    let mut lines = HashSet::new();
    problems
        .retain(|problem| lines.insert(problem.span.as_ref().map(|span| context.line(span.start))));
    let table = Table::new(&context, "session", "", 0..0, root.get_ref());
    let made = read(&table);
    drop(table);
    let lines: HashSet<usize> = lines.into_iter().flatten().collect();
    let line_of = |at: usize| {
        text.get(..at)
            .map_or(0, |before| before.matches('\n').count())
            + 1
    };
    let (noted, unused) = context.into_notes();
    let spoilt = !lines.is_empty();
    let speaks = |problem: &Problem| match &problem.span {
        Some(span) => !spoilt || !lines.contains(&line_of(span.start)),
        None => true,
    };
    problems.extend(noted.into_iter().filter(speaks));
    (made, problems, unused)
}

/// A stretch of the text that can be shown: inside it, and between characters.
fn within(text: &str, span: Span) -> Span {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// Headers with a space in a name would swallow the lines below them. The spaces are made hyphens in a copy, byte for
/// byte, so that the rest can be read, and each such header is a problem.
fn repair_headers(text: &str) -> (String, Vec<Problem>) {
    let mut repaired = String::with_capacity(text.len());
    let mut problems = Vec::new();
    for line in text.split_inclusive('\n') {
        match spaced_header(line) {
            Some((range, header)) => {
                let start = repaired.len() + range.start;
                repaired.push_str(line.get(..range.start).unwrap_or_default());
                repaired.push_str(&header);
                repaired.push_str(line.get(range.end..).unwrap_or_default());
                problems.push(Problem::at(
                    start..start + header.len(),
                    "a name with a space in a header",
                    format!("write {header} here and wherever the name is used, or put the name in quotes"),
                ));
            }
            None => repaired.push_str(line),
        }
    }
    (repaired, problems)
}

/// The header on a line, where a bare name in it holds spaces: its place in the line, and how it could be written.
fn spaced_header(line: &str) -> Option<(Span, String)> {
    let start = line.len() - line.trim_start().len();
    let end = line.rfind(']')? + 1;
    let header = line.get(start..end)?;
    let inside = header.trim_start_matches('[').trim_end_matches(']');
    let open = header.len() - header.trim_start_matches('[').len();
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    let named = inside.starts_with(|c: char| c.is_ascii_alphabetic());
    let spaced = inside.split('.').any(|name| name.trim().contains(' '));
    let tail = line.get(end..)?.trim();
    if !(1..=2).contains(&open)
        || !named
        || !spaced
        || !inside.chars().all(plain)
        || !(tail.is_empty() || tail.starts_with('#'))
    {
        return None;
    }
    let hyphened = format!(
        "{}{}{}",
        "[".repeat(open),
        inside.replace(' ', "-"),
        "]".repeat(header.len() - open - inside.len())
    );
    Some((start..end, hyphened))
}

/// Says one of TOML's errors in words that help.
fn explain(text: &str, span: Span, message: &str) -> Problem {
    let line = line_around(text, span.start);
    let found = text.get(span.clone()).unwrap_or_default();
    let rest = text.get(span.start..line.end).unwrap_or_default();
    if message.starts_with("string values must be quoted") {
        return unquoted(span, found, text.get(line).unwrap_or_default());
    }
    if message.starts_with("duplicate key") {
        let what = format!("`{found}` stands twice");
        return Problem::at(span, what, "keep one, or give the second another name");
    }
    if rest.starts_with(',')
        && let Some(problem) = decimal_comma(text, &line, span.start)
    {
        return problem;
    }
    if message.starts_with("invalid mantissa") || rest.starts_with('.') {
        let from = text
            .get(..span.start)
            .and_then(|before| before.rfind('.'))
            .unwrap_or(span.start);
        let digits: String = text
            .get(span.start..)
            .unwrap_or_default()
            .chars()
            .take_while(char::is_ascii_digit)
            .collect();
        let mend = format!(
            "write a digit on both sides of the point, for instance 0.{}",
            if digits.is_empty() { "95" } else { &digits }
        );
        return Problem::at(
            from..span.end.max(from + 1),
            "a number that begins or ends with its point",
            mend,
        );
    }
    if message.contains("leading zero") {
        return Problem::at(
            span,
            "a number with a zero too many in front",
            "write it without",
        );
    }
    if message.contains("unicode") || message.contains("escape") {
        let what = "a backslash in a quoted text begins a special character";
        return Problem::at(span, what, "write `/` between folder and file");
    }
    if message.starts_with("invalid basic string")
        || message.starts_with("invalid literal string")
        || message.contains("multi-line")
    {
        return Problem::at(
            span,
            "a quotation mark that is not closed on its line",
            "put \" at both ends of the text",
        );
    }
    let mut mend = "the form is key = \"value\", one to a line, below a header such as [conditions] or [[run]]";
    if text
        .get(line)
        .is_some_and(|line| line.trim_start().starts_with('['))
    {
        mend = "a header is [name], [name.name] or [[name]], alone on its line";
    }
    Problem::at(span, format!("this is not understood: {message}"), mend)
}

fn line_around(text: &str, at: usize) -> Span {
    let start = text
        .get(..at)
        .and_then(|before| before.rfind('\n'))
        .map_or(0, |end| end + 1);
    let end = text
        .get(at..)
        .and_then(|after| after.find('\n'))
        .map_or(text.len(), |end| at + end);
    start..end
}

fn unquoted(span: Span, found: &str, line: &str) -> Problem {
    if found.is_empty() {
        let key = line.split('=').next().unwrap_or_default().trim();
        let what = format!(
            "`{}` has no value",
            key.chars().take(40).collect::<String>()
        );
        return Problem::at(span, what, "write a value after `=`, or take the line out");
    }
    let smart = |c: char| matches!(c, '“' | '”' | '„' | '‟' | '«' | '»' | '‘' | '’' | '‚');
    if found.contains(smart) {
        let inner = found.trim_matches(smart);
        let what = "typographic quotation marks";
        return Problem::at(span, what, format!("write plain ones: \"{inner}\""));
    }
    let what = format!("`{found}` needs quotation marks");
    Problem::at(span, what, format!("write \"{found}\""))
}

/// `0,95` reads as a number and then something more.
fn decimal_comma(text: &str, line: &Span, comma: usize) -> Option<Problem> {
    let before = text.get(line.start..comma)?;
    let whole: usize = before.bytes().rev().take_while(u8::is_ascii_digit).count();
    let after = text.get(comma + 1..line.end)?;
    let decimals = after.bytes().take_while(u8::is_ascii_digit).count();
    if whole == 0 || decimals == 0 {
        return None;
    }
    let span = comma - whole..comma + 1 + decimals;
    let number = text.get(span.clone())?;
    let what = format!("`{number}` has a decimal comma");
    Some(Problem::at(
        span,
        what,
        format!("write a point: {}", number.replace(',', ".")),
    ))
}
